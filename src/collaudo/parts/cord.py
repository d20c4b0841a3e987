"""Mains cord."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.parts.circuit import Circuit
from collaudo.parts.conductors import WAYS, Conductors
from collaudo.parts.part import choice, quantity

# Of copper at 20 degC (IEC 60228: 1.5 mm2 finely stranded 13.3 ohm/km, 2.5 mm2 7.98): 0.02 ohm mm2/m.
OHM_MM2_PER_M = 0.01995


@dataclass(frozen=True)
class Cord(Conductors):
    """Copper conductors in one sheath; breaks where it bends, at the plug and where it enters."""

    kind = "cord"
    text = "brings the current from the plug to the machine"
    customer = "the mains cable"
    fails = "breaks inside where it bends: dead, or dead when it is moved; a broken earth shows nothing"
    length_m: float = quantity(1.5, 0.2, 20.0, "length")
    core_mm2: float = quantity(1.5, 0.5, 10.0, "cross-section of each conductor")
    joint_ohm: float = quantity(0.0, 0.0, 1e6, "resistance of a bad joint in its live conductor")
    broken: str = choice("none", ("none", *WAYS), "conductor that is broken")

    def conductor_ohm(self) -> float:
        """Resistance [ohm] of one conductor from end to end at 20 degC, by IEC 60228."""
        return OHM_MM2_PER_M * self.length_m / self.core_mm2

    def describe(self, circuit: Circuit) -> None:
        """A closed way for each conductor."""
        ohm = self.conductor_ohm()
        self.lead(circuit, (ohm + self.joint_ohm, ohm, ohm, ohm, ohm), self.broken)
