"""Drain cock at a boiler's foot."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class BoilerDrain(Part):
    """Opened by hand (input 0..1) to empty a boiler that is cold and without pressure."""

    kind = "boiler_drain"
    text = "empties the boiler, cold and without pressure"
    customer = "lets the boiler run empty for service"
    fails = "drips under the machine, or is furred shut"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(6.0, 0.1, 25.0, "bore when open")
    leak_bore_mm: float = quantity(0.0, 0.0, 5.0, "bore a dripping seat leaks like")

    def describe(self, circuit: Circuit) -> None:
        """A throat worked by hand."""
        circuit.inputs[self.name] = 0.0
        area, leak = (0.7 * 0.25 * pi * self.si(key) ** 2 for key in ("bore_mm", "leak_bore_mm"))
        command = Command("input", self.name)
        circuit.members.append(
            Member(self.name, self.at("in"), self.at("out"), area, command, leak_area_m2=leak)
        )
