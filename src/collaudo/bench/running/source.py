"""Where the machine of a stand comes from: a file that may be edited while it runs."""

from __future__ import annotations

import time
from contextlib import suppress

from collaudo.bench.machines.handle import Machine
from collaudo.bench.machines.shelf import Shelf
from collaudo.errors import InputError

LOOKED_AT_EVERY_s = 2.0


class Source:
    """Opens a machine of a shelf, and sees whether its file, or one it is like, has another text since."""

    def __init__(self, shelf: Shelf, machine: str) -> None:
        self._shelf = shelf
        self._machine = machine
        self._text = b""
        self._changed = False
        self._due_s = 0.0

    def machine(self) -> Machine:
        """The machine as it lies there now; `InputError` where it cannot be used."""
        text = self._shelf.text_of(self._machine)
        found = Machine.named(self._shelf.place_of(self._machine))
        self._text, self._changed = text, False
        return found

    def changed(self) -> bool:
        """Whether another text lies there than when the machine was opened; looked at now and then."""
        now_s = time.monotonic()
        if now_s >= self._due_s:
            self._due_s = now_s + LOOKED_AT_EVERY_s
            with suppress(InputError, OSError):  # removed: what runs goes on
                self._changed = self._shelf.text_of(self._machine) != self._text
        return self._changed
