"""A machine file of one's own: like one there is, with the numbers that are known of this one."""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from collaudo.bench.machines.questions import (
    Question,
    all_asked,
    answer,
    question_called,
    questions_about,
    with_volts,
)
from collaudo.errors import InputError, Problem
from collaudo.machine.library import library_ids
from collaudo.machine.load import MACHINE_ID, find_machine, read_machine
from collaudo.machine.model import Machine
from collaudo.machine.writer import dump
from collaudo.parts.part import declared_fields

NOT_ASKED = ("machine", "title")
"""Keys that name the machine; the others are those of the questions."""


@dataclass(frozen=True)
class OwnMachine:
    """A machine file made from answers."""

    text: str
    machine: Machine
    answered: Mapping[str, float]
    """By ``part.field``."""
    kept: tuple[Question, ...]
    """Not answered: as in the machine it is like."""


def questions(like: str) -> list[Question]:
    """The questions about a machine like this one, each with what the other has."""
    return questions_about(find_machine(like))


def check_answer(like: str, answers: Mapping[str, str], key: str, text: str) -> None:
    """Whether an answer can be, by itself and beside those given before; `InputError` otherwise."""
    try:
        own_machine(like, {**answers, key: text})
    except InputError as fault:  # the file it would stand in is not there yet
        raise InputError([replace(problem, file="", line=0) for problem in fault.problems]) from None


def own_machine(like: str, answers: Mapping[str, str], *, file: str = "") -> OwnMachine:
    """The file of a machine ``like`` another; ``answers`` by ``part.field``, ``machine`` or ``title``.

    ``file`` is where it will lie: a machine file that it is like is named from there, and its name is the
    machine's id unless one is given. `InputError` for an answer that cannot be or does not fit the others.
    """
    base = find_machine(like)
    asked = questions_about(base)
    values: dict[str, float] = {}
    for key, text in answers.items():
        if key not in NOT_ASKED:
            question = question_called(key, asked)
            if question.key in values:
                raise InputError(Problem(f"{question.key} is answered twice", "answer it once"))
            values[question.key] = answer(question, text)
    folder = Path(file).parent if file else Path()
    text = _text(base, asked, values, _names(base, answers, file), _like_from(like, folder))
    machine = read_machine(text, name=file or "the new file", folder=folder)
    kept = tuple(question for question in asked if question.key not in values)
    return OwnMachine(text, machine, values, kept)


def _names(base: Machine, answers: Mapping[str, str], file: str) -> tuple[str, str]:
    """Id and title."""
    stem = re.sub("[^a-z0-9]+", "-", Path(file).stem.lower()).strip("-") if file else ""
    identity = answers.get("machine", stem or f"my-{base.id}")
    if not re.fullmatch(MACHINE_ID, identity):
        remedy = "small letters, digits and single hyphens"
        raise InputError(Problem(f"machine: {identity[:60]!r} is no id", remedy))
    if identity in library_ids():
        raise InputError(Problem(f"machine: {identity!r} is one of the library", "give it another id"))
    title = answers.get("title", base.title).strip()
    if not title or not title.isprintable() or len(title) > 200:
        raise InputError(Problem("the title is not one line of text", "name the machine in a few words"))
    return identity, title


def _like_from(like: str, folder: Path) -> str:
    """What the file says it is like: an id, or the other file as seen from its own folder."""
    return like if like in library_ids() else Path(os.path.relpath(like, folder)).as_posix()


def _text(
    base: Machine, asked: list[Question], values: Mapping[str, float], names: tuple[str, str], like: str
) -> str:
    fields = _fields(base, values)
    texts = {question.key: question.ask for question in asked}
    lines = [
        f"# Like {like}, with what is known of this one. What is not said here is as there,",
        "# and differs as much as machines of that kind do.",
        *dump({"machine": names[0], "title": names[1], "like": like}).splitlines(),
        "parts:" if fields else "parts: {}",
    ]
    for part, given in fields.items():
        inside = ", ".join(f"{name}: {value:.10g}" for name, value in given.items())
        said = "; ".join(texts[f"{part}.{name}"] for name in given if f"{part}.{name}" in texts)
        lines.append(f"  {part}: {{{inside}}}  # {said or 'goes with the voltage on the plate'}")
    open_questions = [question for question in asked if question.key not in values]
    if open_questions:
        lines.append("  # Not known, as in the other:")
        lines += [f"  #   {q.key}: {q.value:.10g}  # {q.ask}" for q in open_questions]
    return "\n".join([*lines, *_spreads(base, values)]) + "\n"


def _fields(base: Machine, values: Mapping[str, float]) -> dict[str, dict[str, float]]:
    """What the file gives of each part: answers, and what follows from them."""
    fields: dict[str, dict[str, float]] = defaultdict(dict)
    for key, value in values.items():
        part, _, field = key.partition(".")
        fields[part][field] = value
    for asked in all_asked():
        for part in [name for name in fields if base.parts[name].kind == asked.kind]:
            if asked.fills and asked.field in fields[part]:
                for other, share in asked.fills.items():
                    fields[part][other] = float(f"{share * fields[part][asked.field]:.4g}")
    _wind(base, fields)
    return {name: fields[name] for name in base.parts if name in fields}


def _wind(base: Machine, fields: dict[str, dict[str, float]]) -> None:
    """Coils and motors wound for another voltage take the same power from it."""
    plate = next(name for name, part in base.parts.items() if part.kind == "mains")
    ratio = fields.get(plate, {}).get("rated_V", 0.0) / float(base.value(f"{plate}.rated_V"))
    if not ratio or ratio == 1.0:
        return
    for key, power in with_volts().items():
        kind, _, field = key.partition(".")
        for name, part in base.parts.items():
            if part.kind == kind:
                declared = declared_fields(type(part))[field]
                value = float(base.value(f"{name}.{field}")) * ratio**power
                fields[name][field] = float(f"{min(max(value, declared['low']), declared['high']):.4g}")


def _spreads(base: Machine, values: Mapping[str, float]) -> list[str]:
    """How much what is known still differs."""
    sure = {f"{asked.kind}.{asked.field}": asked.sure for asked in all_asked() if asked.sure}
    lines = []
    for key in values:
        part, _, field = key.partition(".")
        if said := sure.get(f"{base.parts[part].kind}.{field}"):
            lines.append(f"  {key}: {{{said[0]}: {said[1]:g}}}")
    return ["spreads:  # known, and so no more than measured", *lines] if lines else []
