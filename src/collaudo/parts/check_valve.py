"""Check valve."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Lift
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class CheckValve(Part):
    """A spring-held seat that lets water one way only."""

    kind = "check_valve"
    text = "lets water forward and holds it there"
    customer = "keeps the water from running back"
    fails = "leaks back: the pressure falls away after the pump stops, or a boiler fills by itself"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(3.5, 0.2, 15.0, "bore when open")
    cracking_bar: float = quantity(0.1, 0.01, 2.0, "pressure that begins to lift it")
    leak_ml_per_min_at_9_bar: float = quantity(0.002, 0.0, 500.0, "what a seat under 9 bar lets back")

    def describe(self, circuit: Circuit) -> None:
        """A lifted seat with a leak."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        leak = self.leak_ml_per_min_at_9_bar * 1e-3 / 60.0 / 9.0e5
        circuit.lifts.append(
            Lift(self.name, self.at("in"), self.at("out"), area, self.si("cracking_bar"), 2.0e4, leak)
        )
