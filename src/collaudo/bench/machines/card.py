"""The machines at hand in a few words each, and one of them whole."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.bench.machines.choosing import commonest_first
from collaudo.bench.machines.portraits import portrait_of
from collaudo.bench.machines.shelf import Shelf
from collaudo.errors import InputError, Problem
from collaudo.machine.library import library_ids


@dataclass(frozen=True)
class Entry:
    """A machine in a few words."""

    id: str
    title: str
    has: tuple[str, ...]
    """What it is built of."""
    own: bool
    """Whether it is one's own, not of the library."""
    problems: tuple[Problem, ...] = ()
    """Why it cannot be used; empty where it can."""


def entries(shelf: Shelf) -> list[Entry]:
    """One's own machines, then those of the library, the commonest first."""
    own = [entry_of(shelf, machine) for machine in shelf.own_ids()]
    return own + [entry_of(shelf, machine) for machine in commonest_first()]


def entry_of(shelf: Shelf, machine: str) -> Entry:
    """One of them; a file that cannot be used says why."""
    own = machine not in library_ids()
    try:
        found = portrait_of(shelf.place_of(machine))
    except InputError as fault:
        return Entry(machine, machine, (), own, fault.problems)
    return Entry(machine, found.title, found.has, own)
