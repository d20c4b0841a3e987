"""Mains filter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import ALWAYS, Circuit, Resistor
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity

_MILLIONTH = 1e-6
_SHORTED_OHM = 1.0


@dataclass(frozen=True)
class MainsFilter(Part):
    """Chokes in live and neutral, and small capacitors from each to earth, for the neighbours' radio.

    The capacitors to earth (2.2 to 4.7 nF; common practice, no source) leak 0.16 to 0.34 mA each at 230 V and
    50 Hz: the one that stands at neutral leaks nothing.
    """

    kind = "mains_filter"
    text = "keeps the switching noise out of the mains; leaks a little to earth by design"
    customer = "keeps the machine from disturbing radio and television"
    fails = "cracks or shorts a capacitor and trips the residual-current device, or burns open"
    terminals: ClassVar[tuple[str, ...]] = ("live_in", "live_out", "neutral_in", "neutral_out", "earth")
    capacitor_uF: float = quantity(0.0033, 0.0, 0.1, "each capacitor to earth: 0.0033 uF are 3.3 nF")
    choke_ohm: float = quantity(0.05, 0.0, 10.0, "resistance of each choke")
    live_capacitor: str = choice("sound", ("sound", "shorted"), "what is wrong with that at live")
    state: str = choice("sound", ("sound", "open"), "whether its live choke conducts")

    def describe(self, circuit: Circuit) -> None:
        """Two closed ways, two capacitors."""
        live = self.at("live_in"), self.at("live_out")
        neutral = self.at("neutral_in"), self.at("neutral_out")
        circuit.contacts.append(moved_contact(self.name, live, ALWAYS, self.state, self.choke_ohm))
        circuit.contacts.append(moved_contact(self.name, neutral, ALWAYS, ohm=self.choke_ohm))
        farad = max(self.capacitor_uF * _MILLIONTH, 1e-15)
        shorted = self.live_capacitor == "shorted"
        earth = self.at("earth")
        circuit.resistors.append(Resistor(self.name, live[1], earth, _SHORTED_OHM, 0.0 if shorted else farad))
        circuit.resistors.append(Resistor(self.name, neutral[1], earth, _SHORTED_OHM, farad))
