"""Safety valve of a steam boiler."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class SafetyValve(Part):
    """Sealed; lifts at its stamped pressure, wide open 10 % above. Replaced, never reset."""

    kind = "safety_valve"
    text = "keeps the boiler from bursting"
    customer = "is the last guard against too much pressure in the boiler"
    fails = "weeps steam when its seat is worn, or sticks unseen; it is replaced, never adjusted"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    set_bar: float = quantity(1.8, 0.5, 4.0, "stamped pressure")
    bore_mm: float = quantity(5.0, 1.0, 25.0, "bore when lifted")
    leak_bore_mm: float = quantity(0.0, 0.0, 5.0, "bore a weeping seat leaks like")

    def describe(self, circuit: Circuit) -> None:
        """A spring-held vapour throat."""
        circuit.members.append(
            Member(
                self.name,
                self.at("in"),
                self.at("out"),
                0.7 * 0.25 * pi * self.si("bore_mm") ** 2,
                leak_area_m2=0.8 * 0.25 * pi * self.si("leak_bore_mm") ** 2,
                vapour=True,
                cracking_Pa=self.si("set_bar"),
                width_Pa=0.1 * self.si("set_bar"),
            )
        )
