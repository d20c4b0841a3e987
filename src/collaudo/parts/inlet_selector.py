"""Selector between tank and water line."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class InletSelector(Part):
    """Three-port cock: input 0 draws from the tank, 1 from the line."""

    kind = "inlet_selector"
    symbol = "selector_valve"
    text = "chooses between tank and water line"
    customer = "chooses between tank and water line"
    fails = "leaks across, and line water finds its way into the tank"
    ports: ClassVar[tuple[str, ...]] = ("tank", "line", "out")
    inward: ClassVar[tuple[str, ...]] = ("tank", "line")
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(5.0, 1.0, 15.0, "bore of the cock")
    position_share: float = quantity(0.0, 0.0, 1.0, "where it stands: 0 tank, 1 line")

    def describe(self, circuit: Circuit) -> None:
        """Two throats, one shut while the other is open."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        circuit.inputs[self.name] = self.position_share
        circuit.members.append(
            Member(self.name, self.at("tank"), self.at("out"), area, Command("input", self.name, 1.0, 0.0))
        )
        circuit.members.append(
            Member(self.name, self.at("line"), self.at("out"), area, Command("input", self.name, 0.0, 1.0))
        )
