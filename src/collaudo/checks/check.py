"""Bench checks as the library declares them, one file each, for every machine that has the parts.

A check says in words what is done and with what, how long it takes, which condition it needs and leaves, and
what can hurt; the operations the twin performs in its place; and its readings. A reading is a number (a
formula over the run) or one of named outcomes. An outcome is what a formula says, or, where the twin cannot
know (a smell, a wet place), its chance on a sound machine; causes change that chance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from collaudo.checks.files import library_file, library_folder
from collaudo.checks.formula import Formula, read_formula
from collaudo.errors import CatalogueError, InputError
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_number,
    take_text,
)

HEATS = ("any", "cold", "hot")
LIDS = ("any", "on", "off")
SCALES = ("identity", "log", "logit")
HAZARDS = ("scald", "pressure", "mains", "heavy", "sharp")


@dataclass(frozen=True)
class Instrument:
    """What readings are taken with: bias (one for all its readings) and noise, as standard deviations."""

    name: str
    bias: float
    noise: float
    relative: bool


@dataclass(frozen=True)
class Outcome:
    """One thing a reading in words may be: the first whose formula holds, or by chance where it has none."""

    name: str
    formula: Formula | None = None
    chance: float = 0.0
    """On a sound machine, where no formula decides."""


@dataclass(frozen=True)
class Reading:
    """One observed thing of a check; ``id`` is ``check.reading``."""

    id: str
    title: str
    unit: str = ""
    scale: str = "identity"
    instrument: str = ""
    bias: float = 0.0
    noise: float = 0.0
    relative: bool = False
    formula: Formula | None = None
    outcomes: tuple[Outcome, ...] = ()
    why: str = ""
    """What makes a sound machine show this, and what it is when it does not; half a line."""
    for_roles: tuple[str, ...] = ()
    """Roles without which there is no such reading, besides those its formulas name."""

    @property
    def by_chance(self) -> bool:
        """Whether chances, not the twin, say what it shows."""
        return bool(self.outcomes) and all(outcome.formula is None for outcome in self.outcomes)

    @property
    def roles(self) -> frozenset[str]:
        """Roles it needs."""
        formulas = [self.formula, *(outcome.formula for outcome in self.outcomes)]
        return frozenset(self.for_roles).union(*(formula.roles for formula in formulas if formula))


@dataclass(frozen=True)
class Check:
    """One bench check."""

    id: str
    title: str
    why: str
    steps: tuple[str, ...]
    tools: tuple[str, ...]
    minutes: float
    wait_minutes: float
    needs: str
    leaves: str
    lid: str
    hazards: tuple[str, ...]
    for_roles: tuple[str, ...]
    """Roles without which it cannot be made."""
    unless_roles: tuple[str, ...]
    """Roles of machines it is not for (they have a better one)."""
    operations: Node | None
    readings: tuple[Reading, ...]
    asked: bool
    """A question of the first minute (what is complained of), never a check to come."""


@cache
def instruments() -> dict[str, Instrument]:
    """The instruments of ``library/instruments.yaml``."""
    root = read_source(
        library_file("instruments.yaml").read_bytes(), name="instruments.yaml", error=CatalogueError
    )
    problems = Problems()
    found = {}
    for name, node in take_mapping(root, "the instruments", problems).items():
        given = take_mapping(node, name, problems, allowed=("bias", "noise", "relative"))
        values = {
            key: take_number(child, key, problems) or 0.0 for key, child in given.items() if key != "relative"
        }
        relative = "relative" in given and given["relative"].value is True
        found[name] = Instrument(name, values.get("bias", 0.0), values.get("noise", 0.0), relative)
    problems.raise_if_any(CatalogueError)
    return found


@cache
def cautions() -> dict[str, str]:
    """The usual caution for each hazard, of ``library/cautions.yaml``."""
    root = read_source(library_file("cautions.yaml").read_bytes(), name="cautions.yaml", error=CatalogueError)
    problems = Problems()
    texts = {
        name: take_text(node, name, problems) or ""
        for name, node in take_mapping(
            root, "the cautions", problems, allowed=HAZARDS, required=HAZARDS
        ).items()
    }
    problems.raise_if_any(CatalogueError)
    return texts


@cache
def all_checks() -> tuple[Check, ...]:
    """Every check of the library, in the order of the files' names; `CatalogueError` listing all faults."""
    problems = Problems()
    checks = []
    for file in library_folder("checks"):
        root = read_source(file.read_bytes(), name=f"checks/{file.name}", error=CatalogueError)
        checks.append(_check(root, file.name.removesuffix(".yaml"), problems))
    problems.raise_if_any(CatalogueError)
    return tuple(checks)


_REQUIRED = ("title", "why", "minutes", "readings")
_ALLOWED = (
    "steps",
    "tools",
    "wait_minutes",
    "needs",
    "leaves",
    "lid",
    "hazards",
    "for",
    "unless",
    "operations",
    "asked",
)


def texts(node: Node, what: str, problems: Problems, known: tuple[str, ...] = ()) -> tuple[str, ...]:
    """A list of texts."""
    return tuple(
        take_text(entry, what, problems, known=known) or "" for entry in take_list(node, what, problems)
    )


def _check(root: Node, name: str, problems: Problems) -> Check:
    given = take_mapping(root, f"check {name}", problems, allowed=_ALLOWED, required=_REQUIRED)

    def word(key: str, default: str, known: tuple[str, ...] = ()) -> str:
        return (take_text(given[key], key, problems, known=known) or default) if key in given else default

    def number(key: str) -> float:
        return (take_number(given[key], key, problems) or 0.0) if key in given else 0.0

    def several(key: str, known: tuple[str, ...] = ()) -> tuple[str, ...]:
        return texts(given[key], key, problems, known) if key in given else ()

    operations = given.get("operations")
    marks = _marks(operations) if operations else ()
    readings = given.get("readings")
    return Check(
        id=name,
        title=word("title", name),
        why=word("why", ""),
        steps=several("steps"),
        tools=several("tools"),
        minutes=number("minutes"),
        wait_minutes=number("wait_minutes"),
        needs=word("needs", "any", HEATS),
        leaves=word("leaves", "any", HEATS),
        lid=word("lid", "any", LIDS),
        hazards=several("hazards", HAZARDS),
        for_roles=several("for"),
        unless_roles=several("unless"),
        operations=operations,
        readings=tuple(
            _reading(child, f"{name}.{key}", marks, problems)
            for key, child in (take_mapping(readings, "readings", problems) if readings else {}).items()
        ),
        asked="asked" in given and given["asked"].value is True,
    )


def _marks(operations: Node) -> tuple[str, ...]:
    """Names of the moments that a list of operations marks."""
    entries = operations.value if isinstance(operations.value, list) else []
    found = [
        entry.value["mark"].value
        for entry in entries
        if isinstance(entry.value, dict) and "mark" in entry.value
    ]
    return tuple(str(name) for name in found)


def _reading(node: Node, name: str, marks: tuple[str, ...], problems: Problems) -> Reading:
    allowed = ("title", "why", "unit", "scale", "with", "bias", "noise", "formula", "outcomes", "for")
    given = take_mapping(node, name, problems, allowed=allowed, required=("title",))

    def word(key: str, known: tuple[str, ...] = ()) -> str:
        return (take_text(given[key], f"{name}.{key}", problems, known=known) or "") if key in given else ""

    instrument = instruments().get(word("with", tuple(instruments()))) or Instrument("", 0.0, 0.0, False)
    bias, noise = instrument.bias, instrument.noise
    if "bias" in given:
        bias = take_number(given["bias"], f"{name}.bias", problems) or 0.0
    if "noise" in given:
        noise = take_number(given["noise"], f"{name}.noise", problems) or 0.0
    formula = _formula(given["formula"], marks, problems) if "formula" in given else None
    outcomes = _outcomes(given["outcomes"], name, marks, problems) if "outcomes" in given else ()
    if (formula is None) == (not outcomes):
        problems.add(f"reading {name} has formula and outcomes, or neither", node, "give one of the two")
    if formula and not instrument.name:
        problems.add(
            f"reading {name} is taken with no instrument", node, "add 'with: …' (library/instruments.yaml)"
        )
    return Reading(
        name, word("title"), word("unit"), word("scale", SCALES) or "identity", instrument.name,
        bias, noise, instrument.relative, formula, outcomes, word("why"),
        texts(given["for"], f"{name}.for", problems) if "for" in given else (),
    )  # fmt: skip


def _outcomes(node: Node, name: str, marks: tuple[str, ...], problems: Problems) -> tuple[Outcome, ...]:
    """``word: formula`` (the last may be ``word: otherwise``), or ``word: chance`` on a sound machine."""
    found = []
    for word, child in take_mapping(node, f"{name}.outcomes", problems).items():
        if isinstance(child.value, int | float):
            found.append(Outcome(word, None, float(child.value)))
        elif child.value == "otherwise":
            found.append(Outcome(word, read_formula("start >= start", marks)))
        else:
            found.append(Outcome(word, _formula(child, marks, problems)))
    if 0 < sum(outcome.formula is None for outcome in found) < len(found):
        problems.add(f"outcomes of {name} are partly formulas, partly chances", node, "use one of the two")
    return tuple(found)


def _formula(node: Node, marks: tuple[str, ...], problems: Problems) -> Formula | None:
    text = take_text(node, "formula", problems)
    if text is None:
        return None
    try:
        return read_formula(text, marks)
    except InputError as fault:
        for problem in fault.problems:
            problems.add(problem.message, node, problem.remedy)
        return None


def sound_chances(reading: Reading) -> Mapping[str, float]:
    """Chance of each outcome on a sound machine, for readings that the twin cannot know."""
    return {outcome.name: outcome.chance for outcome in reading.outcomes}
