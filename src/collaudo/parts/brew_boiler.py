"""Brew boiler: always full, heated by its own element."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.laws.convection import room_loss_coefficients
from collaudo.parts.circuit import Cell, Circuit, Link, Vessel, VesselPort
from collaudo.parts.metals import METALS, SPECIFIC_HEAT_J_PER_KG_K
from collaudo.parts.part import Part, choice, quantity

LOWER_SHARE = 0.35
"""Share of the volume that lies about the element and takes the fresh water."""
MIXES_WARM_BELOW_W_PER_K = 4000.0
"""How freely the two layers mix while the lower is the warmer one."""
TO_SHELL_W_PER_M2_K = 1000.0
"""Natural convection from hot water to the shell."""


@dataclass(frozen=True)
class BrewBoiler(Part):
    """A closed vessel full of water, fed at the foot by the pump, drawn from near the top.

    Fresh water lies below the hot and pushes it out, so a short draw leaves nearly as hot as it stood. Water
    that warms swells and must have a relief valve to leave by. Where the same boiler also gives steam
    (`steam`), a hotter thermostat brings it there; its level falls as steam leaves and must be made up.
    """

    kind = "brew_boiler"
    text = "holds the brew water and keeps it at brewing temperature"
    customer = "keeps the water for your coffee hot"
    fails = "furs up or leaks at its flange, and its water comes too cool or drips on what lies below"
    ports: ClassVar[tuple[str, ...]] = ("in", "out", "relief", "steam", "gauge", "drain")
    open_ports: ClassVar[tuple[str, ...]] = ("relief", "steam", "gauge", "drain")
    relieved_by: ClassVar[str] = "relief_valve"
    volume_l: float = quantity(0.6, 0.05, 3.0, "volume, full")
    diameter_mm: float = quantity(80.0, 30.0, 200.0, "diameter of the shell")
    shell: str = choice("brass", METALS, "what the shell is made of")
    shell_kg: float = quantity(1.6, 0.1, 10.0, "mass of the shell")
    insulation_share: float = quantity(0.5, 0.0, 0.95, "share of the bare shell's loss that lagging saves")
    frame_W_per_K: float = quantity(0.3, 0.0, 20.0, "conduction through feet and pipes to the frame")
    mixing_W_per_K: float = quantity(15.0, 0.5, 1000.0, "exchange between cold water below and hot above")
    compliance_ml_per_bar: float = quantity(0.08, 0.005, 5.0, "volume it gives under pressure")
    air_ml: float = quantity(0.0, 0.0, 500.0, "air caught in it when it was filled")

    def describe(self, circuit: Circuit) -> None:
        """A full vessel of two layers, its shell and its losses."""
        volume = self.si("volume_l")
        lower = LOWER_SHARE * volume
        circuit.vessels[self.name] = Vessel(
            self.name,
            [Cell("lower", lower), Cell("upper", volume - lower)],
            [(0, 1, 0.0)],
            self.si("compliance_ml_per_bar"),
            caught_air_m3=self.si("air_ml"),
        )
        for port, cell, level in (
            ("in", 0, 0.05),
            ("out", 1, 0.90),
            ("relief", 1, 0.85),
            ("steam", 1, 0.97),
            ("gauge", 1, 0.50),
            ("drain", 0, 0.02),
        ):
            circuit.ports[self.at(port)] = VesselPort(self.name, cell, level)
        circuit.links.append(
            Link(
                "mixing",
                self.at("lower"),
                self.at("upper"),
                self.mixing_W_per_K,
                max(MIXES_WARM_BELOW_W_PER_K, self.mixing_W_per_K),
            )
        )
        self._shell(circuit, volume)

    def _shell(self, circuit: Circuit, volume: float) -> None:
        diameter = self.si("diameter_mm")
        area = 4.0 * volume / diameter + 0.5 * pi * diameter * diameter
        heat = SPECIFIC_HEAT_J_PER_KG_K[self.shell]
        circuit.walls[self.name] = (self.shell_kg * heat, circuit.site.room_K)
        inside = TO_SHELL_W_PER_M2_K * area
        circuit.links.append(Link("fixed", self.at("lower"), self.name, LOWER_SHARE * inside))
        circuit.links.append(Link("fixed", self.at("upper"), self.name, (1.0 - LOWER_SHARE) * inside))
        circuit.links.append(Link("fixed", self.name, "room", self.frame_W_per_K))
        loss = room_loss_coefficients(area, diameter, 0.3, "horizontal_cylinder")
        bare = 1.0 - self.insulation_share
        circuit.links.append(
            Link("room", self.name, "room", loss.convection_W_per_K_1_25 * bare, 0.3 * area * bare)
        )
