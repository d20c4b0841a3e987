"""Mains inlet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Source
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class Mains(Part):
    """Live and neutral of the plug, and the voltage the plate names."""

    kind = "mains"
    text = "brings the current"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "earth")
    rated_V: float = quantity(230.0, 90.0, 420.0, "voltage on the plate")
    rated_Hz: float = quantity(50.0, 50.0, 60.0, "frequency on the plate")

    def describe(self, circuit: Circuit) -> None:
        """The supply; must be described first, for the element's resistance is reckoned from it."""
        circuit.rated_V, circuit.rated_Hz = self.rated_V, self.rated_Hz
        circuit.sources += [
            Source(self.at("live"), 1.0),
            Source(self.at("neutral")),
            Source(self.at("earth")),
        ]
