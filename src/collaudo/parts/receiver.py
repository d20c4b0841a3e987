"""Cup, jug, tray, drain or room: whatever receives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Reservoir
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class Receiver(Part):
    """Open to the room; keeps count of what runs into it."""

    kind = "receiver"
    text = "catches what comes out"
    customer = "catches what comes out"
    fails = "is full or stands askew, and what it should catch runs beside it"
    ports: ClassVar[tuple[str, ...]] = ("in", "second", "third", "fourth")
    open_ports: ClassVar[tuple[str, ...]] = ("in", "second", "third", "fourth")
    contents: str = choice("nothing", ("nothing", "milk"), "milk: a jug, the wand's tip under the surface")
    milk_ml: float = quantity(300.0, 1.0, 2000.0, "milk in a jug")

    def describe(self, circuit: Circuit) -> None:
        """A reservoir at room pressure whose contents mix."""
        site = circuit.site
        milk = self.contents == "milk"
        circuit.reservoirs[self.name] = Reservoir(
            self.name,
            site.atmosphere_Pa,
            278.15 if milk else site.room_K,
            level=1.0 if milk else 0.0,
            water_kg=self.si("milk_ml") * 1030.0 if milk else 0.0,
            mixes=True,
        )
        for port in self.ports:
            circuit.reservoir_ports[self.at(port)] = (self.name, 0.5)
