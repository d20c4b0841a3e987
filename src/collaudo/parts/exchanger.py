"""Heat exchanger through the boiler."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Cell, Circuit, Link, Member, Vessel, VesselPort
from collaudo.parts.part import Part, quantity, reference


@dataclass(frozen=True)
class Exchanger(Part):
    """A tube through the boiler; fresh water is injected into it, hot water leaves above and returns below.

    Natural convection inside, condensing and boiling outside: the conductance grows as the fourth root of the
    temperature difference. The injected jet stirs the tube, so hot and fresh water mix along it. Scale of
    2.2 W/(m K) lies in series.
    """

    kind = "exchanger"
    text = "heats the brew water on its way through the boiler"
    customer = "heats fresh water for your coffee on its way through the boiler"
    fails = "furs up, and the brew water comes cooler; or a pinhole lets it into the boiler"
    ports: ClassVar[tuple[str, ...]] = ("in", "hot", "return")
    relieved_by: ClassVar[str] = "relief_valve"
    volume_ml: float = quantity(140.0, 20.0, 2000.0, "water in it")
    bore_mm: float = quantity(28.0, 5.0, 100.0, "bore of the tube")
    cells_count: float = quantity(8.0, 2.0, 64.0, "cells it is reckoned with")
    injected_at_share: float = quantity(0.5, 0.0, 1.0, "where fresh water enters: 0 return end, 1 hot end")
    stirring_W_per_K: float = quantity(
        400.0, 0.0, 2000.0, "exchange between neighbouring eighths that 8 g/s of injected water stirs up"
    )
    in_boiler: str = reference("boiler", ("boiler",), "boiler it leads through")
    conductance_W_per_K: float = quantity(9.0, 0.1, 200.0, "clean, at 10 K difference")
    scale_mm: float = quantity(0.0, 0.0, 5.0, "limescale inside")
    compliance_ml_per_bar: float = quantity(0.06, 0.005, 5.0, "volume the closed circuit gives")
    return_elevation_mm: float = quantity(150.0, 0.0, 1000.0, "height of the return end")
    hot_elevation_mm: float = quantity(200.0, 0.0, 1000.0, "height of the hot end")
    pinhole_mm: float = quantity(0.0, 0.0, 3.0, "hole into the boiler")

    def describe(self, circuit: Circuit) -> None:
        """A chain of cells from the return end to the hot end."""
        n = int(self.cells_count) * circuit.cell_factor
        volume, low, high = self.si("volume_ml"), self.si("return_elevation_mm"), self.si("hot_elevation_mm")
        bore = self.si("bore_mm")
        length = volume / (0.25 * pi * bore * bore)
        cells = [Cell(f"cell{k}", volume / n, bore, length / n) for k in range(n)]
        edges = [(k, k + 1, low + (high - low) * (k + 1) / n) for k in range(n - 1)]
        circuit.vessels[self.name] = Vessel(self.name, cells, edges, self.si("compliance_ml_per_bar"))
        entry = min(int(self.injected_at_share * n), n - 1)
        circuit.ports[self.at("in")] = VesselPort(self.name, entry, 0.5)
        circuit.ports[self.at("return")] = VesselPort(self.name, 0, 0.5, low)
        circuit.ports[self.at("hot")] = VesselPort(self.name, n - 1, 0.5, high)
        inside = pi * bore * length
        resistance = 1.0 / self.conductance_W_per_K + self.si("scale_mm") / (2.2 * inside)
        for k in range(n):
            circuit.links.append(
                Link(
                    "convection",
                    f"{self.in_boiler}.upper",
                    f"{self.name}.cell{k}",
                    1.0 / resistance / n / 10.0**0.25,
                )
            )
        for k in range(n - 1):
            circuit.links.append(
                Link(
                    "flow",
                    f"{self.name}.cell{k}",
                    f"{self.name}.cell{k + 1}",
                    0.1,
                    self.stirring_W_per_K * n / 8.0,
                    8.0e-3,
                    at=f"{self.name}.cell{k}",
                )
            )
        if self.pinhole_mm > 0.0:
            self._leak(circuit, entry)

    def _leak(self, circuit: Circuit, entry: int) -> None:
        circuit.ports[self.at("hole")] = VesselPort(self.name, entry, 0.5)
        circuit.ports[self.at("hole_outside")] = VesselPort(self.in_boiler, 0, 0.2)
        area = 0.7 * 0.25 * pi * self.si("pinhole_mm") ** 2
        circuit.members.append(Member(f"{self.name}.hole", self.at("hole"), self.at("hole_outside"), area))
