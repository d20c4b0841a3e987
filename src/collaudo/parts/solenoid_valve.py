"""Two-way solenoid valve."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Lift, Member
from collaudo.parts.coils import coil
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class SolenoidValve(Part):
    """Shut without current. Pressure on its inlet presses the plunger down; pressure beneath lifts it."""

    kind = "solenoid_valve"
    text = "opens when its coil has current"
    customer = "opens to let water into the boiler"
    fails = "sticks open and overfills, or stays shut because its coil or its seat is spoilt"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    bore_mm: float = quantity(2.0, 0.2, 10.0, "bore of the seat")
    lifted_by_bar: float = quantity(0.6, 0.05, 5.0, "pressure beneath that lifts the plunger")
    fitted: str = choice("forward", ("forward", "reversed"), "which way round it is screwed in")
    coil_ohm: float = quantity(1400.0, 10.0, 5000.0, "resistance of its coil when cold")
    leak_ml_per_min_at_9_bar: float = quantity(0.002, 0.0, 500.0, "what a shut seat lets through at 9 bar")

    def describe(self, circuit: Circuit) -> None:
        """A commanded throat and, against its arrow, a lifted seat."""
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        leak = self.leak_ml_per_min_at_9_bar * 1e-3 / 60.0 / 9.0e5
        circuit.members.append(
            Member(self.name, self.at("in"), self.at("out"), area, Command("load", self.name))
        )
        beneath, above = ("out", "in") if self.fitted == "forward" else ("in", "out")
        circuit.lifts.append(
            Lift(
                f"{self.name}.plunger",
                self.at(beneath),
                self.at(above),
                area,
                self.si("lifted_by_bar"),
                5.0e4,
                leak,
            )
        )
        circuit.loads.append(coil(self.name, self.at("live"), self.at("neutral"), self.coil_ohm, circuit))
