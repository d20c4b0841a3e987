"""Flow-through heater: a hot block with a channel."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import ClassVar

from collaudo.laws.convection import room_loss_coefficients
from collaudo.laws.electric import element_resistance_ohm
from collaudo.laws.internal_convection import channel_conductance_W_per_K
from collaudo.parts.circuit import Cell, Circuit, Link, Load, Tube, Vessel, VesselPort
from collaudo.parts.insulation import add_insulation
from collaudo.parts.metals import METALS, SPECIFIC_HEAT_J_PER_KG_K
from collaudo.parts.part import Part, choice, quantity

REFERENCE_KG_PER_S = 4.0e-3
"""Flow at which heat passes into the water as the law says; elsewhere it follows the root of the flow."""
SCALE_W_PER_M_K = 2.2
NARROWEST_M = 1.0e-4
ENTRY_AND_BENDS = 4.0
"""Velocity heads lost at the mouth and in the bends of the channel (assumed)."""


@dataclass(frozen=True)
class FlowThroughHeater(Part):
    """A cast block with an element and a channel in it; it holds a cupful of water and heats what passes.

    The block is taken as of one temperature. Heat from the block to the water follows Hausen and Gnielinski
    at 4 g/s and where nothing flows; between and beyond, the root of the flow is a fair mean of a channel
    whose bends stir it (0.5 to 12 g/s, the outlet within a tenth of its rise of that of the laws). Scale of
    2.2 W/(m K) lies in between and narrows the channel, whose friction is that of a tube.
    """

    kind = "flow_through_heater"
    text = "heats the water while it flows through"
    customer = "heats just the water for this cup"
    fails = "furs up, and the water comes slower and cooler while the block grows too hot"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "body")
    open_terminals: ClassVar[tuple[str, ...]] = ("body",)
    relieved_by: ClassVar[str] = "relief_valve"
    power_W: float = quantity(1200.0, 100.0, 4000.0, "power at rated voltage")
    block: str = choice("aluminium", METALS, "what the block is made of")
    block_kg: float = quantity(0.9, 0.05, 10.0, "mass of the block")
    channel_mm: float = quantity(4.0, 1.0, 20.0, "bore of the clean channel")
    length_mm: float = quantity(2000.0, 100.0, 10_000.0, "length of the channel")
    cells_count: float = quantity(6.0, 2.0, 32.0, "cells it is reckoned with")
    scale_mm: float = quantity(0.0, 0.0, 5.0, "limescale in the channel")
    resistance_factor_share: float = quantity(
        1.0, 0.2, 50.0, "element's resistance against that of a sound one"
    )
    compliance_ml_per_bar: float = quantity(0.02, 0.001, 5.0, "volume it gives under pressure")
    surface_m2: float = quantity(0.03, 0.002, 0.5, "surface of the block")
    insulation_share: float = quantity(0.3, 0.0, 0.95, "share of the bare block's loss that lagging saves")
    frame_W_per_K: float = quantity(0.1, 0.0, 20.0, "conduction to the frame")

    insulation_Mohm: float = quantity(300.0, 1e-4, 1e4, "from its wire to the metal around it")

    def describe(self, circuit: Circuit) -> None:
        """A heated block and a chain of cells through it."""
        n = int(self.cells_count) * circuit.cell_factor
        bore, length = self.si("channel_mm"), self.si("length_mm")
        cell_m3 = 0.25 * pi * bore * bore * length / n
        circuit.vessels[self.name] = Vessel(
            self.name,
            [Cell(f"cell{k}", cell_m3) for k in range(n)],
            [(k, k + 1, 0.0) for k in range(n - 1)],
            self.si("compliance_ml_per_bar"),
        )
        circuit.ports[self.at("mouth")] = VesselPort(self.name, 0, 0.5)
        circuit.ports[self.at("out")] = VesselPort(self.name, n - 1, 0.95)
        free = max(bore - 2.0 * self.si("scale_mm"), NARROWEST_M)
        circuit.tubes.append(
            Tube(self.name, self.at("in"), self.at("mouth"), free, length, fittings=ENTRY_AND_BENDS)
        )
        self._block(circuit, n)
        ohm = element_resistance_ohm(self.power_W, circuit.rated_V) * self.resistance_factor_share
        circuit.heaters.append((self.name, self.name, ohm))
        circuit.loads.append(Load(self.name, self.at("live"), self.at("neutral"), ohm))
        add_insulation(circuit, self.name, self.si("insulation_Mohm"))

    def _block(self, circuit: Circuit, n: int) -> None:
        heat = SPECIFIC_HEAT_J_PER_KG_K[self.block]
        circuit.walls[self.name] = (self.block_kg * heat, circuit.site.room_K)
        still, flowing = (self.conductance_W_per_K(flow) / n for flow in (0.0, REFERENCE_KG_PER_S))
        for k in range(n):
            circuit.links.append(
                Link(
                    "flow",
                    self.name,
                    self.at(f"cell{k}"),
                    still,
                    sqrt(flowing * flowing - still * still),
                    REFERENCE_KG_PER_S,
                    at=self.at(f"cell{min(k, n - 2)}"),
                )
            )
        circuit.links.append(Link("fixed", self.name, "room", self.frame_W_per_K))
        loss = room_loss_coefficients(self.surface_m2, 0.06, 0.3, "horizontal_cylinder")
        bare = 1.0 - self.insulation_share
        circuit.links.append(
            Link("room", self.name, "room", loss.convection_W_per_K_1_25 * bare, 0.3 * self.surface_m2 * bare)
        )

    def conductance_W_per_K(self, flow_kg_per_s: float) -> float:
        """Heat from block to water through the whole channel and its scale, at a flow, by the laws."""
        bore, length = self.si("channel_mm"), self.si("length_mm")
        scale = self.si("scale_mm") / (SCALE_W_PER_M_K * pi * bore * length)
        return 1.0 / (1.0 / channel_conductance_W_per_K(flow_kg_per_s, bore, length) + scale)
