"""Feed water from the building."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Reservoir
from collaudo.parts.part import Part


@dataclass(frozen=True)
class WaterLine(Part):
    """The building's water at the site's feed pressure and temperature."""

    kind = "water_line"
    text = "feeds the machine from the building"
    customer = "brings the water"
    fails = "is shut or weak, and the pump starves and howls"
    ports: ClassVar[tuple[str, ...]] = ("out",)
    outward: ClassVar[tuple[str, ...]] = ("out",)

    def describe(self, circuit: Circuit) -> None:
        """A reservoir of the site's pressure."""
        site = circuit.site
        circuit.reservoirs[self.name] = Reservoir(
            self.name, site.atmosphere_Pa + site.feed_Pa, site.feed_K, level=1.0
        )
        circuit.reservoir_ports[self.at("out")] = (self.name, 0.5)
