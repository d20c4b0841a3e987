"""Solid-state relay."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device, Load
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class SolidStateRelay(Part):
    """A relay without moving contact, for what switches many times a minute. It fails closed as a rule.

    Off it still leaks: a meter of 10 Mohm shows 40 to 150 V behind it when no load is joined (common
    practice, no source), and nothing once the element is.
    """

    kind = "solid_state_relay"
    text = "switches the element for the controller, without a moving contact"
    customer = "switches the heating"
    fails = "shorts, and the boiler heats until its cut-out acts; or opens, and it stays cold"
    terminals: ClassVar[tuple[str, ...]] = ("plus", "minus", "a", "b")
    control_kohm: float = quantity(30.0, 0.2, 200.0, "resistance of its control side")
    works_from_V: float = quantity(80.0, 2.0, 200.0, "control voltage from which it closes")
    leak_kohm: float = quantity(15_000.0, 20.0, 1e6, "what it leaks through when off; 70 with a snubber")
    state: str = choice("sound", ("sound", "shorted", "open"), "what is wrong with it")

    def describe(self, circuit: Circuit) -> None:
        """A load on the control side, and a contact that follows it and leaks."""
        plus, minus = self.at("plus"), self.at("minus")
        ohm = self.si("control_kohm")
        circuit.loads.append(Load(self.name, plus, minus, ohm, works_from_V=self.works_from_V))
        circuit.devices.append(Device(self.name, "relay", load=self.name))
        ends = (self.at("a"), self.at("b"))
        acts = Command("device", self.name)
        leak = self.si("leak_kohm")
        circuit.contacts.append(moved_contact(self.name, ends, acts, self.state, open_ohm=leak))
