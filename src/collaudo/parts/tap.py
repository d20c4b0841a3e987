"""Tap for steam or hot water, with its wand or spout."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Member
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class Tap(Part):
    """Opened by hand (input 0..1); what it passes leaves through holes in its tip."""

    kind = "tap"
    symbol = "hand_valve"
    text = "lets steam or hot water out"
    customer = "gives steam or hot water"
    fails = "drips from a worn seal, or its tip clogs: milk at a steam wand, scale at a water spout"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    passes: str = choice("steam", ("steam", "water"), "what it is for")
    seat_bore_mm: float = quantity(4.0, 0.5, 15.0, "bore of the open seat")
    tip_bore_mm: float = quantity(2.2, 0.1, 10.0, "one hole as wide as those of the tip together")
    leak_bore_mm: float = quantity(0.0, 0.0, 5.0, "bore a dripping seat leaks like")

    def describe(self, circuit: Circuit) -> None:
        """Seat and tip in series."""
        seat = 0.7 * 0.25 * pi * self.si("seat_bore_mm") ** 2
        tip = 0.85 * 0.25 * pi * self.si("tip_bore_mm") ** 2
        area = (seat**-2 + tip**-2) ** -0.5
        circuit.inputs[self.name] = 0.0
        circuit.members.append(
            Member(
                self.name,
                self.at("in"),
                self.at("out"),
                area,
                Command("input", self.name),
                leak_area_m2=0.7 * 0.25 * pi * self.si("leak_bore_mm") ** 2,
                vapour=self.passes == "steam",
            )
        )
