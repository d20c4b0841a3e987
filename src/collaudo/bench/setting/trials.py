"""What a changed setting shows at: the trials and readings of ``library/effects.yaml`` as one machine has
them, and the ranges of ``library/good_ranges.yaml`` in which the trade wants them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache

from collaudo.bench.setting.measures import MEASURES, Measure
from collaudo.checks.files import library_file
from collaudo.checks.formula import Formula, read_formula
from collaudo.checks.roles import bind_roles
from collaudo.errors import CatalogueError, InputError
from collaudo.machine.model import Machine
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_number,
    take_text,
)
from collaudo.quantities.units import UNITS
from collaudo.twin.operations import Operation, read_operations

MORE_AND_LESS: Mapping[str, tuple[str, str]] = {
    "degC": ("hotter", "colder"),
    "bar": ("higher", "lower"),
    "s": ("later", "sooner"),
    "min": ("later", "sooner"),
}
"""What a change is called, by the unit of the reading; else more and less."""


@dataclass(frozen=True)
class Fits:
    """Which machines something is for, by roles (`collaudo.checks.roles`)."""

    needs: frozenset[str]
    unless: frozenset[str] = frozenset()

    def fits(self, roles: Collection[str]) -> bool:
        """Whether a machine with these roles is meant."""
        return self.needs <= set(roles) and not self.unless & set(roles)


@dataclass(frozen=True)
class Way:
    """One formula a reading can be taken by, and what the reading is then called."""

    fits: Fits
    formula: Formula | Measure
    title: str
    link: str


@dataclass(frozen=True)
class Range:
    """From ``low`` to ``high``, in the unit of the reading; None: no such end."""

    low: float | None
    high: float | None


@dataclass(frozen=True)
class TrialReading:
    """One reading of a trial on one machine."""

    id: str
    title: str
    unit: str
    formula: Formula | Measure
    link: str
    """What it is called in a chain of consequences; empty: it is not named there."""
    more: str
    less: str
    wanted: Range | None
    """What the trade wants it to be; None: nothing in particular."""


@dataclass(frozen=True)
class Trial:
    """What is done to the machine, and what is read."""

    id: str
    title: str
    operations: tuple[Operation, ...]
    readings: tuple[TrialReading, ...]


@dataclass(frozen=True)
class _Reading:
    id: str
    unit: str
    more: str
    less: str
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class _Trial:
    id: str
    title: str
    ways: tuple[tuple[Fits, Node], ...]
    readings: tuple[_Reading, ...]


def trials_of(machine: Machine) -> tuple[dict[str, str], tuple[Trial, ...]]:
    """The parts of ``machine`` by role, and its trials; the first begins cold, the others hot at rest."""
    bound = bind_roles(machine)
    problems = Problems()
    found = []
    for trial in _all_trials():
        operations = next((node for fits, node in trial.ways if fits.fits(bound)), None)
        if operations is None:
            continue
        readings = tuple(filter(None, (_reading_on(reading, bound) for reading in trial.readings)))
        done = read_operations(operations, machine, problems, bound)
        found.append(Trial(trial.id, trial.title, done, readings))
    problems.raise_if_any(CatalogueError)
    return bound, tuple(found)


def _reading_on(reading: _Reading, bound: Mapping[str, str]) -> TrialReading | None:
    way = next((way for way in reading.ways if way.fits.fits(bound)), None)
    if way is None:
        return None
    ranges = _good_ranges().get(reading.id, ())
    wanted = next((good for fits, good in ranges if fits.fits(bound)), None)
    return TrialReading(
        reading.id, way.title, reading.unit, way.formula, way.link, reading.more, reading.less, wanted
    )


# --- the files ------------------------------------------------------------------------------------------


@cache
def _all_trials() -> tuple[_Trial, ...]:
    root = _read("effects.yaml")
    problems = Problems()
    found = []
    for name, node in take_mapping(root, "the trials", problems).items():
        given = take_mapping(node, f"trial {name}", problems, required=("title", "ways", "readings"))
        ways = tuple(_way_into(entry, name, problems) for entry in take_list(given["ways"], name, problems))
        marks = {mark for _, operations in ways for mark in _marks(operations)}
        readings = tuple(
            _reading(child, key, marks, problems)
            for key, child in take_mapping(given["readings"], f"{name}.readings", problems).items()
        )
        found.append(_Trial(name, take_text(given["title"], name, problems) or "", ways, readings))
    problems.raise_if_any(CatalogueError)
    return tuple(found)


@cache
def _good_ranges() -> dict[str, tuple[tuple[Fits, Range], ...]]:
    root = _read("good_ranges.yaml")
    problems = Problems()
    known = [reading.id for trial in _all_trials() for reading in trial.readings]
    found = {
        name: tuple(_range(entry, name, problems) for entry in take_list(node, name, problems))
        for name, node in take_mapping(root, "the ranges", problems, allowed=known).items()
    }
    problems.raise_if_any(CatalogueError)
    return found


def _read(name: str) -> Node:
    return read_source(library_file(name).read_bytes(), name=name, error=CatalogueError)


def _way_into(node: Node, trial: str, problems: Problems) -> tuple[Fits, Node]:
    given = take_mapping(node, f"a way of {trial}", problems, required=("for", "operations"))
    return Fits(_roles(given, "for", problems)), given["operations"]


def _marks(operations: Node) -> list[str]:
    """Names of the moments that a list of operations marks."""
    entries = operations.value if isinstance(operations.value, list) else []
    return [
        str(entry.value["mark"].value)
        for entry in entries
        if isinstance(entry.value, dict) and "mark" in entry.value
    ]


def _reading(node: Node, name: str, marks: Collection[str], problems: Problems) -> _Reading:
    given = take_mapping(
        node, name, problems, allowed=("link", "more", "less"), required=("title", "unit", "formula")
    )
    words = {key: take_text(given[key], f"{name}.{key}", problems) or "" for key in given if key != "formula"}
    unit = words.get("unit", "")
    if unit not in UNITS:
        problems.add(f"{name} has the unknown unit {unit!r}", node, "name a suffix of collaudo.quantities")
    more, less = MORE_AND_LESS.get(unit, ("more", "less"))
    texts = given["formula"]
    entries = texts.value if isinstance(texts.value, list) else [texts]
    ways = (_way(entry, words, marks, problems) for entry in entries)
    return _Reading(name, unit, words.get("more", more), words.get("less", less), tuple(filter(None, ways)))


def _way(node: Node, words: Mapping[str, str], marks: Collection[str], problems: Problems) -> Way | None:
    """A formula alone, or one with roles that are needed or not wanted and words of its own."""
    entry: dict[str, Node] = {"text": node}
    if isinstance(node.value, dict):
        allowed = ("for", "unless", "title", "link")
        entry = take_mapping(node, "a formula", problems, allowed=allowed, required=("text",))
    text = take_text(entry["text"], "formula", problems)
    if text is None:
        return None
    try:
        formula = MEASURES.get(text) or read_formula(text, marks)
    except InputError as fault:
        for problem in fault.problems:
            problems.add(problem.message, node, problem.remedy)
        return None
    own: dict[str, str] = {}
    for key in ("title", "link"):
        if key in entry:
            own[key] = take_text(entry[key], key, problems) or ""
    said: dict[str, str] = {**words, **own}
    needs = _roles(entry, "for", problems) | formula.roles
    fits = Fits(needs, _roles(entry, "unless", problems))
    return Way(fits, formula, said.get("title", ""), said.get("link", ""))


def _range(node: Node, name: str, problems: Problems) -> tuple[Fits, Range]:
    given = take_mapping(node, name, problems, allowed=("for", "unless", "low", "high"))
    low, high = (
        take_number(given[key], f"{name}.{key}", problems) if key in given else None
        for key in ("low", "high")
    )
    if (low is None and high is None) or (low is not None and high is not None and low >= high):
        problems.add(f"the range of {name} is empty or has no end", node, "low stands below high")
    return Fits(_roles(given, "for", problems), _roles(given, "unless", problems)), Range(low, high)


def _roles(given: Mapping[str, Node], key: str, problems: Problems) -> frozenset[str]:
    if key not in given:
        return frozenset()
    entries = take_list(given[key], key, problems)
    return frozenset(take_text(entry, key, problems) or "" for entry in entries)
