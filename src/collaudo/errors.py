"""Everything collaudo raises on purpose.

    CollaudoError                 root: catch this to catch them all
    ├── InputError                something a person gave cannot be used; ``problems`` lists all
    │   ├── MachineFileError      a machine file, its parts, lines, wires or settings
    │   ├── FindingsFileError     a findings file
    │   ├── OperationsFileError   a session file or an operation in it
    │   ├── CatalogueError        a check or cause in the library
    │   └── UnknownNameError      a machine, part, check, unit … that does not exist (near misses named)
    ├── QuantityError             a number with a unit that does not fit or is not a number
    └── RunError                  the twin cannot go on: state, part and time are named

Messages say what is wrong, where, and what would be right.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


class CollaudoError(Exception):
    """Root of all errors raised on purpose."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong in a file: where it is, what is wrong and what would be right."""

    message: str
    remedy: str = ""
    file: str = ""
    line: int = 0
    """Line in the file, counted from 1; 0 where no line is known."""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}: " if self.line else (f"{self.file}: " if self.file else "")
        remedy = f" -- {self.remedy}" if self.remedy else ""
        return f"{place}{self.message}{remedy}"


class InputError(CollaudoError):
    """Something a person gave cannot be used. ``problems`` holds every problem found, not the first."""

    def __init__(self, problems: Problem | str | Iterable[Problem]) -> None:
        if isinstance(problems, str):
            problems = Problem(problems)
        if isinstance(problems, Problem):
            problems = [problems]
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class MachineFileError(InputError):
    """A machine file that cannot be used."""


class FindingsFileError(InputError):
    """A findings file that cannot be used."""


class OperationsFileError(InputError):
    """A session file, or an operation in it, that cannot be used."""


class CatalogueError(InputError):
    """A check or cause of the library that cannot be used."""


class UnknownNameError(InputError):
    """A name that does not exist where it was looked for."""


class QuantityError(CollaudoError):
    """A quantity that is no number, is not finite, or whose unit does not fit."""


class RunError(CollaudoError):
    """A run of the twin that cannot go on; names the state variable, the part and the time."""

    def __init__(self, message: str, *, state: str = "", part: str = "", time_s: float = 0.0) -> None:
        self.state = state
        self.part = part
        self.time_s = time_s
        super().__init__(message)


def near_misses(name: str, known: Iterable[str]) -> str:
    """A remedy naming the known words nearest to ``name`` (all of them when there are few)."""
    words = sorted(set(known))
    close = difflib.get_close_matches(name, words, n=3, cutoff=0.5)
    if close:
        return "did you mean " + " or ".join(repr(word) for word in close) + "?"
    if len(words) <= 12:
        return "known: " + ", ".join(words)
    return f"{len(words)} names are known, none is near"


def unknown_name(
    kind: str, name: str, known: Iterable[str], *, file: str = "", line: int = 0
) -> UnknownNameError:
    """The error for an unknown ``kind`` ("machine", "check" …) called ``name``."""
    return UnknownNameError(Problem(f"unknown {kind} {name!r}", near_misses(name, known), file, line))
