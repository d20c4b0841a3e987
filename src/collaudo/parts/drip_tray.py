"""Drip tray under the group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Reservoir
from collaudo.parts.part import Part, quantity

INLETS = ("in", "second", "third", "fourth")


@dataclass(frozen=True)
class DripTray(Part):
    """Open to the room; emptied by hand or by a hose. What no longer fits runs over its brim."""

    kind = "drip_tray"
    text = "catches what the group lets go and what drips"
    customer = "catches drips and rinsing water"
    fails = "runs over when it is full or its hose is blocked, and water reaches the electrics below"
    ports: ClassVar[tuple[str, ...]] = (*INLETS, "drain_hose")
    open_ports: ClassVar[tuple[str, ...]] = (*INLETS, "drain_hose")
    volume_l: float = quantity(1.2, 0.05, 10.0, "volume up to the brim")
    water_l: float = quantity(0.0, 0.0, 10.0, "water already in it")

    def describe(self, circuit: Circuit) -> None:
        """A reservoir at room pressure that keeps count of all it receives; inlets at the brim."""
        site = circuit.site
        circuit.reservoirs[self.name] = Reservoir(
            self.name,
            site.atmosphere_Pa,
            site.room_K,
            volume_m3=self.si("volume_l"),
            water_kg=self.water_l,
            mixes=True,
        )
        for port in INLETS:
            circuit.reservoir_ports[self.at(port)] = (self.name, 1.0)
        circuit.reservoir_ports[self.at("drain_hose")] = (self.name, 0.0)

    def run_over_l(self, received_l: float, drained_l: float = 0.0) -> float:
        """Water that has run over the brim, after the tray has received so much and a hose or a hand has
        taken so much out of it."""
        return max(self.water_l + received_l - drained_l - self.volume_l, 0.0)
