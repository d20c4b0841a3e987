"""Lever of the group."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.parts.circuit import Circuit
from collaudo.parts.part import Part


@dataclass(frozen=True)
class Lever(Part):
    """Input 0 (down) to 1 (up)."""

    kind = "lever"
    text = "opens the way to the coffee and starts the pump"
    customer = "starts your coffee"
    fails = "wears at its spindle and drips, or no longer reaches the switch"

    def describe(self, circuit: Circuit) -> None:
        """An input."""
        circuit.inputs.setdefault(self.name, 0.0)
