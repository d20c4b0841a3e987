"""A machine of one's own like another: the questions, and the file that comes of the answers."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from collaudo.bench.machines.check import id_problem
from collaudo.bench.machines.handle import unit_in
from collaudo.bench.machines.own import own_machine, questions
from collaudo.bench.machines.shelf import ENDING, Shelf
from collaudo.bench.naming import part_in_words
from collaudo.errors import InputError, Problem, UnknownNameError
from collaudo.machine.load import MACHINE_ID


@dataclass(frozen=True)
class AskedQuestion:
    """One question, with how to know the answer."""

    key: str
    """``part.field``."""
    ask: str
    know: str
    part: str
    """As it is called."""
    unit: str
    """Suffix of the unit of the numbers."""
    usual: float
    """What the machine it is like has."""
    least: float
    most: float
    one_of: tuple[float, ...]


@dataclass(frozen=True)
class Answer:
    """An answer with its unit, ``1.1 bar``."""

    key: str
    text: str


def new_questions(shelf: Shelf, like: str) -> list[AskedQuestion]:
    """The questions about a machine like one of the library or one's own."""
    return [
        AskedQuestion(
            one.key,
            one.ask,
            one.know,
            part_in_words(one.part),
            unit_in(one.field) or (one.field if one.field == "pulses_per_ml" else ""),
            one.value,
            one.least,
            one.most,
            one.one_of,
        )
        for one in questions(shelf.place_of(like))
    ]


def new_text(shelf: Shelf, like: str, machine: str, title: str, answers: Sequence[Answer]) -> str:
    """The text of the file. `InputError` lists every answer that cannot be; each problem begins with the key
    of its question, with ``machine`` or with ``title``."""
    place, machine = shelf.place_of(like), machine.strip()
    if not re.fullmatch(MACHINE_ID, machine):
        said = (
            f"machine: {machine[:60]!r} is no short name" if machine else "machine: a short name is missing"
        )
        raise InputError(Problem(said, "small letters, digits and single hyphens, such as shop-left"))
    if problem := id_problem(machine) or _there(shelf, machine):
        raise InputError(problem)
    given = {"machine": machine, **({"title": title} if title.strip() else {})}
    file = str(shelf.folder / f"{machine}{ENDING}")
    problems = []
    for answer in answers:
        if problem := _problem(place, answer, file):
            problems.append(problem)
        given[answer.key] = answer.text
    if problems:
        raise InputError(problems)
    try:
        return own_machine(place, given, file=file).text
    except InputError as fault:
        raise InputError([_here(one) for one in fault.problems]) from None


def _problem(place: str, answer: Answer, file: str) -> Problem | None:
    """What is wrong with one answer by itself; None where nothing is."""
    try:
        own_machine(place, {answer.key: answer.text}, file=file)
    except UnknownNameError:
        raise
    except InputError as fault:
        alone = fault.problems[0]
        return _here(
            alone
            if alone.message.startswith(answer.key)
            else replace(alone, message=f"{answer.key}: {alone.message}")
        )
    return None


def _here(problem: Problem) -> Problem:
    """The file is not there yet: its name and lines would say nothing."""
    return replace(problem, file="", line=0)


def _there(shelf: Shelf, machine: str) -> Problem | None:
    if shelf.is_own(machine):
        return Problem(f"machine: there is a machine {machine!r} already", "give this one another short name")
    return None
