"""Pressure regulator in the feed line."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Lift
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class LineRegulator(Part):
    """A diaphragm and a spring hold a seat open until the pressure behind it has risen to the setting."""

    kind = "line_regulator"
    text = "keeps the feed pressure down to what the pump and the fittings want"
    customer = "tames the pressure of the building's water"
    fails = "creeps, and the line pressure stands behind it; or sticks, and the pump starves"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    set_bar: float = quantity(3.0, 0.5, 8.0, "pressure behind it at which it shuts")
    droop_bar: float = quantity(0.8, 0.1, 4.0, "how far the pressure behind it falls until it is wide open")
    bore_mm: float = quantity(5.0, 0.05, 20.0, "bore of the open seat")
    leak_ml_per_min_at_9_bar: float = quantity(0.002, 0.0, 5000.0, "what the shut seat lets creep at 9 bar")

    def describe(self, circuit: Circuit) -> None:
        """A seat that opens as the pressure behind it falls."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        leak = self.leak_ml_per_min_at_9_bar * 1e-3 / 60.0 / 9.0e5
        circuit.lifts.append(
            Lift(
                self.name,
                self.at("in"),
                self.at("out"),
                area,
                self.si("set_bar"),
                self.si("droop_bar"),
                leak,
                opens="below_outlet",
            )
        )
