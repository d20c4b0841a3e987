"""Strainer at the inlet."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class Strainer(Part):
    """A mesh that keeps grit from the pump."""

    kind = "strainer"
    text = "keeps grit from the pump"
    customer = "catches grit before it reaches the pump"
    fails = "clogs, and the pump howls and pumps less"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(2.6, 0.05, 20.0, "bore a clean mesh is equal to")

    def describe(self, circuit: Circuit) -> None:
        """A throat."""
        area = 0.25 * pi * self.si("bore_mm") ** 2
        circuit.members.append(Member(self.name, self.at("in"), self.at("out"), 0.7 * area))
