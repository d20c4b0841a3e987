"""Which machines can be chosen: those of the library, then one's own, each by its id and title."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from collaudo.bench.machines.shelf import Shelf
from collaudo.diagnosis.cache import machine_bytes
from collaudo.errors import CollaudoError
from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine


@dataclass(frozen=True)
class Choice:
    """One machine that can be chosen."""

    id: str
    title: str
    own: bool
    """Whether it is one's own, not of the library."""


def machines_to_choose(shelf: Shelf) -> list[Choice]:
    """Every machine; one of one's own whose file cannot be used is left out, for its own page says why."""
    library = [Choice(name, _title(name, machine_bytes(name)), own=False) for name in library_ids()]
    own = []
    for name in shelf.own_ids():
        try:
            place = shelf.place_of(name)
            own.append(Choice(name, _title(place, machine_bytes(place)), own=True))
        except (CollaudoError, OSError):
            continue
    return [*library, *own]


@lru_cache(maxsize=128)
def _title(place: str, contents: bytes) -> str:
    del contents  # read again when they are others
    return find_machine(place).title
