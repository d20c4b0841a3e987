"""A machine file as a form: every value it means, which of them it says itself, and what is wrong with each.

The form is made from the text as it stands, also while it cannot be used yet; a change made in it is a change
of that text (`collaudo.bench.machines.text`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from collaudo.bench.machines.check import DRAFT
from collaudo.bench.machines.handle import unit_in
from collaudo.bench.machines.shelf import ENDING, Shelf, start_of
from collaudo.bench.machines.text import with_fields
from collaudo.bench.naming import part_in_words
from collaudo.errors import InputError, MachineFileError, Problem, QuantityError, unknown_name
from collaudo.machine.like import expanded, opened
from collaudo.machine.model import field_problem
from collaudo.machine.source import Problems, read_source
from collaudo.parts.part import Part, all_kinds, declared_fields
from collaudo.quantities.units import from_si, parse_quantity, unit_of

Scalar = float | str


CAUTIONS = {
    "safety_valve": "This says which valve is fitted. It is never adjusted; a wrong one is replaced.",
    "cut_out": "This says which cut-out is fitted. It is never bridged; a wrong one is replaced.",
    "pump_cut_out": "This says which cut-out is fitted. It is never bridged; a wrong one is replaced.",
    "residual_current_device": "This says what is fitted in the building. It is never bridged.",
    "fuse": "This says what is fitted. A fuse is replaced by its like, never by a larger one.",
    "earth_bond": "This says what was measured. The earth is never left out.",
}
"""Kinds of part that keep people safe, and what holds wherever their values are entered."""


@dataclass(frozen=True)
class FormField:
    """One value: what it means, what it is, what it can be."""

    key: str
    """``part.field``."""
    meaning: str
    unit: str
    """Suffix of the unit of ``value``, ``low`` and ``high``; empty for words and plain numbers."""
    value: Scalar
    said: bool
    """Whether the file itself says it."""
    otherwise: Scalar
    """What it is where the file does not say it."""
    low: float | None = None
    high: float | None = None
    words: tuple[str, ...] = ()
    """What it can be, where it is one of some words."""
    problem: str = ""


@dataclass(frozen=True)
class FormSetting:
    """What a technician sets: which value, from where to where."""

    name: str
    key: str
    low: float
    high: float


@dataclass(frozen=True)
class FormPart:
    """A part with its values."""

    name: str
    called: str
    kind: str
    does: str
    fields: tuple[FormField, ...]
    caution: str
    """Empty where none is needed."""


@dataclass(frozen=True)
class MachineForm:
    """Everything of a machine file that is a value."""

    title: str
    like: str
    settings: tuple[FormSetting, ...]
    parts: tuple[FormPart, ...]


def form_of(shelf: Shelf, text: str, *, machine: str = "") -> MachineForm:
    """The form of a text; `MachineFileError` where not even its parts can be told."""
    own, like = _plain(text), shelf.likes(text, f"{machine or DRAFT}{ENDING}")
    whole = _whole(shelf, text, machine)
    below = _below(shelf, like) if like else {}
    said, base = _mapping(own, "parts"), _mapping(below, "parts")
    names = {name: _kind_of(given) for name, given in _mapping(whole, "parts").items()}
    parts = tuple(
        _part(name, kind, _mapping(whole, "parts")[name], said.get(name), base.get(name), names)
        for name, kind in names.items()
        if kind is not None
    )
    known = {field.key for part in parts for field in part.fields}
    settings = tuple(_settings(_mapping(whole, "settings"), known))
    return MachineForm(str(whole.get("title", "")), like, settings, parts)


def changed_text(shelf: Shelf, text: str, changes: Mapping[str, str | None], *, machine: str = "") -> str:
    """The text with values changed; each is typed as a person types it, ``9.5 bar``, and None takes it out.

    `InputError` for what is no number, no fitting unit, out of range or no known word; `MachineFileError`
    where the text cannot be changed so.
    """
    fields = {
        field.key: field for part in form_of(shelf, text, machine=machine).parts for field in part.fields
    }
    found: dict[str, Scalar | None] = {}
    for key, typed in changes.items():
        if key not in fields:
            raise unknown_name("value", key[:80], fields)
        found[key] = None if typed is None else _understood(fields[key], typed)
    return with_fields(text, found)


def _plain(text: str) -> dict[str, Any]:
    found = read_source(text, name=DRAFT, error=MachineFileError).plain()
    if not isinstance(found, dict):
        raise MachineFileError(
            Problem("this is no machine file", "write 'machine:', 'title:', 'parts:' …", DRAFT, 1)
        )
    return found


def _whole(shelf: Shelf, text: str | bytes, machine: str) -> dict[str, Any]:
    """With all it takes from those it is like; how it fits together is not looked at."""
    name = f"{machine}{ENDING}" if machine else DRAFT
    shelf.fence(text, name)
    found = expanded(opened(text, name, shelf.folder), Problems()).plain()
    return found if isinstance(found, dict) else {}


def _below(shelf: Shelf, like: str) -> dict[str, Any]:
    """The machine it is like, whole."""
    if shelf.is_own(like):
        return _whole(shelf, start_of(shelf.own_file(like)), like)
    found: dict[str, Any] = expanded(opened(f"like: {like}\n"), Problems()).plain()
    return found


def _mapping(plain: Mapping[str, Any], key: str) -> dict[str, Any]:
    found = plain.get(key)
    return found if isinstance(found, dict) else {}


def _kind_of(given: Any) -> type[Part] | None:
    word = given.get("kind") if isinstance(given, dict) else None
    return all_kinds().get(word) if isinstance(word, str) else None


def _part(
    name: str, kind: type[Part], given: Mapping[str, Any], said: Any, below: Any, names: Mapping[str, Any]
) -> FormPart:
    own = said if isinstance(said, dict) else {}
    same = isinstance(below, dict) and below.get("kind") == kind.kind
    fields = []
    for field, declared in declared_fields(kind).items():
        otherwise = below.get(field, declared["default"]) if same else declared["default"]
        value = given.get(field, declared["default"])
        key = f"{name}.{field}"
        problem = field_problem(key, value, declared)
        shown = value if isinstance(value, str | int | float) else str(value)
        limits = (declared.get("low"), declared.get("high"))
        words = _words(declared, names)
        unit = unit_in(field) if "low" in declared else ""
        fields.append(
            FormField(key, declared["text"], unit, shown, field in own, otherwise, *limits, words, problem)
        )
    caution = CAUTIONS.get(kind.kind, "")
    return FormPart(name, part_in_words(name), kind.kind, kind.text, tuple(fields), caution)


def _words(declared: Mapping[str, Any], names: Mapping[str, type[Part] | None]) -> tuple[str, ...]:
    if "known" in declared:
        return tuple(declared["known"])
    if "names" in declared and "port" not in declared:
        fitting = [name for name, kind in names.items() if kind and kind.kind in declared["names"]]
        return ("", *fitting) if declared["default"] == "" else tuple(fitting)
    return ()


def _settings(given: Mapping[str, Any], known: set[str]) -> list[FormSetting]:
    found = []
    for name, entry in given.items():
        said = entry if isinstance(entry, dict) else {}
        ends = [said.get("low"), said.get("high")]
        if said.get("sets") in known and all(isinstance(end, int | float) for end in ends):
            found.append(FormSetting(name, str(said["sets"]), *map(float, ends)))  # type: ignore[arg-type]
    return found


def _understood(field: FormField, typed: str) -> Scalar:
    """A typed value in the field's own unit, to six digits."""
    if field.low is None or field.high is None:
        if field.words and typed not in field.words:
            raise InputError(Problem(f"{field.key} is {typed[:60]!r}", f"it can be {', '.join(field.words)}"))
        return typed
    declared = {"low": field.low, "high": field.high}
    try:
        unit = unit_of(field.unit) if field.unit else None
        value = from_si(parse_quantity(typed, unit.dimension), field.unit) if unit else float(typed)
    except (QuantityError, ValueError) as fault:
        message, _, remedy = str(fault).partition(" -- ")
        said = message if isinstance(fault, QuantityError) else f"{typed[:60]!r} is no number"
        raise InputError(Problem(f"{field.key}: {said}", remedy)) from None
    value = float(f"{value:.6g}")
    if problem := field_problem(field.key, value, declared):
        unit_text = unit_of(field.unit).text if field.unit else ""
        raise InputError(Problem(f"{problem} {unit_text}".rstrip(), field.meaning))
    return value
