"""What is asked about a machine of one's own: the numbers a technician can know, from the parts it has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from collaudo.errors import CatalogueError, InputError, Problem, QuantityError, near_misses
from collaudo.machine.model import Machine, field_problem
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_number,
    take_text,
)
from collaudo.machine.spreads import WAYS
from collaudo.parts.part import all_kinds, declared_fields
from collaudo.quantities.units import UNITS, from_si, parse_quantity, split_suffix, unit_of

FILE = "questions.yaml"


@dataclass(frozen=True)
class Asked:
    """One entry of the library's questions: about a field of a kind of part."""

    kind: str
    field: str
    called: str
    ask: str
    know: str
    one_of: tuple[float, ...] = ()
    sure: tuple[str, float] | None = None
    fills: Mapping[str, float] | None = None


@dataclass(frozen=True)
class Question:
    """One question about one machine."""

    key: str
    """The field asked for, ``part.field``."""
    ask: str
    know: str
    unit: str
    """As printed."""
    value: float
    """What the machine it is like has."""
    least: float
    most: float
    one_of: tuple[float, ...]
    called: str = ""
    """A plain name, ``volts``; empty where it would fit several questions."""

    @property
    def part(self) -> str:
        """The part it is about."""
        return self.key.partition(".")[0]

    @property
    def field(self) -> str:
        """The field of the part."""
        return self.key.partition(".")[2]


def questions_about(machine: Machine) -> list[Question]:
    """The questions whose answers a technician can know, for the parts ``machine`` has."""
    found = []
    for asked in all_asked():
        same = [name for name, part in machine.parts.items() if part.kind == asked.kind]
        for name in same:
            declared = declared_fields(all_kinds()[asked.kind])[asked.field]
            of = f" ({_which(name, same)})" if len(same) > 1 else ""
            unit = unit_of(_suffix(asked.field)).text
            value = float(machine.value(f"{name}.{asked.field}"))
            limits = (declared["low"], declared["high"])
            key, called = f"{name}.{asked.field}", asked.called if len(same) == 1 else ""
            found.append(
                Question(key, asked.ask + of, asked.know, unit, value, *limits, asked.one_of, called)
            )
    return found


def _which(name: str, same: Sequence[str]) -> str:
    """``brew element``; of two of one name ``the first`` and ``the second``."""
    stem = name.removesuffix("_2")
    if {stem, f"{stem}_2"} <= set(same):
        return "the first" if name == stem else "the second"
    return name.replace("_", " ")


def question_called(key: str, questions: list[Question]) -> Question:
    """The question with this key, plain name, or field where only one question has it; with or without its
    unit."""
    whole = [
        q for q in questions if key and key in (q.key, q.key.removesuffix(f"_{_suffix(q.field)}"), q.called)
    ]
    by_field = [q for q in questions if key in (q.field, q.field.removesuffix(f"_{_suffix(q.field)}"))]
    for found in (whole, by_field):
        if len(found) == 1:
            return found[0]
        if found:
            which = " or ".join(question.key for question in found)
            raise InputError(Problem(f"{key[:60]!r} could be several questions", f"write {which}"))
    known = [q.key if "." in key else q.called or q.key for q in questions]
    raise InputError(Problem(f"no question {key[:60]!r} about this machine", near_misses(key[:60], known)))


def _suffix(field: str) -> str:
    """The unit at a field's end; ``pulses_per_ml`` is one as a whole."""
    return field if field in UNITS else split_suffix(field)[1]


def answer(question: Question, text: str) -> float:
    """A number in the field's unit from ``1.1 bar``, ``16 psi`` or ``1.1``; `InputError` otherwise."""
    suffix = _suffix(question.field)
    unit = unit_of(suffix)
    try:
        has_unit = any(sign.isalpha() or sign in "°µ%" for sign in text.strip()[1:].replace("e", ""))
        plain = f"{text.strip()} {suffix}"
        value = from_si(parse_quantity(text if has_unit else plain, unit.dimension), suffix)
    except QuantityError as fault:
        message, _, remedy = str(fault).partition(" -- ")
        raise InputError(Problem(f"{question.key}: {message}", remedy)) from None
    value = float(f"{value:.4g}")
    if question.one_of and value not in question.one_of:
        choices = " or ".join(f"{choice:g}" for choice in question.one_of)
        raise InputError(Problem(f"{question.key} is {value:g}", f"it can be {choices}"))
    declared = {"low": question.least, "high": question.most}
    if problem := field_problem(question.key, value, declared):
        raise InputError(Problem(problem, f"give it in {question.unit or 'plain numbers'}, or with its unit"))
    return value


@cache
def all_asked() -> tuple[Asked, ...]:
    """The questions of ``library/questions.yaml``."""
    problems = Problems()
    asked = []
    for key, node in take_mapping(_root()["ask"], "ask", problems).items():
        kind, field = _field(key, node, problems)
        given = take_mapping(
            node, key, problems, allowed=("one_of", "sure", "fills"), required=("called", "ask", "know")
        )
        if not problems:
            asked.append(Asked(kind, field, **_entry(key, given, problems)))
    problems.raise_if_any(CatalogueError)
    return tuple(asked)


def with_volts() -> dict[str, float]:
    """Fields wound for the voltage on the plate, ``kind.field``, and the power of the volts they go with."""
    problems = Problems()
    found = {}
    for key, node in take_mapping(_root()["with_volts"], "with_volts", problems).items():
        _field(key, node, problems)
        found[key] = take_number(node, key, problems) or 0.0
    problems.raise_if_any(CatalogueError)
    return found


@cache
def _root() -> dict[str, Node]:
    text = (resources.files("collaudo.library") / FILE).read_bytes()
    problems = Problems()
    root = read_source(text, name=FILE, error=CatalogueError)
    found = take_mapping(root, "the questions", problems, required=("ask", "with_volts"), allowed=())
    problems.raise_if_any(CatalogueError)
    return found


def _field(key: str, node: Node, problems: Problems) -> tuple[str, str]:
    """Kind and field, which must exist."""
    kind, _, field = key.partition(".")
    known = declared_fields(all_kinds()[kind]) if kind in all_kinds() else {}
    if "low" not in known.get(field, {}):
        problems.add(f"question about {key!r}, which is no number of a kind of part", node, "kind.field")
    return kind, field


def _entry(key: str, given: dict[str, Node], problems: Problems) -> dict[str, Any]:
    entry: dict[str, Any] = {
        word: take_text(given[word], key, problems) for word in ("called", "ask", "know")
    }
    if "one_of" in given:
        choices = take_list(given["one_of"], key, problems)
        entry["one_of"] = tuple(take_number(choice, key, problems) for choice in choices)
    for word in ("sure", "fills"):
        if word in given:
            named = take_mapping(given[word], key, problems, allowed=WAYS if word == "sure" else None)
            entry[word] = {name: take_number(node, key, problems) for name, node in named.items()}
    if "sure" in entry:
        ((way, amount),) = entry["sure"].items()
        entry["sure"] = (way, amount)
    return entry
