"""Immersed heating element."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.errors import QuantityError
from collaudo.laws.electric import element_resistance_ohm
from collaudo.parts.circuit import Circuit, Link, Load
from collaudo.parts.contacts import OPEN_OHM
from collaudo.parts.insulation import add_insulation
from collaudo.parts.part import Part, choice, quantity, reference

LEG_STATES = ("sound", "open")


@dataclass(frozen=True)
class HeatingElement(Part):
    """Resistance wire in a tube under the water; never energised uncovered.

    Large ones have up to three legs, each with ends of its own: how they are wired makes star, delta or one
    phase. Damp in the filling leads from a place on the first leg to the tube, its ``body``.
    """

    kind = "heating_element"
    text = "heats the boiler"
    customer = "heats the water"
    fails = "breaks, loses a leg, furs up or grows damp: cold, slow, or trips the residual-current device"
    terminals: ClassVar[tuple[str, ...]] = (
        "live",
        "neutral",
        "body",
        "live_2",
        "neutral_2",
        "live_3",
        "neutral_3",
    )
    open_terminals: ClassVar[tuple[str, ...]] = terminals[2:]
    power_W: float = quantity(1400.0, 50.0, 9000.0, "power of all legs at rated voltage")
    in_boiler: str = reference("boiler", ("boiler", "brew_boiler"), "boiler it heats")
    scale_mm: float = quantity(0.0, 0.0, 10.0, "limescale on it")
    resistance_factor_share: float = quantity(1.0, 0.2, 50.0, "resistance against that of a sound one")
    mass_kg: float = quantity(0.35, 0.05, 5.0, "mass of the element")
    covered_from_share: float = quantity(0.12, 0.0, 1.0, "level at which it begins to be covered")
    covered_share: float = quantity(0.32, 0.0, 1.0, "level at which it is wholly covered")
    legs_count: float = quantity(1.0, 1.0, 3.0, "how many legs it has")
    leg_V: float = quantity(0.0, 0.0, 480.0, "voltage each leg is made for; 0: that of the plate")
    leg_1: str = choice("sound", LEG_STATES, "whether current can flow through its first leg")
    leg_2: str = choice("sound", LEG_STATES, "whether current can flow through its second leg")
    leg_3: str = choice("sound", LEG_STATES, "whether current can flow through its third leg")
    insulation_Mohm: float = quantity(300.0, 1e-4, 1e4, "from its wire to its tube; 0.01 and less when damp")
    damp_at_share: float = quantity(0.0, 0.0, 1.0, "where on its first leg, from live (0) to neutral (1)")

    def loads(self) -> list[str]:
        """Names of its legs' loads; the first is called like the element. `QuantityError`: half a leg."""
        if self.legs_count != round(self.legs_count):
            raise QuantityError(f"{self.name} has {self.legs_count:g} legs -- give it 1, 2 or 3")
        names = [self.name, f"{self.name}.leg_2", f"{self.name}.leg_3"]
        return names[: round(self.legs_count)]

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
        self._describe_legs(circuit)
        add_insulation(circuit, self.name, self.si("insulation_Mohm"), self.damp_at_share)

    def _describe_legs(self, circuit: Circuit) -> None:
        names = self.loads()
        ohm = element_resistance_ohm(self.power_W / len(names), self.leg_V or circuit.rated_V)
        ohm *= self.resistance_factor_share
        states = (self.leg_1, self.leg_2, self.leg_3)
        for name, state, end in zip(names, states, ("", "_2", "_3"), strict=False):
            leg = OPEN_OHM if state == "open" else ohm
            circuit.heaters.append((self.name, name, leg))
            circuit.loads.append(Load(name, self.at(f"live{end}"), self.at(f"neutral{end}"), leg))
