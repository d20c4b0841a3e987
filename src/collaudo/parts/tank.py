"""Water tank behind the machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Reservoir
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class Tank(Part):
    """Open tank; what the relief valve returns warms it."""

    kind = "tank"
    text = "holds the water the pump draws"
    customer = "holds the water"
    fails = "runs empty or sits badly on its valve, and the pump draws air"
    ports: ClassVar[tuple[str, ...]] = ("out", "return")
    open_ports: ClassVar[tuple[str, ...]] = ("return",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    volume_l: float = quantity(2.5, 0.3, 20.0, "volume up to the brim")
    water_l: float = quantity(2.0, 0.0, 20.0, "water in it")

    def describe(self, circuit: Circuit) -> None:
        """A reservoir whose contents mix."""
        site = circuit.site
        circuit.reservoirs[self.name] = Reservoir(
            self.name, site.atmosphere_Pa, site.room_K, 0.0, self.si("volume_l"), self.water_l, mixes=True
        )
        circuit.reservoir_ports[self.at("out")] = (self.name, 0.0)
        circuit.reservoir_ports[self.at("return")] = (self.name, 1.0)
