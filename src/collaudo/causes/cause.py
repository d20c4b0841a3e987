"""Causes as the library declares them, one file each, for every machine that has the parts.

A cause says which part is at fault and why; how it changes declared values of the machine from just
noticeable (severity 0) to worst (1); which devices stand still; what else is seen that physics does not give,
with its chance; how common it is and what raises its odds; and what is done about it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from collaudo.checks.check import HAZARDS, all_checks, texts
from collaudo.checks.files import COMPLAINT, library_file, library_folder
from collaudo.checks.roles import all_roles
from collaudo.errors import CatalogueError, near_misses
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_flag,
    take_list,
    take_mapping,
    take_number,
    take_text,
)


@dataclass(frozen=True)
class Effect:
    """How a value changes: ``times``, ``plus`` or ``to`` two numbers (mild, worst), or ``becomes`` a word."""

    target: str
    """``role.field``, ``setting.name`` or ``site.name``."""
    way: str
    mild: float = 0.0
    worst: float = 0.0
    log: bool = False
    word: str = ""


@dataclass(frozen=True)
class Cause:
    """One thing that may be wrong."""

    id: str
    title: str
    part: str
    """Role of the part at fault."""
    why: str
    per_1000: float
    effects: tuple[Effect, ...]
    held: Mapping[str, bool]
    """Role of a device -> whether it stands acted or at rest."""
    seen: Mapping[str, Mapping[str, float]]
    """Reading in words -> outcome -> chance; the complaint among them."""
    history: Mapping[str, float]
    repair: str
    remedy: str
    minutes: float
    parts_eur: float
    hazards: tuple[str, ...]
    for_roles: tuple[str, ...] = ()
    """Roles of machines on which it shows, besides those it changes."""

    @property
    def roles(self) -> frozenset[str]:
        """Roles a machine must have for it."""
        targets = (effect.target.partition(".")[0] for effect in self.effects)
        changed = (role for role in targets if role in all_roles())
        return frozenset([self.part, *self.held, *self.for_roles, *changed])


@cache
def history_words() -> dict[str, str]:
    """What may have happened before, of ``library/history.yaml``."""
    root = read_source(library_file("history.yaml").read_bytes(), name="history.yaml", error=CatalogueError)
    problems = Problems()
    words = {
        key: take_text(node, key, problems) or ""
        for key, node in take_mapping(root, "history", problems).items()
    }
    problems.raise_if_any(CatalogueError)
    return words


@cache
def all_causes() -> tuple[Cause, ...]:
    """Every cause of the library by name; `CatalogueError` listing all faults."""
    problems = Problems()
    outcomes = {
        reading.id: tuple(outcome.name for outcome in reading.outcomes)
        for check in all_checks()
        for reading in check.readings
        if reading.by_chance
    }
    causes = []
    for file in library_folder("causes"):
        root = read_source(file.read_bytes(), name=f"causes/{file.name}", error=CatalogueError)
        causes.append(_cause(root, file.name.removesuffix(".yaml"), outcomes, problems))
    problems.raise_if_any(CatalogueError)
    return tuple(causes)


_REQUIRED = (
    "title",
    "part",
    "why",
    "per_1000",
    "repair",
    "remedy",
    "minutes",
    "parts_eur",
    "complaints",
    "hazards",
)
_ALLOWED = ("effects", "held", "seen", "history", "for")


def _cause(root: Node, name: str, outcomes: Mapping[str, tuple[str, ...]], problems: Problems) -> Cause:
    given = take_mapping(root, f"cause {name}", problems, allowed=_ALLOWED, required=_REQUIRED)

    def word(key: str, known: tuple[str, ...] = ()) -> str:
        return (take_text(given[key], key, problems, known=known) or "") if key in given else ""

    def number(key: str) -> float:
        value = take_number(given[key], key, problems) if key in given else None
        if value is not None and value < 0.0:
            problems.add(f"{key} is {value:g}", given[key], "0 or more")
        return value or 0.0

    tables = dict(take_mapping(given["seen"], "seen", problems)) if "seen" in given else {}
    if "complaints" in given:
        tables[COMPLAINT] = given["complaints"]
    return Cause(
        id=name,
        title=word("title"),
        part=word("part", tuple(all_roles())),
        why=word("why"),
        per_1000=number("per_1000"),
        effects=_effects(given["effects"], problems) if "effects" in given else (),
        held=_held(given["held"], problems) if "held" in given else {},
        seen={key: _table(key, node, outcomes, problems) for key, node in tables.items()},
        history=_history(given["history"], problems) if "history" in given else {},
        repair=word("repair"),
        remedy=word("remedy"),
        minutes=number("minutes"),
        parts_eur=number("parts_eur"),
        hazards=texts(given["hazards"], "hazards", problems, HAZARDS) if "hazards" in given else (),
        for_roles=texts(given["for"], "for", problems, tuple(all_roles())) if "for" in given else (),
    )


def _effects(node: Node, problems: Problems) -> tuple[Effect, ...]:
    effects = []
    for target, child in take_mapping(node, "effects", problems).items():
        start = target.partition(".")[0]
        if start not in ("setting", "site") and start not in all_roles():
            problems.add(f"effect on the unknown role {start!r}", child, near_misses(start, all_roles()))
        given = take_mapping(child, target, problems, allowed=("times", "plus", "to", "becomes", "log"))
        ways = [key for key in given if key != "log"]
        if len(ways) != 1:
            problems.add(
                f"effect on {target} says {len(ways)} ways", child, "one of times, plus, to, becomes"
            )
            continue
        if ways == ["becomes"]:
            effects.append(
                Effect(target, "becomes", word=take_text(given["becomes"], target, problems) or "")
            )
            continue
        pair = [take_number(x, target, problems) or 0.0 for x in take_list(given[ways[0]], target, problems)]
        if len(pair) != 2:
            problems.add(f"effect on {target} has {len(pair)} numbers", child, "two, mild and worst")
            continue
        log = "log" in given and take_flag(given["log"], "log", problems) is True
        if log and min(pair) <= 0.0:
            problems.add(f"effect on {target} goes through zero", child, "leave 'log' out")
            continue
        effects.append(Effect(target, ways[0], pair[0], pair[1], log))
    return tuple(effects)


def _held(node: Node, problems: Problems) -> dict[str, bool]:
    held = {}
    for role, child in take_mapping(node, "held", problems).items():
        if role not in all_roles():
            problems.add(f"unknown role {role!r} held", child, near_misses(role, all_roles()))
        held[role] = take_text(child, f"held.{role}", problems, known=("acts", "rests")) == "acts"
    return held


def _table(
    reading: str, node: Node, outcomes: Mapping[str, tuple[str, ...]], problems: Problems
) -> dict[str, float]:
    if reading not in outcomes:
        problems.add(
            f"seen: {reading!r} is no reading that chances decide", node, near_misses(reading, outcomes)
        )
        return {}
    table = {}
    for word, child in take_mapping(node, reading, problems, allowed=outcomes[reading]).items():
        table[word] = take_number(child, f"{reading}.{word}", problems) or 0.0
    if not 0.0 < sum(table.values()) <= 1.0 + 1e-9:
        problems.add(f"chances of {reading} sum to {sum(table.values()):g}", node, "above 0 and up to 1")
    return table


def _history(node: Node, problems: Problems) -> dict[str, float]:
    given = take_mapping(node, "history", problems, allowed=tuple(history_words()))
    return {word: take_number(child, word, problems) or 1.0 for word, child in given.items()}
