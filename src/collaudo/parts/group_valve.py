"""Valve worked by the lever: inlet or exhaust."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Member
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class GroupValve(Part):
    """A seat on the lever's cam. Lever: 0 down, 0.5 half way (inlet open, exhaust shut), 1 up (pump too)."""

    kind = "group_valve"
    symbol = "cam_valve"
    text = "opens or shuts the way with the lever"
    customer = "opens the way when you move the lever"
    fails = "wears at its seat: drips at rest, or runs to the drain while the coffee runs"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    lever: str = reference("lever", ("lever",), "lever that works it")
    duty: str = choice("inlet", ("inlet", "exhaust"), "inlet opens with the lever up, exhaust with it down")
    bore_mm: float = quantity(4.0, 0.1, 10.0, "bore of the open seat")
    leak_bore_mm: float = quantity(0.004, 0.0, 4.0, "bore a shut seat leaks like")

    def describe(self, circuit: Circuit) -> None:
        """A throat commanded by the lever."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        leak = 0.7 * 0.25 * pi * self.si("leak_bore_mm") ** 2
        command = (
            Command("input", self.lever, 0.25, 0.45)
            if self.duty == "inlet"
            else Command("input", self.lever, 0.25, 0.05)
        )
        circuit.members.append(
            Member(self.name, self.at("in"), self.at("out"), area, command, leak_area_m2=leak)
        )
