"""Chamber between inlet valve and screen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Cell, Circuit, Link, Vessel, VesselPort
from collaudo.parts.part import Part, quantity, reference


@dataclass(frozen=True)
class BrewChamber(Part):
    """Pre-infusion chamber, head-space and pores of the coffee: all that must fill before the first drop."""

    kind = "brew_chamber"
    text = "fills first and lets the coffee swell"
    customer = "wets the coffee gently before the full pressure comes"
    fails = "furs up or greases up, and the coffee is wetted unevenly"
    ports: ClassVar[tuple[str, ...]] = ("in", "screen", "exhaust")
    open_ports: ClassVar[tuple[str, ...]] = ("exhaust",)
    volume_ml: float = quantity(44.0, 5.0, 200.0, "volume to fill before the first drop")
    in_group: str = reference("group", ("circulation_group", "bolted_group"), "group it sits in")
    body_W_per_K: float = quantity(55.0, 0.5, 200.0, "from its water to the group's body")
    entry_share: float = quantity(
        0.9,
        0.03,
        0.97,
        "level its inlet opens at; about 0.7 where a three-way valve also empties it by there",
    )

    def describe(self, circuit: Circuit) -> None:
        """A vessel that holds air when at rest."""
        volume = self.si("volume_ml")
        circuit.vessels[self.name] = Vessel(
            self.name,
            [Cell("water", volume)],
            [],
            compliance_m3_per_Pa=3.0e-13,
            gas_floor=1e-3,
            water_m3=0.02 * volume,
            metal_J_per_K=15.0,
            height_m=0.03,
        )
        circuit.ports[self.at("in")] = VesselPort(self.name, 0, self.entry_share)
        circuit.ports[self.at("screen")] = VesselPort(self.name, 0, 0.5)
        circuit.ports[self.at("exhaust")] = VesselPort(self.name, 0, 0.7)
        circuit.links.append(Link("fixed", f"{self.name}.water", self.in_group, self.body_W_per_K))
