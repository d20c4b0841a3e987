"""Selector of several positions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity, word

STATES = ("sound", "welded", "open")


@dataclass(frozen=True)
class Selector(Part):
    """A knob or a row of keys that joins its common terminal to one of three others, or to none."""

    kind = "selector"
    text = "chooses which of three circuits has current"
    customer = "chooses what the machine does"
    fails = "burns a contact, and one of the things it chooses does not happen"
    terminals: ClassVar[tuple[str, ...]] = ("common", "first", "second", "third")
    open_terminals: ClassVar[tuple[str, ...]] = ("second", "third")
    worked_by: str = word("selector", "hand that works it")
    first_from_share: float = quantity(0.17, 0.0, 1.0, "position from which it joins the first")
    second_from_share: float = quantity(0.5, 0.0, 1.0, "position from which it joins the second")
    third_from_share: float = quantity(0.83, 0.0, 1.0, "position from which it joins the third")
    first_contact: str = choice("sound", STATES, "what is wrong with its first contact")
    second_contact: str = choice("sound", STATES, "what is wrong with its second contact")
    third_contact: str = choice("sound", STATES, "what is wrong with its third contact")

    def describe(self, circuit: Circuit) -> None:
        """A window of positions and a contact for each circuit."""
        circuit.inputs.setdefault(self.worked_by, 0.0)
        begins = (self.first_from_share, self.second_from_share, self.third_from_share, 1e9)
        states = (self.first_contact, self.second_contact, self.third_contact)
        for n, circuit_word in enumerate(("first", "second", "third")):
            device = f"{self.name}.{circuit_word}"
            low, high = begins[n : n + 2]
            circuit.devices.append(Device(device, "window", input=self.worked_by, low=low, high=high))
            ends = self.at("common"), self.at(circuit_word)
            circuit.contacts.append(moved_contact(self.name, ends, Command("device", device), states[n]))
