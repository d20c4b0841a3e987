"""The signatures of one kind of machine: what every cause makes of every reading.

A set holds, for ``c`` causes, ``d`` drawn machines and ``r`` readings, what the twin gave. The same
``d`` machines and sites stand behind every cause, so that differences between causes are not
differences between machines. Values are raw, in the unit of the reading; ``NaN`` (number) and ``-1``
(outcome) mean that the reading did not occur: the lamp never went out, the pressure was never reached.

One file holds it all: a NumPy archive whose ``header`` is JSON (causes, readings, checks, names).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from collaudo.errors import CatalogueError, Problem, unknown_name

Floats = NDArray[np.float64]
Kind = Literal["number", "outcome"]
Scale = Literal["identity", "log", "logit"]
Heat = Literal["any", "cold", "warm", "hot"]
Lid = Literal["any", "on", "off"]

NO_FAULT = "no-fault"
"""Id of the cause "nothing is wrong"; effects of other causes are measured from it."""

FORMAT = 2


@dataclass(frozen=True)
class CauseInfo:
    """One cause: a part and what is wrong with it. "No fault" and "setting" are causes like the others."""

    id: str
    part: str
    title: str
    per_1000: float
    """How many of 1000 jobs it explains; only the proportions between causes matter."""
    repair: str
    """Id of what is done about it; causes that share a repair count as one when hits are counted."""
    repair_minutes: float
    parts_cost_eur: float
    seen: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    """Outcome tables that physics does not give: reading id -> outcome -> chance."""
    history: Mapping[str, float] = field(default_factory=dict)
    """History word -> factor on the odds of this cause."""
    why: str = ""
    remedy: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class ReadingInfo:
    """One observed thing of a check: a number with unit and uncertainty, or one of named outcomes."""

    id: str
    check: str
    title: str
    unit: str = ""
    kind: Kind = "number"
    outcomes: tuple[str, ...] = ()
    scale: Scale = "identity"
    instrument: str = ""
    """Readings taken with one instrument share its bias."""
    bias_sd: float = 0.0
    """Standard deviation of the instrument's bias, in ``unit`` (a share of the reading if ``relative``)."""
    noise_sd: float = 0.0
    """Standard deviation of repeating the reading, in ``unit`` (a share of the reading if ``relative``)."""
    relative: bool = False


@dataclass(frozen=True)
class CheckInfo:
    """One bench test: what it takes, the condition it needs and leaves, and the readings it gives."""

    id: str
    title: str
    minutes: float
    wait_minutes: float = 0.0
    needs: Heat = "any"
    leaves: Heat = "any"
    lid: Lid = "any"
    hazards: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    why: str = ""
    steps: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class SignatureSet:
    """Signatures of all causes on one kind of machine.

    ``severity[c, d]`` in 0..1, ``known[d, k]`` machine and site values named by ``known_names``,
    ``number[c, d, r]`` raw values (``NaN``: did not occur), ``outcome[c, d, r]`` index into the
    outcomes of the reading (``-1``: not applicable or did not occur).
    """

    causes: tuple[CauseInfo, ...]
    readings: tuple[ReadingInfo, ...]
    checks: tuple[CheckInfo, ...]
    known_names: tuple[str, ...]
    severity: Floats
    known: Floats
    number: Floats
    outcome: NDArray[np.int8]
    title: str = ""
    """Of the machine."""
    parts: tuple[str, ...] = ()
    """Names of all its parts."""
    history_words: tuple[str, ...] = ()
    """What may have happened before."""

    def __post_init__(self) -> None:
        if problems := list(_problems(self)):
            raise CatalogueError(problems)

    @cached_property
    def reading_index(self) -> dict[str, int]:
        """Reading id -> position on the last axis of ``number`` and ``outcome``."""
        return {reading.id: i for i, reading in enumerate(self.readings)}

    @cached_property
    def cause_index(self) -> dict[str, int]:
        """Cause id -> position on the first axis."""
        return {cause.id: i for i, cause in enumerate(self.causes)}

    @property
    def no_fault(self) -> int | None:
        """Position of the cause "no fault", or None where the set has none."""
        return self.cause_index.get(NO_FAULT)

    def find_reading(self, reading: str) -> int:
        """Position of a reading; raises UnknownNameError naming the near misses."""
        if reading not in self.reading_index:
            raise unknown_name("reading", reading, self.reading_index)
        return self.reading_index[reading]

    def save(self, path: str | Path, extra: Mapping[str, NDArray[Any]] | None = None) -> None:
        """Write the set to one ``.npz`` file; ``extra`` arrays (a fitted surrogate) go into the same file."""
        arrays: dict[str, NDArray[Any]] = {
            "header": np.frombuffer(json.dumps(_header(self)).encode(), dtype=np.uint8),
            "severity": self.severity,
            "known": self.known,
            "number": self.number,
            "outcome": self.outcome,
            **(extra or {}),
        }
        with Path(path).open("wb") as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]  # stub confuses arrays with allow_pickle

    @classmethod
    def load(cls, path: str | Path) -> SignatureSet:
        """Read a set written by :meth:`save`; raises CatalogueError where it is of another format."""
        with np.load(path, allow_pickle=False) as archive:
            return cls.from_arrays(archive, str(path))

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, NDArray[Any]], file: str = "") -> SignatureSet:
        """The set held by the arrays of an open archive."""
        header = json.loads(arrays["header"].tobytes())
        if header.get("format") != FORMAT:
            raise CatalogueError(
                Problem(
                    f"signatures of format {header.get('format')}",
                    f"build them again (format {FORMAT})",
                    file,
                )
            )
        return cls(
            causes=tuple(_with_tuples(CauseInfo, cause) for cause in header["causes"]),
            readings=tuple(_with_tuples(ReadingInfo, reading) for reading in header["readings"]),
            checks=tuple(_with_tuples(CheckInfo, check) for check in header["checks"]),
            known_names=tuple(header["known_names"]),
            severity=arrays["severity"],
            known=arrays["known"],
            number=arrays["number"],
            outcome=arrays["outcome"],
            title=header["title"],
            parts=tuple(header["parts"]),
            history_words=tuple(header["history_words"]),
        )


def _header(signatures: SignatureSet) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "causes": [asdict(cause) for cause in signatures.causes],
        "readings": [asdict(reading) for reading in signatures.readings],
        "checks": [asdict(check) for check in signatures.checks],
        "known_names": list(signatures.known_names),
        "title": signatures.title,
        "parts": list(signatures.parts),
        "history_words": list(signatures.history_words),
    }


def _with_tuples(kind: Any, fields: dict[str, Any]) -> Any:
    return kind(**{key: tuple(value) if isinstance(value, list) else value for key, value in fields.items()})


def _problems(signatures: SignatureSet) -> Iterable[Problem]:
    yield from _shape_problems(signatures)
    for what, ids in (
        ("cause", [cause.id for cause in signatures.causes]),
        ("reading", [reading.id for reading in signatures.readings]),
        ("check", [check.id for check in signatures.checks]),
    ):
        for double in sorted({name for name in ids if ids.count(name) > 1}):
            yield Problem(f"{what} {double!r} is there twice", f"give every {what} an id of its own")
    for cause in signatures.causes:
        yield from _cause_problems(cause)
    for reading in signatures.readings:
        yield from _reading_problems(reading)
    readings = {reading.id: reading for reading in signatures.readings}
    for check in signatures.checks:
        for name in check.readings:
            if name not in readings:
                yield Problem(
                    f"check {check.id!r} names the unknown reading {name!r}", "use the id of a reading"
                )
    for cause in signatures.causes:
        yield from _seen_problems(cause, readings)


def _shape_problems(signatures: SignatureSet) -> Iterable[Problem]:
    c, r, k = len(signatures.causes), len(signatures.readings), len(signatures.known_names)
    d = signatures.known.shape[0]
    wanted = {"severity": (c, d), "known": (d, k), "number": (c, d, r), "outcome": (c, d, r)}
    for name, shape in wanted.items():
        found = getattr(signatures, name).shape
        if found != shape:
            yield Problem(
                f"array {name!r} has shape {found}", f"shape {shape}: causes, machines, readings or known"
            )
    if c == 0 or d < 2:
        yield Problem(f"{c} causes and {d} machines", "at least one cause and two machines")
    if np.any((signatures.severity < 0) | (signatures.severity > 1) | ~np.isfinite(signatures.severity)):
        yield Problem("a severity lies outside 0..1", "severities from 0 to 1")
    if not np.all(np.isfinite(signatures.known)):
        yield Problem("a known value is not finite", "a number for every machine")


def _cause_problems(cause: CauseInfo) -> Iterable[Problem]:
    if not cause.per_1000 > 0:
        yield Problem(f"cause {cause.id!r} explains {cause.per_1000} of 1000 jobs", "a number above 0")
    if not (cause.repair_minutes >= 0 and cause.parts_cost_eur >= 0):
        yield Problem(f"cause {cause.id!r} has a negative repair time or price", "0 or more")
    for word, factor in cause.history.items():
        if not factor > 0:
            yield Problem(f"cause {cause.id!r}: history {word!r} has the factor {factor}", "a factor above 0")


def _reading_problems(reading: ReadingInfo) -> Iterable[Problem]:
    if reading.kind == "outcome" and len(reading.outcomes) < 2:
        yield Problem(f"reading {reading.id!r} has {len(reading.outcomes)} outcomes", "two outcomes or more")
    if reading.kind == "number" and not (reading.bias_sd >= 0 and reading.noise_sd >= 0):
        yield Problem(f"reading {reading.id!r} has a negative uncertainty", "0 or more")


def _seen_problems(cause: CauseInfo, readings: Mapping[str, ReadingInfo]) -> Iterable[Problem]:
    for name, table in cause.seen.items():
        reading = readings.get(name)
        if reading is None or reading.kind != "outcome":
            yield Problem(
                f"cause {cause.id!r}: {name!r} is not a reading with outcomes", "name such a reading"
            )
            continue
        for outcome in table:
            if outcome not in reading.outcomes:
                yield Problem(
                    f"cause {cause.id!r}: reading {name!r} has no outcome {outcome!r}",
                    ", ".join(reading.outcomes),
                )
        if min(table.values(), default=0.0) < 0 or not 0 < sum(table.values()) <= 1 + 1e-9:
            yield Problem(
                f"cause {cause.id!r}: chances of {name!r} are not chances", "0 or more, summing to 1"
            )
