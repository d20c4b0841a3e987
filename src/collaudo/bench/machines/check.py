"""Whether a text can be the file of a machine of one's own: all that is wrong, and what it would be."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.bench.machines.shelf import ENDING, LONGEST_ID, Shelf
from collaudo.drawing.portrait.features import features_of
from collaudo.drawing.portrait.front import portrait
from collaudo.drawing.portrait.words import told
from collaudo.errors import MachineFileError, Problem
from collaudo.machine.library import library_ids
from collaudo.machine.load import read_machine
from collaudo.machine.model import Machine

TAKEN = ("compare", "import", "new", "removed")
"""Words that name something else where machines are named."""
DEVICES = ("aux", "con", "nul", "prn", *(f"{word}{n}" for word in ("com", "lpt") for n in range(10)))
"""Names under which some systems can keep no file."""
DRAFT = "this file"


@dataclass(frozen=True)
class CheckedText:
    """What a text means; ``problems`` are in the order of the file."""

    problems: tuple[Problem, ...]
    id: str = ""
    title: str = ""
    like: str = ""
    """Id of the machine it is like."""
    has: tuple[str, ...] = ()
    """What its portrait shows."""
    svg: str = ""
    """Its portrait."""


def check_text(shelf: Shelf, text: str, *, machine: str = "") -> CheckedText:
    """Read a text as a machine of one's own; ``machine`` is the id it must keep, where it has one."""
    try:
        built = read_own(shelf, text, machine=machine)
    except MachineFileError as fault:
        return CheckedText(fault.problems)
    seen = features_of(built)
    return CheckedText(
        (), built.id, built.title, shelf.likes(text, DRAFT), tuple(told(seen)), portrait(built)
    )


def read_own(shelf: Shelf, text: str, *, machine: str = "") -> Machine:
    """The machine of a text; `MachineFileError` with everything that is wrong."""
    name = f"{machine}{ENDING}" if machine else DRAFT
    shelf.fence(text, name)
    built = read_machine(text, name=name, folder=shelf.folder)
    if problem := id_problem(built.id, machine):
        raise MachineFileError(Problem(problem.message, problem.remedy, name, _line_of_id(text)))
    return built


def id_problem(word: str, machine: str = "") -> Problem | None:
    """What is wrong with an id for a machine of one's own; None where it can be one."""
    if machine and word != machine:
        return Problem(f"machine: {word[:60]!r}, but this is the file of {machine}", f"write {machine}")
    if word in library_ids():
        return Problem(f"machine: {word!r} is one of the library", "give it another id")
    if word in TAKEN or word in DEVICES:
        return Problem(f"machine: {word!r} means something else here", "give it another id")
    if len(word) > LONGEST_ID:
        return Problem("machine: the id is too long", f"at most {LONGEST_ID} letters")
    return None


def _line_of_id(text: str) -> int:
    lines = enumerate(text.splitlines(), 1)
    return next((n for n, line in lines if line.startswith("machine:")), 0)
