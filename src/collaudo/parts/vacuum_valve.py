"""Vacuum-relief valve."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class VacuumValve(Part):
    """Open when cold; a brisk flow of steam lifts it shut; falls open when the boiler draws a vacuum."""

    kind = "vacuum_valve"
    text = "lets the air out while heating and in while cooling"
    customer = "lets the air out while the machine heats up, and in again while it cools"
    fails = "sticks shut, and false pressure stops the heating early; or stays open and steams"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(1.0, 0.2, 8.0, "free bore while open")
    closes_bar: float = quantity(0.03, 0.005, 3.0, "pressure whose flow lifts it shut")
    opens_below_bar: float = quantity(0.01, 0.0, 0.9, "vacuum at which it falls open")
    leak_bore_mm: float = quantity(0.02, 0.0, 5.0, "bore a shut seat leaks like")

    def describe(self, circuit: Circuit) -> None:
        """A vapour throat commanded by a two-position device on the boiler's pressure."""
        area = 0.8 * 0.25 * pi * self.si("bore_mm") ** 2
        leak = 0.8 * 0.25 * pi * self.si("leak_bore_mm") ** 2
        circuit.devices.append(
            Device(
                self.name,
                "two_position",
                "pressure",
                self.at("in"),
                high=self.si("closes_bar"),
                low=-self.si("opens_below_bar"),
            )
        )
        circuit.members.append(
            Member(
                self.name,
                self.at("in"),
                self.at("out"),
                area,
                Command("device_off", self.name),
                leak_area_m2=leak,
                vapour=True,
            )
        )
