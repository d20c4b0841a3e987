"""Shower screen."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class Screen(Part):
    """Spreads the water over the coffee."""

    kind = "screen"
    text = "spreads the water over the coffee"
    customer = "spreads the water evenly over the coffee"
    fails = "clogs with coffee grease: slow, uneven shots"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    bore_mm: float = quantity(6.0, 0.1, 20.0, "one hole as wide as all that are free")

    def describe(self, circuit: Circuit) -> None:
        """A throat."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        circuit.members.append(Member(self.name, self.at("in"), self.at("out"), area))
