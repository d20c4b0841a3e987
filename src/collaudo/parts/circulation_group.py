"""Lever group kept hot by circulation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.laws.convection import room_loss_coefficients
from collaudo.parts.circuit import Cell, Circuit, Link, Vessel, VesselPort
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class CirculationGroup(Part):
    """Heavy body with a cavity through which the circulation passes; the highest place of the loop."""

    kind = "circulation_group"
    symbol = "group"
    text = "holds the portafilter and keeps the last of the way hot"
    customer = "holds the coffee and is kept hot by the water that runs through it"
    fails = "stays too cool when air or scale stops the circulation, and the coffee turns sour"
    ports: ClassVar[tuple[str, ...]] = ("hot", "return", "brew")
    body_kg: float = quantity(4.0, 0.3, 12.0, "mass of the body")
    cavity_ml: float = quantity(25.0, 5.0, 500.0, "water in the cavity")
    body_W_per_K: float = quantity(5.0, 0.5, 100.0, "from the water in the cavity to the body")
    surface_m2: float = quantity(0.1, 0.005, 0.5, "surface of body and portafilter")
    frame_W_per_K: float = quantity(0.0, 0.0, 20.0, "conduction through its flange to the frame")
    hot_elevation_mm: float = quantity(340.0, 0.0, 1500.0, "height at which the hot leg enters")
    return_elevation_mm: float = quantity(270.0, 0.0, 1500.0, "height at which the return leg leaves")
    air_ml: float = quantity(0.0, 0.0, 200.0, "air caught in the cavity")

    def describe(self, circuit: Circuit) -> None:
        """A cell, a heavy wall, losses to the room."""
        circuit.vessels[self.name] = Vessel(
            self.name,
            [Cell("cavity", self.si("cavity_ml"), 0.02, 0.06, 1.0)],
            [],
            1.0e-13,
            caught_air_m3=self.si("air_ml"),
            top=0,
        )
        circuit.ports[self.at("hot")] = VesselPort(self.name, 0, 0.5, self.si("hot_elevation_mm"))
        circuit.ports[self.at("return")] = VesselPort(self.name, 0, 0.5, self.si("return_elevation_mm"))
        circuit.ports[self.at("brew")] = VesselPort(self.name, 0, 0.97)
        circuit.walls[self.name] = (self.body_kg * 385.0, circuit.site.room_K)
        circuit.links.append(Link("fixed", f"{self.name}.cavity", self.name, self.body_W_per_K))
        circuit.links.append(Link("fixed", self.name, "room", self.frame_W_per_K))
        loss = room_loss_coefficients(self.surface_m2, 0.12, 0.3, "horizontal_cylinder")
        circuit.links.append(
            Link("room", self.name, "room", loss.convection_W_per_K_1_25, 0.3 * self.surface_m2)
        )
