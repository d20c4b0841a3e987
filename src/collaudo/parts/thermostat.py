"""Snap-action thermostat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device, Lag
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity, reference
from collaudo.parts.sensing import FELT


@dataclass(frozen=True)
class Thermostat(Part):
    """A bimetal disc that snaps open when what it sits on is hot and back when it has cooled.

    For brewing it opens at 93 to 107, for steam at 127 to 145 degC; it closes 8 to 15 K below (common
    practice, no source). One that must be reset by hand is a `cut_out`.
    """

    kind = "thermostat"
    text = "switches the element off and on again to hold the temperature"
    customer = "keeps the water at its temperature"
    fails = "opens too early or welds shut, and the machine runs cold or until its cut-out acts"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    on: str = reference("brew_boiler", FELT, "what it touches")
    opens_degC: float = quantity(100.0, 40.0, 180.0, "temperature at which it opens")
    differential_K: float = quantity(10.0, 1.0, 60.0, "fall before it closes")
    lag_s: float = quantity(8.0, 0.5, 120.0, "time constant of its disc; longer without paste")
    contact_ohm: float = quantity(0.02, 0.0, 1e6, "resistance of the closed contact")
    state: str = choice("sound", ("sound", "welded", "open"), "what is wrong with its contact")

    def describe(self, circuit: Circuit) -> None:
        """A two-position device on the lagged temperature; its contact opens when it acts."""
        circuit.lags.append(Lag(self.name, "temperature", self.on, self.lag_s))
        opens = self.si("opens_degC")
        circuit.devices.append(
            Device(self.name, "two_position", "lag", self.name, high=opens, low=opens - self.differential_K)
        )
        ends = (self.at("a"), self.at("b"))
        acts = Command("device_off", self.name)
        circuit.contacts.append(moved_contact(self.name, ends, acts, self.state, self.contact_ohm))
