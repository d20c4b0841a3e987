"""Help for a word of a machine file: what it means, its unit's range, and what it could be instead.

The words are those of the JSON Schema that lies beside the library; which part and kind a line is about is
told from the text above it, so that a text that is not finished can be helped too.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from collaudo.bench.machines.form import form_of
from collaudo.bench.machines.handle import unit_in
from collaudo.bench.machines.shelf import Shelf
from collaudo.errors import InputError
from collaudo.parts.part import all_kinds
from collaudo.quantities.units import unit_of

FILE = "machine.schema.json"
JOINS = ("lines", "wires", "without_lines", "without_wires")
_WORD = re.compile(r"[A-Za-z0-9_.\-]+")
_TOP = re.compile(r"([a-z_]+):")
_NAME = re.compile(r"( +)([a-z][a-z0-9_]*):")
_KIND = re.compile(r"\bkind: *([a-z_]+)")

_TOP_MEANS = {
    "parts": "the parts, each under its name, with its kind and the values that differ from the usual",
    "lines": "hoses and pipes between ports, each with bore and length",
    "wires": "pairs of terminals joined by a wire",
    "without_lines": "lines of the machine it is like that this one does not have",
    "without_wires": "wires of the machine it is like that this one does not have",
    "settings": "what a technician sets: which value, from where to where",
    "spreads": "how much machines of this kind differ: share, sd or log of a value",
    "drawing": "column and row of parts in the drawing",
}
_LINE_MEANS = {
    "from": "port the water comes from, part.port",
    "to": "port it goes to, part.port",
    "bore_mm": "inner diameter",
    "length_mm": "length",
    "fittings": "what bends and tees on it lose, in velocity heads",
}
_NAMED_MEANS = {
    "sets": "the value it moves, part.field",
    "low": "the least it is set to, in the value's unit",
    "high": "the most it is set to, in the value's unit",
    "share": "how much machines differ, as a share of the value",
    "sd": "how much machines differ, in the value's own unit",
    "log": "how much machines differ, by factors",
}


@dataclass(frozen=True)
class WordHelp:
    """What there is to say of a word."""

    word: str
    says: str
    """What it means; empty where nothing is known."""
    can_be: tuple[str, ...] = ()
    """What may stand here, each with its meaning."""


@dataclass(frozen=True)
class _Place:
    """Where in a file the word stands."""

    word: str
    line: str
    section: str
    """Key of the first column above it, or in its line."""
    part: str
    """Name of the part whose lines these are."""


def help_for(shelf: Shelf, text: str, line: int, column: int, *, machine: str = "") -> WordHelp:
    """Help for the word at ``line`` (from 1) and ``column`` (from 0) of a text."""
    lines = text.split("\n")
    if not 1 <= line <= len(lines):
        return WordHelp("", "")
    place = _place(lines[:line], column)
    if not place.line.startswith((" ", "-")):
        return _top(place.word)
    kinds = _kinds(shelf, text, machine)
    if place.section == "parts":
        return _in_part(place, kinds)
    if place.section in JOINS:
        return _end(place, kinds)
    return _named(place.word, kinds)


def _place(above: list[str], column: int) -> _Place:
    line = above[-1]
    written = line.partition("#")[0]
    word = next((one[0] for one in _WORD.finditer(written) if one.start() <= column <= one.end()), "")
    begins = next((n for n in range(len(above) - 1, -1, -1) if _TOP.match(above[n])), 0)
    top = _TOP.match(above[begins])
    names = [found for one in above[begins + 1 :] if (found := _NAME.match(one))]
    indent = min((len(found[1]) for found in names), default=0)
    part = next((found[2] for found in reversed(names) if len(found[1]) == indent), "")
    return _Place(word, line, top[1] if top else "", part)


@cache
def _schema() -> dict[str, Any]:
    text = (resources.files("collaudo.library") / FILE).read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def _kinds(shelf: Shelf, text: str, machine: str) -> dict[str, str]:
    """Kinds of the parts by name, as far as the text can be read."""
    try:
        return {part.name: part.kind for part in form_of(shelf, text, machine=machine).parts}
    except InputError:
        return {}


def _top(word: str) -> WordHelp:
    known = _schema()["properties"]
    means = {key: said.get("description") or _TOP_MEANS.get(key, "") for key, said in known.items()}
    return WordHelp(word, means[word]) if word in means else WordHelp(word, "", _listed(means))


def _in_part(place: _Place, kinds: Mapping[str, str]) -> WordHelp:
    """In ``parts``: a kind, a field of the part, or the part itself."""
    defs, word = _schema()["$defs"], place.word
    written = _KIND.search(place.line)
    kind = written[1] if written else kinds.get(place.part, "")
    if word in defs and f"kind: {word}" in place.line:
        return WordHelp(word, defs[word]["description"], _fields(word))
    every = _listed({one: said["description"] for one, said in defs.items()})
    if word == "kind":
        return WordHelp(word, "what kind of part it is", every)
    if kind not in defs:
        return WordHelp(word, "give the part a kind", every)
    fields = defs[kind]["properties"]
    if word in fields:
        return WordHelp(word, _field(word, fields[word]), tuple(fields[word].get("enum", ())))
    return WordHelp(word or place.part, f"{place.part}, a {kind}: {defs[kind]['description']}", _fields(kind))


def _end(place: _Place, kinds: Mapping[str, str]) -> WordHelp:
    """In ``lines`` and ``wires``: a key of a line, or an end of it."""
    word = place.word
    if word in _LINE_MEANS and place.section == "lines":
        said = _schema()["properties"]["lines"]["items"]["properties"][word]
        return WordHelp(word, _LINE_MEANS[word] + _range(word, said))
    part = word.partition(".")[0]
    if part not in kinds:
        return WordHelp(word, f"there is no part {part}" if part else "")
    kind = all_kinds()[kinds[part]]
    what, ends = ("ports", kind.ports) if "lines" in place.section else ("terminals", kind.terminals)
    known = tuple(f"{part}.{end}" for end in ends)
    said = f"it can be joined at these {what}" if known else f"it has no {what}"
    return WordHelp(word, f"{part}, a {kind.kind}: {kind.text}; {said}", known)


def _named(word: str, kinds: Mapping[str, str]) -> WordHelp:
    """In ``settings`` and ``spreads``: their own words, or a value of a part."""
    part, _, field = word.partition(".")
    fields = _schema()["$defs"].get(kinds.get(part, ""), {}).get("properties", {})
    if field in fields:
        return WordHelp(word, _field(field, fields[field]))
    return (
        WordHelp(word, _NAMED_MEANS[word])
        if word in _NAMED_MEANS
        else WordHelp(word, "", _listed(_NAMED_MEANS))
    )


def _listed(means: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(f"{word}: {said}" for word, said in means.items())


def _fields(kind: str) -> tuple[str, ...]:
    fields = _schema()["$defs"][kind]["properties"]
    return tuple(f"{name}: {_field(name, said)}" for name, said in fields.items() if name != "kind")


def _field(name: str, said: Mapping[str, Any]) -> str:
    default = said.get("default")
    usual = f"{default:g}" if isinstance(default, int | float) else str(default or "")
    return f"{said.get('description', '')}{_range(name, said)}" + (
        f"; {usual} where nothing is said" if usual else ""
    )


def _range(name: str, said: Mapping[str, Any]) -> str:
    unit = unit_in(name)
    text = f" {unit_of(unit).text}".rstrip() if unit else ""
    return f"; {said['minimum']:g} to {said['maximum']:g}{text}" if "minimum" in said else ""
