"""Which stands there are: opened when first asked for, shared by all who watch, put away when nobody does."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.running.layout import Layout, layout_of
from collaudo.bench.running.source import Source
from collaudo.bench.running.stand import Stand
from collaudo.bench.running.twin_ready import make_ready, twin_is_compiled
from collaudo.errors import InputError, Problem, unknown_name
from collaudo.web.running.stand_thread import StandThread

MOST_STANDS = 6
LEFT_ALONE_s = 120.0
"""A stand that nobody has watched for so long makes room for another."""
TO_END_s = 1.0
"""So long the end of the server waits for them."""
OWN = "~"
"""Between the machine's id and the number of a stand of one's own."""


@dataclass(frozen=True)
class StandState:
    """A stand that is open."""

    stand: str
    machine: str
    title: str
    ready: bool
    clients: int
    """How many watch it."""


class Keeper:
    """Keeps the stands of one server."""

    def __init__(self, data: Path) -> None:
        self._shelf = Shelf(data)
        self._stands: dict[str, StandThread] = {}
        self._lock = threading.Lock()

    def states(self) -> list[StandState]:
        """Every stand that is open."""
        with self._lock:
            stands = list(self._stands.values())
        return [
            StandState(one.name, machine_of(one.name), one.title, one.opened.is_set(), one.hub.count)
            for one in stands
        ]

    def stand(self, name: str) -> StandThread:
        """The stand called so; the shared one of a machine is opened when it is not there yet.

        `UnknownNameError` for no machine and for a stand of one's own that is gone; `InputError` where as
        many are open as can be.
        """
        with self._lock:
            if name in self._stands:
                return self._stands[name]
            if OWN in name:
                remedy_names = [*self._stands, machine_of(name)]
                raise unknown_name("stand", name[:60], remedy_names)
            return self._open(name, name)

    def open_own(self, machine: str) -> StandThread:
        """A stand of one's own: the next number that is free."""
        with self._lock:
            number = 2
            while f"{machine}{OWN}{number}" in self._stands:
                number += 1
            return self._open(f"{machine}{OWN}{number}", machine)

    def put_away(self, name: str) -> None:
        """End a stand that nobody watches; `InputError` where somebody does."""
        with self._lock:
            if name not in self._stands:
                raise unknown_name("stand", name[:60], self._stands or ["(none is open)"])
            stand = self._stands[name]
            if stand.hub.count:
                raise InputError(Problem(f"{name} is being watched", "close the pages that show it first"))
            del self._stands[name]
        stand.end()

    def close(self) -> None:
        """End all."""
        with self._lock:
            stands = list(self._stands.values())
            self._stands.clear()
        for stand in stands:
            stand.end()
        end = time.monotonic() + TO_END_s
        for stand in stands:
            stand.ended(end - time.monotonic())

    def _open(self, name: str, machine: str) -> StandThread:
        self._shelf.place_of(machine)  # before anything is put away for it
        if len(self._stands) >= MOST_STANDS and not self._make_room():
            names = ", ".join(self._stands)
            message = f"{MOST_STANDS} machines run already: {names}"
            raise InputError(Problem(message, "put one away that nobody watches, then open this one"))
        found = StandThread(name, _opener(self._shelf, name), self._gone)
        self._stands[name] = found
        return found

    def _make_room(self) -> bool:
        """Put away the stand that nobody has watched for longest; whether there was one."""
        stands = self._stands.values()
        longest = max(stands, key=lambda one: one.unwatched_s)
        if longest.unwatched_s < LEFT_ALONE_s:
            return False
        del self._stands[longest.name]
        longest.end()
        return True

    def _gone(self, stand: StandThread) -> None:
        """A thread has ended by itself; a stand that could not be opened stays until it is asked for."""
        if stand.fault is None:
            with self._lock:
                if self._stands.get(stand.name) is stand:
                    del self._stands[stand.name]

    def forget(self, stand: StandThread) -> None:
        """Forget a stand that could not be opened, once whoever asked has been told why."""
        with self._lock:
            if self._stands.get(stand.name) is stand:
                del self._stands[stand.name]


def machine_of(stand: str) -> str:
    """The machine that stands there."""
    return stand.partition(OWN)[0]


def _opener(shelf: Shelf, name: str) -> Callable[[], tuple[Stand, Layout]]:
    def opened() -> tuple[Stand, Layout]:
        source = Source(shelf, machine_of(name))
        source.machine()  # what is wrong with the file is said before the twin is made ready
        if not twin_is_compiled():
            make_ready()
        stand = Stand(source)
        return stand, layout_of(stand, name, of_one_own=OWN in name)

    return opened
