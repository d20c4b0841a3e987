"""Mains inlet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Source
from collaudo.parts.part import Part, choice, quantity

PHASE_DEG = {"live": 0.0, "live_2": -120.0, "live_3": 120.0}
"""Angle of each phase."""


@dataclass(frozen=True)
class Mains(Part):
    """Conductors of the supply, and the voltage the plate names: of one phase against neutral.

    Between two of three phases stand 1.73 times as much, 400 V at 230 V.
    """

    kind = "mains"
    text = "brings the current"
    customer = "the electricity supply"
    fails = "sags, loses a phase or its neutral: slow to heat, half dead or dead"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "earth", "live_2", "live_3")
    open_terminals: ClassVar[tuple[str, ...]] = ("earth", "live_2", "live_3")
    rated_V: float = quantity(230.0, 90.0, 420.0, "voltage on the plate, of live against neutral")
    rated_Hz: float = quantity(50.0, 50.0, 60.0, "frequency on the plate")
    phases: str = choice("one", ("one", "three"), "how many phases it has")
    lost: str = choice("none", ("none", *PHASE_DEG, "neutral"), "conductor that brings nothing")

    def describe(self, circuit: Circuit) -> None:
        """The supply; must be described first, for the element's resistance is reckoned from it."""
        circuit.rated_V, circuit.rated_Hz = self.rated_V, self.rated_Hz
        circuit.sources += [
            Source(self._end("live"), 1.0),
            Source(self._end("neutral")),
            Source(self.at("earth")),
        ]
        if self.phases == "three":
            circuit.sources += [Source(self._end(x), 1.0, PHASE_DEG[x]) for x in ("live_2", "live_3")]

    def _end(self, conductor: str) -> str:
        """Its terminal; of a lost conductor one that nothing is joined to."""
        return self.at(f"lost_{conductor}" if conductor == self.lost else conductor)
