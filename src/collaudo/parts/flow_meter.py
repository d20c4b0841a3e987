"""Flow meter of a dosing group."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Member, Meter
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class FlowMeter(Part):
    """A small wheel with magnets before a pick-up: so many pulses for each millilitre.

    1.5 to 5 pulses per ml (common practice, no source). Without pulses the dose runs on until time is out.
    """

    kind = "flow_meter"
    text = "counts the water on its way to the coffee"
    customer = "measures how much water goes into the cup"
    fails = "sticks or loses its pulses, and cups come too full or run on until the lamps flash"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    bore_mm: float = quantity(1.6, 0.1, 10.0, "nozzle before the wheel")
    pulses_per_ml: float = quantity(2.0, 0.1, 20.0, "pulses it gives for each millilitre")
    counted_share: float = quantity(
        1.0, 0.0, 1.0, "share of the water it counts; 0: stuck or without pick-up"
    )

    def describe(self, circuit: Circuit) -> None:
        """A throat whose volume is counted."""
        area = 0.8 * 0.25 * pi * self.si("bore_mm") ** 2
        circuit.members.append(Member(self.name, self.at("in"), self.at("out"), area))
        circuit.meters.append(Meter(self.name, self.name, self.counted_share))

    def pulses(self, counted_ml: float) -> float:
        """Pulses that a counted volume makes."""
        return counted_ml * self.pulses_per_ml
