"""What leads the supply's conductors from one place to the next, each with its resistance."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from collaudo.parts.circuit import ALWAYS, Circuit
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part

WAYS = ("live", "neutral", "earth", "live_2", "live_3")
TERMINALS = tuple(f"{way}_{end}" for way in WAYS for end in ("in", "out"))
OPEN_TERMINALS = tuple(f"{way}_{end}" for way in ("earth", "live_2", "live_3") for end in ("in", "out"))


class Conductors(Part):
    """Live, neutral and earth, and two more lives for three phases."""

    terminals: ClassVar[tuple[str, ...]] = TERMINALS
    open_terminals: ClassVar[tuple[str, ...]] = OPEN_TERMINALS

    def lead(self, circuit: Circuit, ohms: Iterable[float], broken: str) -> None:
        """A closed way for each conductor, with its resistance [ohm]; the ``broken`` one is open."""
        for way, ohm in zip(WAYS, ohms, strict=True):
            ends = self.at(f"{way}_in"), self.at(f"{way}_out")
            state = "open" if way == broken else "sound"
            circuit.contacts.append(moved_contact(self.name, ends, ALWAYS, state, ohm))
