"""Dip tube of a boiler."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.parts.circuit import Circuit
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class DipTube(Part):
    """A tube from the boiler's water outlet down into the water; broken off short it ends in the steam."""

    kind = "dip_tube"
    text = "reaches down so that water leaves and not steam"
    customer = "fetches the hot water from below"
    fails = "breaks off short, and steam spits where water should run"
    in_boiler: str = reference("boiler", ("boiler",), "boiler it stands in")
    reaches_share: float = quantity(0.15, 0.02, 0.98, "level its mouth stands at")
    state: str = choice("sound", ("sound", "broken"), "whether it still reaches down")
    broken_at_share: float = quantity(0.85, 0.02, 0.98, "level its mouth stands at when it is broken")

    def describe(self, circuit: Circuit) -> None:
        """The level of the boiler's water outlet."""
        level = self.reaches_share if self.state == "sound" else self.broken_at_share
        circuit.port_levels[f"{self.in_boiler}.water"] = level
