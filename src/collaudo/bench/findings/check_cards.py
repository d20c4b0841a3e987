"""Checks as cards to work from: how, with what, in which condition, and what a sound machine shows."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from collaudo.bench.check_facts import CheckFacts
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.findings.words import word_in_words
from collaudo.bench.sound.expected import Expected
from collaudo.checks.check import Check, Reading, cautions
from collaudo.checks.course import MachineCheck

STOPWATCH_s = 10
LEAST_TIMER_s = 20
"""Shorter times are counted."""


@dataclass(frozen=True)
class Timer:
    """A time that a check waits."""

    title: str
    seconds: int


@dataclass(frozen=True)
class OutcomeCard:
    """One thing a reading in words may be."""

    word: str
    text: str


@dataclass(frozen=True)
class ReadingCard:
    """One reading of a check, and what a sound machine shows here, as far as it is known."""

    reading: str
    title: str
    kind: str
    """``number`` or ``outcome``."""
    unit: str
    outcomes: list[OutcomeCard]
    instrument: str
    step: float | None
    """By which plus and minus change a number, in ``unit``."""
    why: str
    low: float | None = None
    typical: float | None = None
    high: float | None = None
    chances: dict[str, float] = field(default_factory=dict)
    """Of each outcome on a sound machine."""
    usually_never: bool = False
    """On most sound machines this does not come about."""
    taken: list[str] = field(default_factory=list)
    """Entries that hold it."""


@dataclass(frozen=True)
class CheckCard(CheckFacts):
    """One check, to be made now: minutes are those from the condition now, and bringing the machine into the
    condition it needs counts as waiting."""

    saves_min: float | None
    """By how much it is expected to shorten the way to a repaired machine; None: by nothing, or not known."""
    timers: list[Timer]
    stopwatch_s: int | None
    readings: list[ReadingCard]


def card_of(
    item: MachineCheck,
    expected: Mapping[str, Expected] | None = None,
    taken: Mapping[str, Sequence[str]] | None = None,
    times: tuple[float, float] | None = None,
    saves_min: float | None = None,
) -> CheckCard:
    """The card of a check. ``expected`` and ``taken`` go by ``check.reading``; ``times`` are its minutes at
    work and of waiting from the condition now, where these are known."""
    check = item.check
    minutes, wait_minutes = times or (check.minutes, check.wait_minutes)
    return CheckCard(
        check=check.id,
        title=check.title,
        why=check.why,
        steps=list(check.steps),
        tools=list(check.tools),
        minutes=minutes,
        wait_minutes=wait_minutes,
        needs=check.needs,
        leaves=check.leaves,
        lid=check.lid,
        hazards=list(check.hazards),
        cautions=[cautions()[hazard] for hazard in check.hazards],
        saves_min=saves_min if saves_min is not None and saves_min > 0.0 else None,
        timers=timers_of(check),
        stopwatch_s=stopwatch_of(check),
        readings=[
            _reading(one, (expected or {}).get(one.id), (taken or {}).get(one.id, ()))
            for one in item.readings
        ],
    )


def _reading(reading: Reading, expected: Expected | None, taken: Sequence[str]) -> ReadingCard:
    typical = expected.typical if expected and isinstance(expected.typical, float) else None
    return ReadingCard(
        reading=reading.id.partition(".")[2],
        title=reading.title,
        kind="outcome" if reading.outcomes else "number",
        unit=reading.unit,
        outcomes=[OutcomeCard(one.name, word_in_words(one.name)) for one in reading.outcomes],
        instrument=reading.instrument.replace("_", " "),
        step=None if reading.outcomes else step_of(reading, typical),
        why=reading.why,
        low=expected.low if expected else None,
        typical=typical,
        high=expected.high if expected else None,
        chances=dict(expected.chances) if expected else {},
        usually_never=bool(expected and not reading.outcomes and expected.typical == "never"),
        taken=list(taken),
    )


_STEP_BY_UNIT = {"V": 1.0, "A": 0.1, "ohm": 1.0, "uF": 0.1, "g": 1.0, "s": 1.0, "min": 0.5, "count": 1.0}


def step_of(reading: Reading, typical: float | None) -> float:
    """A step of plus and minus: what the instrument can tell apart, rounded to 1, 2 or 5 of a decade."""
    if reading.unit == "count" or reading.instrument == "counting":
        return 1.0
    noise = reading.noise * abs(typical or 0.0) if reading.relative else reading.noise
    return _round(noise) if noise > 0.0 else _STEP_BY_UNIT.get(reading.unit, 1.0)


def _round(value: float) -> float:
    exponent = math.floor(math.log10(value))
    decade = 10.0**exponent
    nearest = min((1.0, 2.0, 5.0, 10.0), key=lambda step: abs(math.log(step * decade / value)))
    return float(f"{nearest * decade:.1g}")


_TIMES = re.compile(r"((?:\d+(?:, | and | to ))*\d+)\s+(s|min|minutes?)\b")
_SECONDS = {"s": 1, "min": 60, "minute": 60, "minutes": 60}
_SAID = (("half a minute", 30), ("wait a minute", 60))


def timers_of(check: Check) -> list[Timer]:
    """The times named in the steps of a check, and its waiting where no step names one."""
    found: dict[int, str] = {}
    for step in check.steps:
        for numbers, unit in _TIMES.findall(step):
            for number in re.findall(r"\d+", numbers):
                found.setdefault(int(number) * _SECONDS[unit], f"{number} {unit.replace('minutes', 'min')}")
        for said, seconds in _SAID:
            if said in step:
                found.setdefault(seconds, f"{seconds} s" if seconds < 60 else "1 min")
    if check.wait_minutes and not any(seconds >= 60 for seconds in found):
        found[round(60 * check.wait_minutes)] = f"{check.wait_minutes:g} min"
    return [
        Timer(f"{check.title}: {text}", seconds)
        for seconds, text in sorted(found.items())
        if seconds >= LEAST_TIMER_s
    ]


def stopwatch_of(check: Check) -> int | None:
    """Seconds for which something is caught or weighed, where the steps say ten."""
    return STOPWATCH_s if any(re.search(rf"\b{STOPWATCH_s} s\b", step) for step in check.steps) else None


def natural_order(words: MachineWords, heat: str) -> list[MachineCheck]:
    """Checks as they are made where nothing is known yet: what can be made in the condition now, without
    waiting before what waits, lid off before what needs power, soonest done; so looking comes first."""

    def place(item: MachineCheck) -> tuple[bool, bool, bool, float, str]:
        check = item.check
        apart = check.needs not in ("any", heat)
        return apart, check.wait_minutes > 0, check.lid != "off", check.minutes, check.id

    return sorted(words.checks.values(), key=place)
