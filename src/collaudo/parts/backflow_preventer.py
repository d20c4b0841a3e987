"""Backflow preventer in the feed line."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Lift
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class BackflowPreventer(Part):
    """Two check seats in one body keep the machine's water out of the drinking water.

    Which kind must be fitted, who may fit it and how often it is tested is for the local water code; a
    licensed plumber knows it.
    """

    kind = "backflow_preventer"
    text = "keeps the machine's water from flowing back into the building; local code says which kind"
    customer = "protects the drinking water; the local water code asks for it"
    fails = "lets water back past its seats, or clogs and starves the pump"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(7.0, 0.1, 30.0, "bore when open")
    cracking_bar: float = quantity(0.15, 0.02, 1.0, "pressure that begins to lift both seats")
    leak_ml_per_min_at_9_bar: float = quantity(0.001, 0.0, 500.0, "what both seats under 9 bar let back")

    def describe(self, circuit: Circuit) -> None:
        """One lifted seat for the two, with a leak."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        leak = self.leak_ml_per_min_at_9_bar * 1e-3 / 60.0 / 9.0e5
        circuit.lifts.append(
            Lift(self.name, self.at("in"), self.at("out"), area, self.si("cracking_bar"), 4.0e4, leak)
        )
