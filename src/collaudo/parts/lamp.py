"""Indicator lamp."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Load
from collaudo.parts.contacts import NEVER_V, OPEN_OHM
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class Lamp(Part):
    """A glow lamp behind its resistor: strikes at 60 to 90 V (common practice, no source)."""

    kind = "lamp"
    text = "shows that there is voltage where it is joined"
    customer = "shows that the machine is on or heating"
    fails = "goes dark although all else works, or glimmers on leakage"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    lamp_kohm: float = quantity(150.0, 0.1, 2000.0, "resistance of lamp and resistor together")
    lights_from_V: float = quantity(75.0, 2.0, 300.0, "voltage from which it lights")
    state: str = choice("sound", ("sound", "open"), "whether it can light")

    def describe(self, circuit: Circuit) -> None:
        """A small load."""
        lost = self.state == "open"
        circuit.loads.append(
            Load(
                self.name,
                self.at("live"),
                self.at("neutral"),
                OPEN_OHM if lost else self.si("lamp_kohm"),
                works_from_V=NEVER_V if lost else self.lights_from_V,
            )
        )
