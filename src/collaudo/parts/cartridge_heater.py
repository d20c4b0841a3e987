"""Heating cartridge in a group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.laws.electric import element_resistance_ohm
from collaudo.parts.circuit import Circuit, Link, Load
from collaudo.parts.insulation import add_insulation
from collaudo.parts.part import Part, quantity, reference


@dataclass(frozen=True)
class CartridgeHeater(Part):
    """Resistance wire in a steel sleeve, pushed into a bore of the group's body."""

    kind = "cartridge_heater"
    text = "heats the group's body directly"
    customer = "warms the part that holds your coffee"
    fails = "burns out or sits loose in its bore, and the group stays cold"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "body")
    open_terminals: ClassVar[tuple[str, ...]] = ("body",)
    power_W: float = quantity(150.0, 20.0, 1000.0, "power at rated voltage")
    heats: str = reference("group", ("bolted_group",), "group it sits in")
    resistance_factor_share: float = quantity(1.0, 0.2, 50.0, "resistance against that of a sound one")
    mass_kg: float = quantity(0.06, 0.005, 1.0, "mass of the cartridge")
    contact_W_per_K: float = quantity(8.0, 0.05, 100.0, "through the paste between sleeve and bore")

    insulation_Mohm: float = quantity(300.0, 1e-4, 1e4, "from its wire to the metal around it")

    def describe(self, circuit: Circuit) -> None:
        """A heated wall that leads into the body."""
        circuit.walls[self.name] = (self.mass_kg * 500.0, circuit.site.room_K)
        circuit.links.append(Link("fixed", self.name, self.heats, self.contact_W_per_K))
        ohm = element_resistance_ohm(self.power_W, circuit.rated_V) * self.resistance_factor_share
        circuit.heaters.append((self.name, self.name, ohm))
        circuit.loads.append(Load(self.name, self.at("live"), self.at("neutral"), ohm))
        add_insulation(circuit, self.name, self.si("insulation_Mohm"))
