"""Expected readings as they are shown beside the machine: with what was said of it, against what any usual
site and setting would give; and, while the ranges are being made, what the twin of one machine shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collaudo.bench.findings.held_signatures import Held
from collaudo.bench.findings.machine_words import MachineWords, Sayable
from collaudo.bench.findings.words import chance_in_words, word_in_words
from collaudo.bench.machines.handle import Machine
from collaudo.bench.sound.expect import expect_from, narrowed
from collaudo.bench.sound.expected import Expectations, Expected
from collaudo.checks.check import Check, cautions
from collaudo.checks.course import course_for
from collaudo.checks.roles import bind_roles
from collaudo.errors import unknown_name
from collaudo.machine.site import KEYS, site_from
from collaudo.quantities.units import split_suffix

LEAST_CHANCE = 0.05
"""Outcomes that are rarer on a sound machine are not named."""
MOVED = 0.1
"""A range has moved when an end of it or its middle has, by this share of its width."""


@dataclass(frozen=True)
class Said:
    """What was said of a machine; every key ends in its unit (``mains_V``, ``boiler_pressure_bar``,
    ``boiler.volume_l``)."""

    site: Mapping[str, float]
    settings: Mapping[str, float]
    known: Mapping[str, float]


@dataclass(frozen=True)
class Others:
    """Another outcome that is seen on sound machines, and how often."""

    word: str
    chance: str


@dataclass(frozen=True)
class ExpectedReading:
    """What one reading shows on a sound machine."""

    check: str
    reading: str
    unit: str
    low: float | None
    typical: float | None
    high: float | None
    """Nine of ten sound machines lie between low and high; only ``typical`` while these are being made."""
    word: str
    """The usual outcome, of a reading that is one; ``never`` where a number does not come about."""
    others: list[Others]
    usual_low: float | None
    usual_typical: float | None
    usual_high: float | None
    """The same where nothing is said of site and settings."""
    moved: bool
    """Whether what was said moves it."""


@dataclass(frozen=True)
class Asked:
    """What may be said of a machine, so that the ranges narrow."""

    site: list[Sayable]
    settings: list[Sayable]
    known: list[Sayable]


def asked_of(words: MachineWords) -> Asked:
    """The site values, settings and measures that move any expected reading."""
    names = words.vocabulary.known_names
    bound = bind_roles(Machine.named(words.place).model)
    site = [one for key, one in words.site.items() if f"site.{KEYS[key][0]}" in names]
    if "water_line" not in bound:
        site = [one for one in site if not one.key.startswith("feed_")]
    return Asked(site, list(words.settings.values()), list(words.known.values()))


def checks_of(words: MachineWords) -> list[Check]:
    """Every check that is made on the machine, with those of its readings that it has."""
    return [replace(item.check, readings=item.readings) for item in words.checks.values()]


def cautions_of(checks: Sequence[Check]) -> list[str]:
    """The usual cautions of several checks, each once."""
    hazards = dict.fromkeys(hazard for check in checks for hazard in check.hazards)
    return [cautions()[hazard] for hazard in hazards]


def expectations(words: MachineWords, held: Held, said: Said) -> Expectations:
    """Everything about them, as papers need it. `InputError` for what cannot be."""
    return expect_from(held.signatures, held.surrogate, words.id, *_texts(said))


@dataclass(frozen=True)
class ExpectedNow:
    """Expected readings with what was said."""

    readings: list[ExpectedReading]
    unused: list[str]
    """What was said and moves no reading."""
    open: list[str]
    """What would narrow the ranges and was not said."""


def expected_now(words: MachineWords, held: Held, said: Said) -> ExpectedNow:
    """Expected readings with what was said, each beside what is usual; `InputError` for what cannot be."""
    what = narrowed(held.signatures, words.id, *_texts(said))
    usual = held.expected({})
    found = held.expected(what.known)
    return ExpectedNow([_told(one, usual[name]) for name, one in found.items()], what.unused, what.open)


def _texts(said: Said) -> tuple[dict[str, str], dict[str, str], dict[str, str]]:
    """As options and files write it."""
    site, settings, known = (
        {key: f"{value:.10g}" for key, value in told.items()}
        for told in (said.site, said.settings, said.known)
    )
    return site, settings, known


def _told(found: Expected, usual: Expected) -> ExpectedReading:
    typical = found.typical if isinstance(found.typical, float) else None
    word = "" if typical is not None else word_in_words(str(found.typical))
    others = [
        Others(word_in_words(name), chance_in_words(chance))
        for name, chance in sorted(found.chances.items(), key=lambda item: -item[1])
        if name != found.typical and chance >= LEAST_CHANCE
    ]
    was = usual.typical if isinstance(usual.typical, float) else None
    return ExpectedReading(
        found.check, found.reading, found.unit, found.low, typical, found.high, word, others,
        usual.low, was, usual.high, _moved(found, usual),
    )  # fmt: skip


def _moved(found: Expected, usual: Expected) -> bool:
    if isinstance(found.typical, str) or isinstance(usual.typical, str):
        return found.typical != usual.typical
    pairs = ((found.low, usual.low), (found.typical, usual.typical), (found.high, usual.high))
    if usual.low is None or usual.high is None or any(a is None or b is None for a, b in pairs):
        return False
    width = max(usual.high - usual.low, 1e-9)
    return any(abs(a - b) > MOVED * width for a, b in pairs if a is not None and b is not None)


# --- while the ranges are being made --------------------------------------------------------------------


def typical_now(words: MachineWords, said: Said) -> list[ExpectedReading]:
    """What the twin of one sound machine shows: no range, and nothing that only chance decides.

    Kept for what was said last: the page asks every second how far the ranges are.
    """
    of = (words.key, *(tuple(sorted(told.items())) for told in (said.site, said.settings, said.known)))
    if of not in _last_typical:
        found = _typical(words, said)
        _last_typical.clear()
        _last_typical[of] = found
    return _last_typical.get(of) or _typical(words, said)


_last_typical: dict[object, list[ExpectedReading]] = {}


def _typical(words: MachineWords, said: Said) -> list[ExpectedReading]:
    from collaudo.checks.course import take_all

    machine = _as_said(words, said)
    course = course_for(machine.model)
    site = site_from({key: f"{value:.10g}" for key, value in said.site.items()}, machine.model)
    taken = take_all(course, machine.model, site)
    found = []
    for item in course.checks:
        for reading in item.readings if not item.check.asked else ():
            value = taken.get(reading.id)
            number = value if isinstance(value, float) else None
            by_twin = number is None and reading.id in taken
            told = word_in_words(str(value or "never")) if by_twin else ""
            word = reading.id.partition(".")[2]
            found.append(
                ExpectedReading(
                    item.check.id, word, reading.unit, None, number, None, told, [], None, None, None,
                    moved=False,
                )
            )  # fmt: skip
    return found


def _as_said(words: MachineWords, said: Said) -> Machine:
    """The machine with its settings and its own values as they were said."""
    values: dict[str, float] = dict(said.known)
    for key, value in said.settings.items():
        if key not in words.settings:
            raise unknown_name(f"setting of {words.id}", key[:60], words.settings)
        values[split_suffix(key)[0]] = value
    machine = Machine.named(words.place)
    return machine.with_values(values) if values else machine
