"""A machine as described in a machine file, after validation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from collaudo.errors import Problem, QuantityError, UnknownNameError, unknown_name
from collaudo.parts.part import Part, declared_fields


@dataclass(frozen=True)
class LineBetween:
    """A hose, pipe or joint between two ports."""

    from_port: str
    to_port: str
    bore_mm: float
    length_mm: float
    fittings: float = 0.0
    line: int = 0
    file: str = ""
    """Line and file it stands in."""


@dataclass(frozen=True)
class Setting:
    """Something a technician sets: which field it moves, and within which range."""

    name: str
    sets: str
    low: float
    high: float


@dataclass(frozen=True)
class SpreadOf:
    """How much one value differs between machines of this kind."""

    way: str
    """share: of the value; sd: in the field's own unit; log: by factors."""
    amount: float


@dataclass(frozen=True)
class Machine:
    """Parts by name, lines, wires, settings."""

    id: str
    title: str
    parts: Mapping[str, Part]
    lines: tuple[LineBetween, ...]
    wires: tuple[tuple[str, str], ...]
    settings: Mapping[str, Setting] = field(default_factory=dict)
    file: str = ""
    spreads: Mapping[str, SpreadOf] = field(default_factory=dict)
    """By ``part.field``; they go before the spreads of the library."""
    drawing: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    """Column and row of parts in the drawing; empty: laid out by itself."""

    def part(self, name: str) -> Part:
        """The part called ``name``; `UnknownNameError` with near misses otherwise."""
        if name not in self.parts:
            raise unknown_name("part", name, self.parts, file=self.file)
        return self.parts[name]

    def with_fields(self, changes: Mapping[str, float | str]) -> Machine:
        """The same machine with fields changed, ``{"pump.shutoff_bar": 12.0}``.

        `QuantityError` for a value out of its range, `UnknownNameError` for a part or field there is not. How
        parts are joined is not looked at again: a fault may break what a machine file may not.
        """
        parts = dict(self.parts)
        for key, value in changes.items():
            name, _, field_name = key.partition(".")
            part = self.part(name)
            known = declared_fields(type(part))
            if field_name not in known:
                raise unknown_name(f"field of {name}", field_name, known)
            if problem := field_problem(key, value, known[field_name]):
                raise QuantityError(problem)
            changed: dict[str, Any] = {field_name: value}
            parts[name] = replace(parts[name], **changed)
        return replace(self, parts=parts)

    def value(self, key: str) -> float | str:
        """The value of a field, ``machine.value("pump.shutoff_bar")``."""
        name, _, field_name = key.partition(".")
        part = self.part(name)
        if field_name not in declared_fields(type(part)):
            raise unknown_name(f"field of {name}", field_name, declared_fields(type(part)))
        found: float | str = getattr(part, field_name)
        return found


def field_problem(key: str, value: float | str, declared: Mapping[str, object]) -> str:
    """What is wrong with a value for a declared field; empty when nothing is."""
    if "low" in declared:
        if not isinstance(value, int | float) or isinstance(value, bool):
            return f"{key} is {value!r}, not a number"
        low, high = declared["low"], declared["high"]
        if not low <= value <= high:  # type: ignore[operator]
            return f"{key} is {value:g}; it can be {low:g} to {high:g}"
        return ""
    if not isinstance(value, str):
        return f"{key} is {value!r}, not a word"
    known = declared.get("known")
    if isinstance(known, tuple) and value not in known:
        return f"{key} is {value!r}; it can be {', '.join(known)}"
    return ""


__all__ = ["LineBetween", "Machine", "Problem", "Setting", "SpreadOf", "UnknownNameError", "field_problem"]
