"""Plug and socket."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.parts.circuit import Circuit
from collaudo.parts.conductors import WAYS, Conductors
from collaudo.parts.part import choice, quantity


@dataclass(frozen=True)
class Plug(Conductors):
    """The pins of a plug in their socket; a loose or scorched one has some ohm and grows hot.

    At 6 A half an ohm makes 18 W: it browns, then melts.
    """

    kind = "plug"
    text = "joins the machine to the mains"
    customer = "the plug"
    fails = "sits loose, browns and melts: smell, low voltage at the element, then dead"
    live_ohm: float = quantity(0.01, 0.0, 1e6, "resistance at its live pin; some ohm when scorched")
    neutral_ohm: float = quantity(0.01, 0.0, 1e6, "resistance at its neutral pin; some ohm when scorched")
    earth_ohm: float = quantity(0.01, 0.0, 1e6, "resistance at its earth pin")
    broken: str = choice("none", ("none", *WAYS), "pin that touches nothing")

    def describe(self, circuit: Circuit) -> None:
        """A closed way for each pin."""
        live = self.live_ohm
        self.lead(circuit, (live, self.neutral_ohm, self.earth_ohm, live, live), self.broken)
