"""Which machines can be chosen, as every room offers them: one's own, then the library's, commonest first."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from collaudo.bench.machines.shelf import Shelf
from collaudo.checks.files import library_file
from collaudo.diagnosis.cache import machine_bytes
from collaudo.errors import CatalogueError, CollaudoError
from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine
from collaudo.machine.source import Problems, read_source, take_list, take_text


@dataclass(frozen=True)
class Choice:
    """One machine that can be chosen."""

    id: str
    title: str
    own: bool
    """Whether it is one's own, not of the library."""


def machines_to_choose(shelf: Shelf) -> list[Choice]:
    """Every machine; one of one's own whose file cannot be used is left out, for its own page says why."""
    own = []
    for name in shelf.own_ids():
        try:
            place = shelf.place_of(name)
            own.append(Choice(name, _title(place, machine_bytes(place)), own=True))
        except (CollaudoError, OSError):
            continue
    library = [Choice(name, _title(name, machine_bytes(name)), own=False) for name in commonest_first()]
    return [*own, *library]


@cache
def commonest_first() -> tuple[str, ...]:
    """Ids of the library as often as they come to a bench, by ``library/common_machines.yaml``."""
    name = "common_machines.yaml"
    root = read_source(library_file(name).read_bytes(), name=name, error=CatalogueError)
    problems = Problems()
    known = library_ids()
    order = [take_text(one, name, problems, known=tuple(known)) for one in take_list(root, name, problems)]
    problems.raise_if_any(CatalogueError)
    return (*(one for one in order if one), *(one for one in known if one not in order))


@lru_cache(maxsize=128)
def _title(place: str, contents: bytes) -> str:
    del contents  # read again when they are others
    return find_machine(place).title
