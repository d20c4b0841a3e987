"""Read a machine file or a machine of the library; every problem at once, with file, line and remedy."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from collaudo.errors import MachineFileError, near_misses
from collaudo.machine.library import library_ids, library_text
from collaudo.machine.like import expanded, opened
from collaudo.machine.model import LineBetween, Machine, Setting, field_problem
from collaudo.machine.overlay import TOP_KEYS
from collaudo.machine.places import read_places
from collaudo.machine.source import (
    Node,
    Problems,
    take_list,
    take_mapping,
    take_number,
    take_text,
)
from collaudo.machine.spreads import read_spreads
from collaudo.machine.validate import check_topology
from collaudo.parts.part import Part, all_kinds, declared_fields

__all__ = ["find_machine", "library_ids", "library_text", "read_machine", "whole_machine"]

LINE_NUMBERS = {"bore_mm": (0.2, 60.0), "length_mm": (0.0, 50_000.0), "fittings": (0.0, 200.0)}
"""What a line may say of itself, and its range."""

MACHINE_ID = "[a-z0-9]+(-[a-z0-9]+)*"
PART_NAME = "[a-z][a-z0-9_]*"

_MAY = ("settings", "spreads", "drawing", "like")
_LINE_NEEDS = ("from", "to", "bore_mm")
_SETTING_NEEDS = ("sets", "low", "high")


def find_machine(name_or_path: str) -> Machine:
    """A machine of the library by its id, or one of your own by its file."""
    source, name = _source(name_or_path)
    return read_machine(source, name=name)


def whole_machine(name_or_path: str) -> dict[str, Any]:
    """A machine as plain data of one file, with all it takes from those it is ``like``."""
    find_machine(name_or_path)
    plain: dict[str, Any] = expanded(opened(*_source(name_or_path)), Problems()).plain()
    return {key: plain[key] for key in TOP_KEYS if key in plain}


def _source(name_or_path: str) -> tuple[Path | str, str]:
    """A file or a text, and what messages call it."""
    own = name_or_path.endswith((".yaml", ".yml")) or Path(name_or_path).exists()
    if own and name_or_path not in library_ids():
        return Path(name_or_path), name_or_path
    return library_text(name_or_path), f"{name_or_path}.yaml"


def read_machine(source: Path | str | bytes, *, name: str = "", folder: Path | None = None) -> Machine:
    """Read and validate; raises `MachineFileError` listing every problem.

    ``folder`` is where the files lie that a text is ``like``; without it a text can be like a machine of the
    library alone.
    """
    problems = Problems()
    machine, where = _machine(expanded(opened(source, name, folder), problems), problems)
    if not problems:
        check_topology(machine, where, problems)
    problems.raise_if_any(MachineFileError)
    return machine


def _machine(root: Node, problems: Problems) -> tuple[Machine, dict[str, Node]]:
    """The machine of a whole tree, and where its parts and fields stand."""
    top = take_mapping(
        root, "the machine file", problems, allowed=_MAY, required=[k for k in TOP_KEYS if k not in _MAY]
    )
    identity = _identity(top["machine"], problems) if "machine" in top else ""
    title = take_text(top["title"], "title", problems) if "title" in top else ""
    parts, where = _parts(top["parts"], problems) if "parts" in top else ({}, {})
    lines = _lines(top["lines"], problems) if "lines" in top else []
    if not isinstance(top["parts"].value if "parts" in top else None, dict):
        top = {}  # nothing can name a part where there are none
    wires = _wires(top["wires"], parts, where, problems) if "wires" in top else []
    settings = _settings(top["settings"], parts, where, problems) if "settings" in top else {}
    spreads = read_spreads(top["spreads"], parts, where, problems) if "spreads" in top else {}
    drawing = read_places(top["drawing"], where, problems) if "drawing" in top else {}
    machine = Machine(
        identity or "", title or "", parts, tuple(lines), tuple(wires), settings, root.file, spreads, drawing
    )
    return machine, where


def _identity(node: Node, problems: Problems) -> str | None:
    word = take_text(node, "machine", problems)
    if word is not None and not re.fullmatch(MACHINE_ID, word):
        problems.add(f"machine: {word[:60]!r} is no id", node, "small letters, digits and single hyphens")
    return word


def _parts(node: Node, problems: Problems) -> tuple[dict[str, Part], dict[str, Node]]:
    """The parts, and where each of them and of its fields (``part.field``) stands."""
    parts: dict[str, Part] = {}
    where: dict[str, Node] = {}
    for name, entry in take_mapping(node, "parts", problems).items():
        if not re.fullmatch(PART_NAME, name):
            problems.add(
                f"{name[:60]!r} is no name for a part", entry, "small letters, digits and _, a letter first"
            )
            continue
        where[name] = entry
        given = take_mapping(entry, f"part {name}", problems, required=("kind",))
        if "kind" not in given:
            continue
        kind = take_text(given["kind"], f"kind of {name}", problems, known=sorted(all_kinds()))
        if kind is None:
            continue
        where |= {f"{name}.{key}": child for key, child in given.items()}
        fields = {key: child for key, child in given.items() if key != "kind"}
        parts[name] = all_kinds()[kind](name, **_fields(name, kind, fields, problems))
    return parts, where


def _fields(name: str, kind: str, given: dict[str, Node], problems: Problems) -> dict[str, Any]:
    """Values of the fields of one part; those that cannot be used are noted and left out."""
    known = declared_fields(all_kinds()[kind])
    values: dict[str, Any] = {}
    for key, child in given.items():
        if key not in known:
            problems.add(f"{kind} {name!r} has no field {key[:60]!r}", child, near_misses(key[:60], known))
            continue
        take = take_number if "low" in known[key] else take_text
        value = take(child, f"{name}.{key}", problems)
        if value is None:
            continue
        if fault := field_problem(f"{name}.{key}", value, known[key]):
            problems.add(fault, child, known[key]["text"])
        else:
            values[key] = value
    return values


def _lines(node: Node, problems: Problems) -> list[LineBetween]:
    lines = []
    for entry in take_list(node, "lines", problems):
        given = take_mapping(
            entry, "a line", problems, allowed=("length_mm", "fittings"), required=_LINE_NEEDS
        )
        if not set(_LINE_NEEDS) <= given.keys():
            continue
        ends = [take_text(given[key], key, problems) for key in ("from", "to")]
        numbers = {key: _line_number(given[key], key, problems) for key in LINE_NUMBERS if key in given}
        if ends[0] and ends[1]:
            said = {"length_mm": 0.0, **numbers}
            lines.append(LineBetween(ends[0], ends[1], **said, line=entry.line, file=entry.file))
    return lines


def _line_number(node: Node, key: str, problems: Problems) -> float:
    value = take_number(node, key, problems)
    low, high = LINE_NUMBERS[key]
    if value is not None and not low <= value <= high:
        problems.add(f"{key} is {value:g}", node, f"it can be {low:g} to {high:g}")
    return value or 0.0


def _wires(
    node: Node, parts: dict[str, Part], where: dict[str, Node], problems: Problems
) -> list[tuple[str, str]]:
    wires = []
    for entry in take_list(node, "wires", problems):
        ends = take_list(entry, "a wire", problems)
        if len(ends) != 2:
            problems.add("a wire joins two terminals", entry, "write '- [part.terminal, part.terminal]'")
            continue
        first, second = (_terminal(end, parts, where, problems) for end in ends)
        if first and first == second:
            problems.add(f"a wire from {first} to itself", entry, "join two terminals")
        if first and second:
            wires.append((first, second))
    return wires


def _terminal(node: Node, parts: dict[str, Part], where: dict[str, Node], problems: Problems) -> str | None:
    word = take_text(node, "a wire's end", problems)
    if word is None:
        return None
    name, _, terminal = word.partition(".")
    if name in where and name not in parts:
        return None  # what is wrong with the part has been said
    if name not in parts:
        problems.add(f"no part {name[:60]!r} for a wire", node, near_misses(name[:60], parts))
    elif terminal not in parts[name].terminals:
        known = parts[name].terminals
        near = near_misses(terminal[:60], known) if known else f"{name} carries no current"
        problems.add(f"{name} has no terminal {terminal[:60]!r}", node, near)
    return word


def _settings(
    node: Node, parts: dict[str, Part], where: dict[str, Node], problems: Problems
) -> dict[str, Setting]:
    settings = {}
    for name, entry in take_mapping(node, "settings", problems).items():
        given = take_mapping(entry, f"setting {name}", problems, allowed=(), required=_SETTING_NEEDS)
        if not set(_SETTING_NEEDS) <= given.keys():
            continue
        sets = take_text(given["sets"], f"{name}.sets", problems)
        low = take_number(given["low"], f"{name}.low", problems)
        high = take_number(given["high"], f"{name}.high", problems)
        if sets is not None and low is not None and high is not None:
            settings[name] = Setting(name, sets, low, high)
            part = sets.partition(".")[0]
            if part in where and part not in parts:
                continue  # what is wrong with the part has been said
            _setting_fits(settings[name], parts, given, problems)
    return settings


def _setting_fits(
    setting: Setting, parts: dict[str, Part], given: dict[str, Node], problems: Problems
) -> None:
    """A setting moves a number there is, from low to high, within what the field can be."""
    name, low, high = setting.name, setting.low, setting.high
    part, _, key = setting.sets.partition(".")
    known = declared_fields(type(parts[part])) if part in parts else {}
    numbers = [f"{part}.{other}" for other in known if "low" in known[other]]
    if setting.sets not in numbers:
        remedy = near_misses(setting.sets[:60], numbers) if numbers else near_misses(part[:60], parts)
        problems.add(f"setting {name} moves {setting.sets[:60]!r}, which is no number", given["sets"], remedy)
        return
    if not low < high:
        problems.add(f"setting {name}: low {low:g} is not below high {high:g}", given["low"], "swap them")
        return
    least, most = known[key]["low"], known[key]["high"]
    if low < least or high > most:
        problems.add(
            f"setting {name} goes from {low:g} to {high:g}",
            given["low" if low < least else "high"],
            f"{setting.sets} can be {least:g} to {most:g}",
        )
