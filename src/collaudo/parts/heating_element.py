"""Immersed heating element."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.laws.electric import element_resistance_ohm
from collaudo.parts.circuit import Circuit, Link, Load
from collaudo.parts.part import Part, quantity, reference


@dataclass(frozen=True)
class HeatingElement(Part):
    """Resistance wire in a tube under the water; never energised uncovered."""

    kind = "heating_element"
    text = "heats the boiler"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    power_W: float = quantity(1400.0, 50.0, 9000.0, "power at rated voltage")
    in_boiler: str = reference("boiler", ("boiler", "brew_boiler"), "boiler it heats")
    scale_mm: float = quantity(0.0, 0.0, 10.0, "limescale on it")
    resistance_factor_share: float = quantity(1.0, 0.2, 50.0, "resistance against that of a sound one")
    mass_kg: float = quantity(0.35, 0.05, 5.0, "mass of the element")
    covered_from_share: float = quantity(0.12, 0.0, 1.0, "level at which it begins to be covered")
    covered_share: float = quantity(0.32, 0.0, 1.0, "level at which it is wholly covered")

    def describe(self, circuit: Circuit) -> None:
        """A heated wall, coupled to the lower layer by its wetted share; scale of 2.2 W/(m K) between."""
        circuit.walls[self.name] = (self.mass_kg * 420.0, circuit.site.room_K)
        area = self.power_W / 6.0e4
        clean = 1.0 / (3000.0 * area)
        resistance = clean + self.si("scale_mm") / (2.2 * area)
        circuit.links.append(
            Link(
                "wetted",
                self.name,
                f"{self.in_boiler}.lower",
                1.0 / resistance,
                0.01,
                self.covered_from_share,
                self.covered_share,
                at=self.in_boiler,
            )
        )
        ohm = element_resistance_ohm(self.power_W, circuit.rated_V) * self.resistance_factor_share
        circuit.heaters.append((self.name, self.name, ohm))
        circuit.loads.append(Load(self.name, self.at("live"), self.at("neutral"), ohm))
