"""Portafilter and what is in it."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.laws.bed import darcy_resistance
from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, choice, port_reference, quantity


@dataclass(frozen=True)
class Portafilter(Part):
    """Nothing fitted, an empty basket, a blind disc, a bed of coffee (Darcy), or a gauge behind a needle."""

    kind = "portafilter"
    text = "holds the coffee"
    customer = "holds the coffee"
    fails = "clogs in its basket or no longer seals at the rim, and water runs beside the coffee"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    holds: str = choice("nothing", ("nothing", "basket", "puck", "blind", "needle"), "what is fitted")
    permeability_m2: float = quantity(2.6e-15, 1e-17, 1e-11, "permeability of the bed")
    bed_mm: float = quantity(12.0, 1.0, 60.0, "depth of the bed")
    basket_mm: float = quantity(58.0, 20.0, 80.0, "bore of the basket")
    needle_mm: float = quantity(0.3, 0.05, 2.0, "bore of a gauge portafilter's needle valve: 2 g/s at 9 bar")
    below: str = port_reference(
        "brew_chamber.screen", ("brew_chamber", "spring_piston_group"), "port it is fitted under"
    )

    def describe(self, circuit: Circuit) -> None:
        """A throat, a bed, or a stopper; under coffee or needle the chamber fills before the first drop."""
        circuit.port_levels[self.below] = 0.03 if self.holds in ("nothing", "basket") else 0.94
        bed, bore = 0.0, 10.0e-3
        if self.holds == "puck":
            area = 0.25 * pi * self.si("basket_mm") ** 2
            bed, bore = darcy_resistance(self.permeability_m2, self.si("bed_mm"), area), 3.0e-3
        elif self.holds == "basket":
            bore = 4.0e-3
        elif self.holds == "needle":
            bore = self.si("needle_mm")
        elif self.holds == "blind":
            bore = 0.0
        circuit.members.append(
            Member(self.name, self.at("in"), self.at("out"), 0.7 * 0.25 * pi * bore * bore, bed_per_m3=bed)
        )
