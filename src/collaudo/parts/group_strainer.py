"""Strainer before a group's jet or valve."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class GroupStrainer(Part):
    """A small mesh that keeps flakes of scale from jet and valve seat."""

    kind = "group_strainer"
    text = "keeps flakes of scale from the jet and the valve"
    customer = "catches limescale before it can block the group"
    fails = "clogs, above all after descaling, and the group only trickles"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(2.2, 0.02, 10.0, "bore a clean mesh is equal to")

    def describe(self, circuit: Circuit) -> None:
        """A throat."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        circuit.members.append(Member(self.name, self.at("in"), self.at("out"), area))
