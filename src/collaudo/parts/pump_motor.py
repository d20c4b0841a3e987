"""Motor of a vane pump."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Load
from collaudo.parts.contacts import NEVER_V, OPEN_OHM
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class PumpMotor(Part):
    """A single-phase motor with a run capacitor.

    It takes 1.6 A running and 5 A locked at 230 V (1.0-2.5 and 4-7); its capacitor, 6 to 16 uF, is scrap
    below 85 % of what is printed on it: the motor hums and does not turn (common practice, no source).
    """

    kind = "pump_motor"
    text = "turns the pump"
    customer = "drives the pump"
    fails = "hums without turning when its capacitor is weak or the pump has seized; or is dead"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    winding_ohm: float = quantity(98.0, 1.0, 5000.0, "resistance of the running motor as the mains sees it")
    winding_henry: float = quantity(0.33, 0.0, 10.0, "its inductance: 1.6 A at 230 V and 50 Hz")
    locked_factor_share: float = quantity(0.32, 0.05, 1.0, "impedance when it stands, against running")
    capacitor_uF: float = quantity(8.0, 0.0, 60.0, "what its capacitor measures")
    printed_uF: float = quantity(8.0, 1.0, 60.0, "what is printed on the capacitor")
    starts_from_share: float = quantity(0.85, 0.2, 1.0, "least share of the print with which it turns")
    starts_from_volt_share: float = quantity(0.7, 0.1, 1.0, "least share of the plate's voltage it turns at")
    rotor: str = choice("turns", ("turns", "seized"), "whether it and the pump can be turned by hand")
    winding: str = choice("sound", ("sound", "open"), "whether current can flow through its coil")

    def turns(self) -> bool:
        """Whether it turns at its rated voltage."""
        strong = self.capacitor_uF >= self.starts_from_share * self.printed_uF
        return strong and self.rotor == "turns" and self.winding == "sound"

    def describe(self, circuit: Circuit) -> None:
        """A load that acts when the motor turns; standing it takes its locked current, or none."""
        factor = 1.0 if self.turns() else self.locked_factor_share
        ohm = OPEN_OHM if self.winding == "open" else factor * self.winding_ohm
        works = self.starts_from_volt_share * circuit.rated_V if self.turns() else NEVER_V
        circuit.loads.append(
            Load(
                self.name,
                self.at("live"),
                self.at("neutral"),
                ohm,
                factor * self.winding_henry,
                works_from_V=works,
            )
        )
