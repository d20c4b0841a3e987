"""Switch worked by hand or by the lever."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Contact, Device
from collaudo.parts.part import Part, quantity, word


@dataclass(frozen=True)
class Switch(Part):
    """Closes when the hand or lever it belongs to stands beyond a point."""

    kind = "switch"
    text = "closes a circuit by hand or lever"
    customer = "switches on and off what it belongs to"
    fails = "burns or breaks its contact, and what it switches stays dead or stays on"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    worked_by: str = word("power", "lever or hand that works it")
    closes_at_share: float = quantity(0.5, 0.01, 1.5, "position at which it closes")

    def describe(self, circuit: Circuit) -> None:
        """An input device and its contact."""
        circuit.inputs.setdefault(self.worked_by, 0.0)
        circuit.devices.append(Device(self.name, "input", input=self.worked_by, high=self.closes_at_share))
        circuit.contacts.append(Contact(self.name, self.at("a"), self.at("b"), Command("device", self.name)))
