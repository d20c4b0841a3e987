"""Read a machine file or a machine of the library; every problem at once, with file, line and remedy."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from collaudo.errors import MachineFileError, near_misses, unknown_name
from collaudo.machine.model import LineBetween, Machine, Setting, field_problem
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_number,
    take_text,
)
from collaudo.machine.validate import check_topology
from collaudo.parts.part import Part, all_kinds, declared_fields

_LINE_KEYS = ("from", "to", "bore_mm", "length_mm", "fittings")


def library_ids() -> list[str]:
    """Machines the library holds."""
    folder = resources.files("collaudo.library") / "machines"
    return sorted(p.name.removesuffix(".yaml") for p in folder.iterdir() if p.name.endswith(".yaml"))


def find_machine(name_or_path: str) -> Machine:
    """A machine of the library by its id, or one of your own by its file."""
    if name_or_path in library_ids():
        folder = resources.files("collaudo.library") / "machines"
        text = (folder / f"{name_or_path}.yaml").read_text(encoding="utf-8")
        return read_machine(text, name=f"{name_or_path}.yaml")
    if name_or_path.endswith((".yaml", ".yml")) or Path(name_or_path).exists():
        return read_machine(Path(name_or_path), name=name_or_path)
    raise unknown_name("machine", name_or_path, library_ids())


def read_machine(source: Path | str, *, name: str = "") -> Machine:
    """Read and validate; raises `MachineFileError` listing every problem."""
    root = read_source(source, name=name, error=MachineFileError)
    problems = Problems()
    top = take_mapping(
        root,
        "the machine file",
        problems,
        allowed=("settings",),
        required=("machine", "title", "parts", "lines", "wires"),
    )
    identity = take_text(top["machine"], "machine", problems) if "machine" in top else ""
    title = take_text(top["title"], "title", problems) if "title" in top else ""
    parts, where = _parts(top["parts"], problems) if "parts" in top else ({}, {})
    lines = _lines(top["lines"], problems) if "lines" in top else []
    wires = _wires(top["wires"], parts, problems) if "wires" in top else []
    settings = _settings(top["settings"], parts, problems) if "settings" in top else {}
    machine = Machine(identity or "", title or "", parts, tuple(lines), tuple(wires), settings, root.file)
    if not problems:
        check_topology(machine, where, problems)
    problems.raise_if_any(MachineFileError)
    return machine


def _parts(node: Node, problems: Problems) -> tuple[dict[str, Part], dict[str, Node]]:
    parts: dict[str, Part] = {}
    where: dict[str, Node] = {}
    kinds = all_kinds()
    for name, entry in take_mapping(node, "parts", problems).items():
        where[name] = entry
        given = take_mapping(entry, f"part {name}", problems, required=("kind",))
        if "kind" not in given:
            continue
        word = take_text(given["kind"], f"kind of {name}", problems, known=sorted(kinds))
        if word is None:
            continue
        known = declared_fields(kinds[word])
        values: dict[str, float | str] = {}
        for key, child in given.items():
            if key == "kind":
                continue
            if key not in known:
                problems.add(f"{word} {name!r} has no field {key[:60]!r}", child, near_misses(key[:60], known))
                continue
            numeric = "low" in known[key]
            value = (take_number if numeric else take_text)(child, f"{name}.{key}", problems)
            if value is None:
                continue
            if fault := field_problem(f"{name}.{key}", value, known[key]):
                problems.add(fault, child, f"{known[key].get('text', 'see the schema')}")
                continue
            values[key] = value
        parts[name] = kinds[word](name, **values)  # type: ignore[arg-type]
    return parts, where


def _lines(node: Node, problems: Problems) -> list[LineBetween]:
    lines = []
    for entry in take_list(node, "lines", problems):
        given = take_mapping(entry, "a line", problems, allowed=_LINE_KEYS, required=("from", "to", "bore_mm"))
        if not {"from", "to", "bore_mm"} <= given.keys():
            continue
        a, b = take_text(given["from"], "from", problems), take_text(given["to"], "to", problems)
        numbers = {}
        for key, low, high in (("bore_mm", 0.2, 60.0), ("length_mm", 0.0, 50_000.0), ("fittings", 0.0, 200.0)):
            value = take_number(given[key], key, problems) if key in given else 0.0
            if value is not None and key in given and not low <= value <= high:
                problems.add(f"{key} is {value:g}", given[key], f"it can be {low:g} to {high:g}")
            numbers[key] = value or 0.0
        if a and b:
            lines.append(LineBetween(a, b, numbers["bore_mm"], numbers["length_mm"], numbers["fittings"], entry.line))
    return lines


def _wires(node: Node, parts: dict[str, Part], problems: Problems) -> list[tuple[str, str]]:
    wires = []
    for entry in take_list(node, "wires", problems):
        ends = take_list(entry, "a wire", problems)
        if len(ends) != 2:
            problems.add("a wire joins two terminals", entry, "write '- [part.terminal, part.terminal]'")
            continue
        words = [take_text(end, "a wire's end", problems) for end in ends]
        for word, end in zip(words, ends, strict=True):
            if word is None:
                continue
            part, _, terminal = word.partition(".")
            if part not in parts:
                problems.add(f"no part {part[:60]!r} for a wire", end, near_misses(part[:60], parts))
            elif terminal not in parts[part].terminals:
                problems.add(
                    f"{part} has no terminal {terminal[:60]!r}", end, near_misses(terminal[:60], parts[part].terminals)
                )
        if words[0] and words[1]:
            wires.append((words[0], words[1]))
    return wires


def _settings(node: Node, parts: dict[str, Part], problems: Problems) -> dict[str, Setting]:
    settings = {}
    for name, entry in take_mapping(node, "settings", problems).items():
        given = take_mapping(entry, f"setting {name}", problems, required=("sets", "low", "high"))
        if not {"sets", "low", "high"} <= given.keys():
            continue
        sets = take_text(given["sets"], f"{name}.sets", problems)
        low = take_number(given["low"], f"{name}.low", problems)
        high = take_number(given["high"], f"{name}.high", problems)
        if sets is None or low is None or high is None:
            continue
        part, _, key = sets.partition(".")
        if part not in parts or key not in declared_fields(type(parts[part])):
            problems.add(f"setting {name} moves {sets!r}, which does not exist", entry, "write 'part.field'")
            continue
        if not low < high:
            problems.add(f"setting {name}: low {low:g} is not below high {high:g}", entry, "swap them")
            continue
        settings[name] = Setting(name, sets, low, high)
    return settings
