"""Level probe and the board that fills the boiler."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Contact, Device, Load
from collaudo.parts.part import Part, quantity, reference

# A small board draws about 2 W.
BOARD_OHM = 25_000.0


@dataclass(frozen=True)
class LevelControl(Part):
    """A probe in the boiler; when it stands dry, the board runs pump and fill valve after a delay.

    Water below the least conductivity (20 to 100 uS/cm; common practice, no source) is not seen: filling
    never ends but for the board's time-out.
    """

    kind = "level_control"
    text = "feels the level and calls for water"
    customer = "keeps the boiler filled"
    fails = "misreads a furred or loose probe: the boiler runs low, or water comes with the steam"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "pump", "valve")
    in_boiler: str = reference("boiler", ("boiler",), "boiler it feels")
    level_share: float = quantity(0.62, 0.05, 0.98, "level the probe's tip stands at (cold)")
    band_share: float = quantity(0.012, 0.001, 0.2, "fall below the tip before it reads dry")
    on_delay_s: float = quantity(2.0, 0.0, 30.0, "dry so long before it fills")
    off_delay_s: float = quantity(1.0, 0.0, 30.0, "wet so long before it stops")
    time_out_s: float = quantity(90.0, 5.0, 600.0, "longest run")
    least_uS_per_cm: float = quantity(35.0, 1.0, 5000.0, "least conductivity it feels")

    def describe(self, circuit: Circuit) -> None:
        """A fill control with two contacts."""
        unseen = 10.0 if circuit.site.conductivity_uS_per_cm < self.least_uS_per_cm else 0.0
        circuit.devices.append(
            Device(
                self.name,
                "fill_control",
                "level",
                self.in_boiler,
                load=self.name,
                high=self.level_share + unseen,
                low=self.level_share - self.band_share + unseen,
                on_delay_s=self.on_delay_s,
                off_delay_s=self.off_delay_s,
                time_out_s=self.time_out_s,
            )
        )
        circuit.loads.append(
            Load(
                self.name, self.at("live"), self.at("neutral"), BOARD_OHM, works_from_V=0.7 * circuit.rated_V
            )
        )
        circuit.contacts.append(
            Contact(self.name, self.at("live"), self.at("pump"), Command("device", self.name))
        )
        circuit.contacts.append(
            Contact(self.name, self.at("live"), self.at("valve"), Command("device", self.name))
        )
