"""Protective earth bond."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Resistor
from collaudo.parts.contacts import OPEN_OHM
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class EarthBond(Part):
    """The screw, lug and green-yellow wire that hold metalwork at earth. Never taken off a powered machine.

    From the plug's pin to metalwork 0.3 ohm at most, 0.1 and the cord's own (common practice, no source).
    """

    kind = "earth_bond"
    text = "holds the metalwork at earth; measured before and after every repair"
    customer = "leads stray current away from the metal you touch"
    fails = "loosens or rusts: nothing shows until something leaks, then the metal is live"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    bond_ohm: float = quantity(0.05, 0.001, 1e6, "resistance of the bond")
    state: str = choice("sound", ("sound", "open"), "whether it holds at all")

    def describe(self, circuit: Circuit) -> None:
        """A resistance that only leads."""
        ohm = OPEN_OHM if self.state == "open" else self.bond_ohm
        circuit.resistors.append(Resistor(self.name, self.at("a"), self.at("b"), ohm))
