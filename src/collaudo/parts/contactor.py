"""Contactor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device
from collaudo.parts.coils import coil
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity

STATES = ("sound", "welded", "open")


@dataclass(frozen=True)
class Contactor(Part):
    """A coil that pulls up to three contacts, for currents a pressure switch would not stand."""

    kind = "contactor"
    text = "switches the element's current where a small contact would burn"
    customer = "switches the heating"
    fails = "welds, burns one of its contacts or loses its coil: too hot, slow to heat, or cold"
    terminals: ClassVar[tuple[str, ...]] = ("coil_a", "coil_b", "a1", "b1", "a2", "b2", "a3", "b3")
    open_terminals: ClassVar[tuple[str, ...]] = ("a2", "b2", "a3", "b3")
    coil_ohm: float = quantity(1500.0, 10.0, 8000.0, "resistance of its coil when cold")
    contact_1: str = choice("sound", STATES, "what is wrong with its first contact")
    contact_2: str = choice("sound", STATES, "what is wrong with its second contact")
    contact_3: str = choice("sound", STATES, "what is wrong with its third contact")

    def describe(self, circuit: Circuit) -> None:
        """A coil and three contacts that follow it."""
        ends = self.at("coil_a"), self.at("coil_b")
        circuit.loads.append(coil(self.name, *ends, self.coil_ohm, circuit))
        circuit.devices.append(Device(self.name, "relay", load=self.name))
        acts = Command("device", self.name)
        for number, state in enumerate((self.contact_1, self.contact_2, self.contact_3), 1):
            pole = self.at(f"a{number}"), self.at(f"b{number}")
            circuit.contacts.append(moved_contact(self.name, pole, acts, state))
