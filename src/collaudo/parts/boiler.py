"""Steam boiler."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.laws.convection import room_loss_coefficients
from collaudo.parts.circuit import Cell, Circuit, Link, Vessel, VesselPort
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class Boiler(Part):
    """Partly filled vessel: steam above, hot water below.

    Two layers of water: the lower takes the refill and the element's heat, the upper is at saturation. They
    mix strongly while the lower is warmer and weakly while it lies cold below, so a cold refill shows with a
    lag.
    """

    kind = "boiler"
    text = "holds hot water and the steam above it"
    customer = "keeps hot water and the steam for your milk"
    fails = "leaks at a joint or furs up: water under the machine, or slow heating"
    ports: ClassVar[tuple[str, ...]] = ("fill", "steam", "water", "vacuum", "safety", "gauge", "drain")
    open_ports: ClassVar[tuple[str, ...]] = ("fill", "water", "vacuum", "gauge", "drain")
    relieved_by: ClassVar[str] = "safety_valve"
    volume_l: float = quantity(1.8, 0.1, 30.0, "whole volume")
    filled_share: float = quantity(0.62, 0.05, 0.99, "share filled with water when cold")
    diameter_mm: float = quantity(110.0, 30.0, 500.0, "diameter of the shell")
    shell_kg: float = quantity(2.6, 0.1, 50.0, "mass of the copper shell")
    insulation_share: float = quantity(0.75, 0.0, 0.95, "share of the bare shell's loss that lagging saves")
    frame_W_per_K: float = quantity(0.62, 0.0, 20.0, "conduction through feet and pipes to the frame")
    mixing_W_per_K: float = quantity(60.0, 1.0, 1000.0, "exchange between a cold lower layer and the upper")

    def describe(self, circuit: Circuit) -> None:
        """A vessel of two layers, its shell and its losses."""
        volume = self.si("volume_l")
        lower = 0.35 * volume
        circuit.vessels[self.name] = Vessel(
            self.name,
            [Cell("lower", lower), Cell("upper", volume - lower)],
            [(0, 1, 0.0)],
            compliance_m3_per_Pa=1.0e-11,
            gas_floor=1e-3,
            water_m3=self.filled_share * volume,
            metal_J_per_K=5.0,
        )
        for port, cell, level in (
            ("fill", 0, 0.05),
            ("water", 1, 0.15),
            ("steam", 1, 0.95),
            ("vacuum", 1, 0.97),
            ("safety", 1, 0.97),
            ("gauge", 1, 0.97),
            ("drain", 0, 0.02),
        ):
            circuit.ports[self.at(port)] = VesselPort(self.name, cell, level)
        circuit.walls[self.name] = (self.shell_kg * 390.0, circuit.site.room_K)
        circuit.links.append(
            Link("mixing", f"{self.name}.lower", f"{self.name}.upper", self.mixing_W_per_K, 4000.0)
        )
        circuit.links.append(Link("fixed", f"{self.name}.upper", self.name, 120.0))
        circuit.links.append(Link("fixed", f"{self.name}.lower", self.name, 60.0))
        circuit.links.append(Link("fixed", self.name, "room", self.frame_W_per_K))
        diameter = self.si("diameter_mm")
        area = 4.0 * volume / diameter + 0.5 * pi * diameter * diameter
        loss = room_loss_coefficients(area, diameter, 0.3, "horizontal_cylinder")
        open_share = 1.0 - self.insulation_share
        circuit.links.append(
            Link(
                "room", self.name, "room", loss.convection_W_per_K_1_25 * open_share, 0.3 * area * open_share
            )
        )
