"""What is sent and asked about machines."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.bench.machines.check import CheckedText
from collaudo.bench.machines.form import MachineForm
from collaudo.bench.machines.new import Answer
from collaudo.web.asking.problems import ToldProblem, told_problems


@dataclass(frozen=True)
class BroughtBack:
    """Id of a machine that is there again."""

    machine: str


@dataclass(frozen=True)
class Checked:
    """What a text is as a machine file; ``problems`` is empty where it can be used."""

    problems: list[ToldProblem]
    id: str
    title: str
    like: str
    has: list[str]
    svg: str


@dataclass(frozen=True)
class FileText:
    """The text of a file, and a mark that changes with it."""

    machine: str
    text: str
    mark: str


@dataclass(frozen=True)
class Draft:
    """A text while it is written; ``machine``: the id of the file it will go into, where there is one."""

    text: str
    machine: str = ""


@dataclass(frozen=True)
class DraftToSave:
    """A text to be saved over the file that had ``mark``."""

    text: str
    mark: str


@dataclass(frozen=True)
class DraftToChange:
    """A text and changes: by ``part.field``, each with its unit (``9.5 bar``); null takes one out."""

    text: str
    changes: dict[str, str | None]
    machine: str = ""


@dataclass(frozen=True)
class Changed:
    """The text after the changes, its form, and what is wrong with it now."""

    text: str
    form: MachineForm
    checked: Checked


@dataclass(frozen=True)
class Place:
    """A place in a text: line from 1, column from 0."""

    text: str
    line: int
    column: int
    machine: str = ""


@dataclass(frozen=True)
class NewMachine:
    """A machine like another; answers by question, each with its unit."""

    like: str
    machine: str
    title: str
    answers: list[Answer]


@dataclass(frozen=True)
class PartTold:
    """One part."""

    name: str
    kind: str
    does: str
    fails: str


@dataclass(frozen=True)
class ValueTold:
    """One value, in ``unit``."""

    key: str
    value: float | str
    unit: str
    meaning: str
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Whole:
    """A machine with its parts and values."""

    id: str
    title: str
    parts: list[PartTold]
    values: list[ValueTold]


def told(checked: CheckedText) -> Checked:
    """As it is sent."""
    return Checked(
        told_problems(checked.problems),
        checked.id,
        checked.title,
        checked.like,
        list(checked.has),
        checked.svg,
    )
