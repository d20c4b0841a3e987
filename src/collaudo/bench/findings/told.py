"""What an answer to a findings sheet consists of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from collaudo.bench.findings.asking_for import Ask
from collaudo.bench.findings.check_cards import CheckCard


@dataclass(frozen=True)
class CauseTold:
    """One cause and its chance."""

    cause: str
    part: str
    title: str
    chance: str
    share: float
    """The same rounded to a hundredth, as the length of a bar."""
    why: str
    remedy: str
    minutes: float
    parts_eur: float
    cautions: list[str]
    """Of its remedy."""
    for_: list[str]
    """What speaks for it; ``for`` in JSON."""
    against: list[str]

    __pydantic_config__: ClassVar[dict[str, Any]] = {
        "alias_generator": lambda name: name.removesuffix("_"),
        "populate_by_name": True,
    }


@dataclass(frozen=True)
class RangeTold:
    """Nine of ten lie between low and high."""

    low: float
    typical: float
    high: float


@dataclass(frozen=True)
class PredictedTold:
    """What one leading cause makes of a finding."""

    cause: str
    low: float | None
    typical: float | None
    high: float | None
    chance: float | None
    """Of what was found, where it is a word; None for numbers."""
    speaks: str


@dataclass(frozen=True)
class FindingTold:
    """A finding, what a sound machine shows, and what the leading causes make of it."""

    entry: str
    """Of the sheet; empty for a complaint."""
    check: str
    reading: str
    title: str
    value: float | str | None
    unit: str
    doubted: bool
    unexplained: bool
    expected: RangeTold | None
    chances: dict[str, float]
    """Of the outcomes of a reading in words on a sound machine."""
    predicted: list[PredictedTold]


@dataclass(frozen=True)
class RepairTold:
    """The repair to make if no further check is worth its time."""

    cause: str
    title: str
    part: str
    remedy: str
    minutes: float
    now: bool
    """Whether it is the next thing to do."""
    cautions: list[str]
    done: list[str]
    """What may have been done to the part, as entries of the kind ``part`` say it."""
    before: str
    """What comes before a part is replaced, where the cause is not sure; else empty."""


@dataclass(frozen=True)
class SheetAnswer:
    """What a sheet says now."""

    ready: str
    """``none`` (no signatures yet), ``first`` (from a few drawn machines) or ``whole``."""
    draws: int
    of_draws: int
    building: bool
    left_s: float | None
    causes: list[CauseTold]
    findings: list[FindingTold]
    next: CheckCard | None
    """The best check; None while a stop word is set, or where none is open. Where ``repair.now``, the repair
    comes before it."""
    alternative: CheckCard | None
    """Best of those that need another tool or another condition, else the second best."""
    others: list[CheckCard]
    repair: RepairTold | None
    unexplained: list[str]
    cautions: list[str]
    asks: list[Ask]
    """What would change the answer now, and was not said."""


@dataclass(frozen=True)
class Building:
    """How far the signatures of a machine are being built."""

    building: bool = False
    draws: int = 0
    left_s: float | None = None
