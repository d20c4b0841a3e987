"""Mixing valve of the hot-water spout."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class MixingValve(Part):
    """Boiler water and cold water in one stream: its knob (input 0..1) opens the hot seat as it closes the
    cold one. Nothing in it keeps cold water out of the boiler: that is for a check valve before each seat."""

    kind = "mixing_valve"
    text = "mixes boiler water with cold so that the spout does not spit"
    customer = "cools the tea water down to where it does not spit"
    fails = "clogs on one side, and the water comes boiling or lukewarm"
    ports: ClassVar[tuple[str, ...]] = ("hot", "cold", "out")
    inward: ClassVar[tuple[str, ...]] = ("hot", "cold")
    outward: ClassVar[tuple[str, ...]] = ("out",)
    hot_share: float = quantity(0.7, 0.0, 1.0, "where the knob stands: 0 all cold, 1 all hot")
    hot_bore_mm: float = quantity(3.0, 0.05, 15.0, "bore of the hot seat, wide open")
    cold_bore_mm: float = quantity(3.0, 0.05, 15.0, "bore of the cold seat, wide open")
    leak_bore_mm: float = quantity(0.01, 0.0, 5.0, "bore each seat leaks like when it is shut")

    def describe(self, circuit: Circuit) -> None:
        """Two throats, one closing as the other opens."""
        circuit.inputs[self.name] = self.hot_share
        leak = 0.7 * 0.25 * pi * self.si("leak_bore_mm") ** 2
        for side, shut, full in (("hot", 0.0, 1.0), ("cold", 1.0, 0.0)):
            area = 0.7 * 0.25 * pi * self.si(f"{side}_bore_mm") ** 2
            command = Command("input", self.name, shut, full)
            circuit.members.append(
                Member(self.at(side), self.at(side), self.at("out"), area, command, leak_area_m2=leak)
            )
