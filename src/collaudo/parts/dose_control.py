"""Volumetric dosing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Contact, Device, Load
from collaudo.parts.part import Part, quantity, reference, word

# A small board draws about 2 W.
BOARD_OHM = 25_000.0


@dataclass(frozen=True)
class DoseControl(Part):
    """A button and a board that count a flow meter's pulses: pump and valve run until the dose has passed.

    Without pulses the dose runs until the board's time is out (its lamps flash).
    """

    kind = "dose_control"
    text = "opens the group's valve until the flow meter has counted the dose"
    customer = "pours the same amount each time you press the button"
    fails = "misses pulses or its button, and cups come too full, run on or do not start"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "pump", "valve")
    button: str = word("brew", "hand that presses it")
    meter: str = reference("flow_meter", ("flow_meter",), "flow meter whose pulses it counts")
    dose_ml: float = quantity(60.0, 5.0, 1000.0, "water through the flow meter for one dose")
    time_out_s: float = quantity(60.0, 3.0, 600.0, "longest run")

    def describe(self, circuit: Circuit) -> None:
        """A board with supply, a dose, and two contacts."""
        circuit.inputs.setdefault(self.button, 0.0)
        circuit.devices.append(
            Device(
                self.name,
                "dose",
                of=self.meter,
                load=self.name,
                input=self.button,
                high=self.si("dose_ml"),
                time_out_s=self.time_out_s,
            )
        )
        live = self.at("live")
        circuit.loads.append(
            Load(self.name, live, self.at("neutral"), BOARD_OHM, works_from_V=0.7 * circuit.rated_V)
        )
        for terminal in ("pump", "valve"):
            circuit.contacts.append(Contact(self.name, live, self.at(terminal), Command("device", self.name)))
