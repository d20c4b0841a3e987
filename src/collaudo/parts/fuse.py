"""Fuse."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class Fuse(Part):
    """A wire that melts for good at too large a current. Replaced by its like, once the reason is known.

    It melts within half an hour at 2.1 times its rating (IEC 60127-2, from memory), within seconds beyond:
    here at once.
    """

    kind = "fuse"
    text = "melts at too large a current; replaced by its like, once the reason is found"
    customer = "switches the machine off before a cable burns"
    fails = "has melted, and what lies behind it is dead"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    rated_A: float = quantity(10.0, 0.05, 63.0, "current printed on it")
    melts_at_factor_share: float = quantity(2.1, 1.1, 20.0, "current at which it melts, against its rating")
    blown: str = choice("no", ("no", "yes"), "whether it has melted")

    def describe(self, circuit: Circuit) -> None:
        """A device on the current through it; about 0.1 V is lost over it at its rating."""
        melts_A = self.melts_at_factor_share * self.rated_A
        circuit.devices.append(Device(self.name, "overcurrent", high=melts_A))
        ends = self.at("a"), self.at("b")
        acts = Command("device_off", self.name)
        state = "open" if self.blown == "yes" else "sound"
        circuit.contacts.append(moved_contact(self.name, ends, acts, state, ohm=0.1 / self.rated_A))
