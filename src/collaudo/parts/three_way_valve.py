"""Three-way solenoid valve of a group."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Member
from collaudo.parts.coils import coil
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class ThreeWayValve(Part):
    """One plunger with a seat at either end: with current the way in is open, without it the way out.

    What the coffee still holds back when the pump stops leaves by the exhaust at once.
    """

    kind = "three_way_valve"
    text = "lets water to the coffee while its coil has current, and lets the pressure out after"
    customer = "opens the way to the coffee and lets the pressure off afterwards"
    fails = (
        "sticks or wears at one of its seats: no water, water running to the tray while brewing, "
        "a drip from the group at rest, or a wet puck that spits"
    )
    ports: ClassVar[tuple[str, ...]] = ("in", "out", "exhaust")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("exhaust",)
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    bore_mm: float = quantity(2.2, 0.05, 6.0, "bore of the inlet seat")
    exhaust_bore_mm: float = quantity(2.0, 0.02, 6.0, "bore of the exhaust seat")
    leak_bore_mm: float = quantity(0.004, 0.0, 4.0, "bore the shut inlet seat leaks like")
    exhaust_leak_bore_mm: float = quantity(0.004, 0.0, 4.0, "bore the shut exhaust seat leaks like")
    coil_ohm: float = quantity(1400.0, 10.0, 5000.0, "resistance of its coil when cold")

    def describe(self, circuit: Circuit) -> None:
        """Two throats, one open while the other is shut."""
        for name, inlet, outlet, command, bore, leak in (
            (self.name, "in", "out", "load", "bore_mm", "leak_bore_mm"),
            (self.at("exhaust"), "out", "exhaust", "load_off", "exhaust_bore_mm", "exhaust_leak_bore_mm"),
        ):
            circuit.members.append(
                Member(
                    name,
                    self.at(inlet),
                    self.at(outlet),
                    _throat(self.si(bore)),
                    Command(command, self.name),
                    leak_area_m2=_throat(self.si(leak)),
                )
            )
        circuit.loads.append(coil(self.name, self.at("live"), self.at("neutral"), self.coil_ohm, circuit))


def _throat(bore_m: float) -> float:
    return 0.7 * 0.25 * pi * bore_m * bore_m
