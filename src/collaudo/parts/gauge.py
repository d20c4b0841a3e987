"""Pressure gauge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class Gauge(Part):
    """Shows the pressure above the room; its tube gives a little."""

    kind = "gauge"
    text = "shows the pressure above the room"
    customer = "shows the pressure"
    fails = "sticks or shows too much or too little, and good settings look wrong"
    ports: ClassVar[tuple[str, ...]] = ("in",)
    compliance_ml_per_bar: float = quantity(0.01, 0.0, 2.0, "volume the gauge and its line give")
    offset_bar: float = quantity(0.0, -3.0, 3.0, "what it shows beyond the pressure")

    def describe(self, circuit: Circuit) -> None:
        """Volume and compliance where it is connected."""
        circuit.bare_volumes[self.at("in")] = (1.0e-6, self.si("compliance_ml_per_bar"))
