"""Hose from the drip tray to the building's drain."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Reservoir, Tube
from collaudo.parts.part import Part, quantity

GRAVITY = 9.80665
COLD_WATER_KG_PER_M3 = 998.0


@dataclass(frozen=True)
class DrainHose(Part):
    """Falls from the tray to the drain; the water in it draws what stands in the tray after it.

    The fall is put into the pressure at its end, for a reservoir has none of its own.
    """

    kind = "drain_hose"
    text = "leads what the tray catches to the drain"
    customer = "takes the waste water away"
    fails = "kinks or clogs with coffee grease, and the tray runs over"
    ports: ClassVar[tuple[str, ...]] = ("in",)
    bore_mm: float = quantity(14.0, 3.0, 40.0, "bore")
    length_mm: float = quantity(1500.0, 100.0, 10_000.0, "length")
    fall_mm: float = quantity(600.0, 20.0, 3000.0, "how far its end lies below the tray")
    blocked_share: float = quantity(0.0, 0.0, 0.9999, "share of its cross-section that is blocked")

    def describe(self, circuit: Circuit) -> None:
        """A tube to a drain whose pressure is lower by the fall."""
        site = circuit.site
        pressure = site.atmosphere_Pa - COLD_WATER_KG_PER_M3 * GRAVITY * self.si("fall_mm")
        circuit.reservoirs[self.name] = Reservoir(self.name, pressure, site.room_K, mixes=True)
        circuit.reservoir_ports[self.at("end")] = (self.name, 0.5)
        bore = self.si("bore_mm") * sqrt(1.0 - self.blocked_share)
        circuit.tubes.append(
            Tube(self.name, self.at("in"), self.at("end"), bore, self.si("length_mm"), fittings=2.0)
        )
