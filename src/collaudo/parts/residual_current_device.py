"""Residual-current device of the supply."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity

WAYS = ("live", "neutral", "live_2", "live_3")


@dataclass(frozen=True)
class ResidualCurrentDevice(Part):
    """Opens all conductors for good when more current leaves by the earth than it allows. Never bridged.

    One of 30 mA trips at 15 to 30, at 22 as a rule (common practice, no source). It is the building's; here
    it stands because what a machine does to it is how many earth faults are reported.
    """

    kind = "residual_current_device"
    text = "cuts the supply when current leaves to earth; never bridged"
    customer = "protects people from current that goes astray"
    fails = "trips at a damp element, at once or when that grows hot; it seldom fails itself"
    terminals: ClassVar[tuple[str, ...]] = tuple(f"{way}_{end}" for way in WAYS for end in ("in", "out"))
    open_terminals: ClassVar[tuple[str, ...]] = ("live_2_in", "live_2_out", "live_3_in", "live_3_out")
    trips_mA: float = quantity(22.0, 3.0, 500.0, "current to earth at which it really trips")
    state: str = choice("sound", ("sound", "open"), "whether it can be closed")

    def describe(self, circuit: Circuit) -> None:
        """A device that trips, and a contact in each conductor."""
        circuit.devices.append(Device(self.name, "residual", high=self.si("trips_mA")))
        acts = Command("device_off", self.name)
        for way in WAYS:
            ends = self.at(f"{way}_in"), self.at(f"{way}_out")
            circuit.contacts.append(moved_contact(self.name, ends, acts, self.state))
