"""Brew jet."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.laws.orifice import LARGEST_LENGTH_RATIO, jet_coefficient
from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class BrewJet(Part):
    """A drilled jet before the group's inlet valve: it softens the rise of pressure at the coffee."""

    kind = "brew_jet"
    symbol = "orifice"
    text = "slows the water on its way to the coffee"
    customer = "lets the water come on gently"
    fails = "furs up, and the coffee only drips although the gauge shows full pressure"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    bore_mm: float = quantity(0.7, 0.02, 3.0, "bore")
    length_mm: float = quantity(0.8, 0.1, 10.0, "length of the bore")

    def describe(self, circuit: Circuit) -> None:
        """A throat with the discharge coefficient of a drilled orifice at Re 20,000."""
        bore = self.si("bore_mm")
        # Beyond the range of the correlation, in a bore nearly closed by scale, its end is as good a guess.
        ratio = min(self.length_mm / self.bore_mm, LARGEST_LENGTH_RATIO)
        coefficient = jet_coefficient(ratio, 2.0e4)
        circuit.members.append(
            Member(self.name, self.at("in"), self.at("out"), coefficient * 0.25 * pi * bore * bore)
        )
