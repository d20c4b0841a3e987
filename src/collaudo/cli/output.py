"""What every command prints with: answers to standard output, all else to standard error."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from typing import Any

CLEAR_LINE = "\r\033[K"
LEAST_TIMED = 2
"""Drawn machines that must be done before the time left is told: several are at work at once."""


def note(text: str) -> None:
    """Say something beside the answer."""
    print(text, file=sys.stderr, flush=True)


def print_json(value: Any) -> None:
    """Print an answer as JSON."""
    print(json.dumps(value, indent=2, allow_nan=False), flush=True)


class Progress:
    """A line on the terminal that tells how far the work is; nothing where no terminal looks on."""

    def __init__(self, doing: str) -> None:
        self.doing = doing
        self.shown = -1

    def __call__(self, time_s: float, total_s: float) -> None:
        """Tell that ``time_s`` of ``total_s`` are done."""
        percent = min(100, int(100 * time_s / total_s))
        if percent == self.shown or not sys.stderr.isatty():
            return
        self.shown = percent
        end = "\r" if percent < 100 else CLEAR_LINE
        print(f"{self.doing}: {percent} % of {total_s / 60:.0f} min", end=end, file=sys.stderr, flush=True)


class DrawProgress:
    """How many drawn machines are done and how long the rest will take.

    On a terminal one line that is written over; elsewhere a line whenever twice as many are done.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self.begun_s = 0.0
        self.begun_done = 0
        self.last = (-1, -1)
        self.told = 0

    def __call__(self, done: int, of: int) -> None:
        """Tell that ``done`` of ``of`` drawn machines are done."""
        if self.last[1] != of or done <= self.begun_done:
            self.begun_s, self.begun_done, self.told = self.clock(), done, 0
        if (done, of) == self.last:
            return
        self.last = (done, of)
        if sys.stderr.isatty():
            print(CLEAR_LINE + self._text(done, of), end="", file=sys.stderr, flush=True)
            if done >= of:
                self.clear()
        elif done == 0 or done >= 2 * self.told or done >= of:
            self.told = done
            note(self._text(done, of))

    def clear(self) -> None:
        """Take the line away, before something else is printed."""
        if sys.stderr.isatty():
            print(CLEAR_LINE, end="", file=sys.stderr, flush=True)

    def _text(self, done: int, of: int) -> str:
        made = done - self.begun_done
        if done >= of:
            left = "done"
        elif made < LEAST_TIMED:
            left = "drawing" if done else "drawing (the twin is compiled first if it is new)"
        else:
            left = f"{in_words((self.clock() - self.begun_s) / made * (of - done))} left"
        return f"signatures: {done} of {of} drawn machines, {left}"


def in_words(seconds: float) -> str:
    """A time as one says it: ``40 s``, ``3 min``, ``2 h``."""
    if seconds < 60.0:
        return f"{max(1, round(seconds))} s"
    if seconds < 90 * 60.0:
        return f"{round(seconds / 60.0)} min"
    return f"{seconds / 3600.0:.1f} h"


class Counting:
    """How many of how many are done, of whatever ``of_what`` says; nothing where no terminal looks on."""

    def __init__(self, of_what: str) -> None:
        self.of_what = of_what

    def __call__(self, done: int, of: int) -> None:
        """Tell that ``done`` of ``of`` are done."""
        if sys.stderr.isatty():
            end = "\r" if done < of else CLEAR_LINE
            print(f"{done} of {of} {self.of_what}", end=end, file=sys.stderr, flush=True)
