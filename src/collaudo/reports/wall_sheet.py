"""The wall sheet: what every check shows on a sound machine, in the order in which checks are made.

This is the sheet's content, as text; `wall_sheet_html` and the template ``wall_sheet.typ`` give it its form.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from collaudo.bench.sound.expected import Expectations, Expected, ExpectedCheck, Given
from collaudo.bench.sound.work_order import CONDITIONS, condition_of, turn
from collaudo.quantities.digits import digits_of
from collaudo.quantities.units import unit_of
from collaudo.reports.wording import minutes, number, outcome, printed, quantity, sentence, version

LEAST_CHANCE = 0.05
"""Outcomes that are rarer on a sound machine are not named."""


@dataclass(frozen=True)
class Row:
    """One reading: a range in a unit, or the usual outcome and the others that are seen."""

    title: str
    why: str
    instrument: str = ""
    low: str = ""
    typical: str = ""
    high: str = ""
    unit: str = ""
    usual: str = ""
    others: str = ""


@dataclass(frozen=True)
class Block:
    """One check and its readings."""

    title: str
    why: str
    takes: str
    tools: str
    tags: list[str]
    """What can hurt, and whether the lid has to be off."""
    steps: list[str]
    rows: list[Row]


@dataclass(frozen=True)
class Group:
    """The checks that are made in one condition, and what can hurt in them."""

    condition: str
    title: str
    when: str
    cautions: list[tuple[str, str]]
    """Hazard and caution."""
    blocks: list[Block]


@dataclass(frozen=True)
class WallSheet:
    """All that stands on the sheet."""

    machine: str
    title: str
    site: str
    settings: str
    open: str
    date: str
    version: str
    draws: int
    groups: list[Group]


def wall_sheet(found: Expectations, on: datetime.date) -> WallSheet:
    """The sheet of these expectations, dated ``on``."""
    return WallSheet(
        machine=printed(found.machine),
        title=printed(found.title),
        site=sentence(_given(found.site)) or "Not said: any usual site",
        settings=sentence(_given(found.settings)) or "Not said: any usual setting",
        open=sentence(", ".join(found.open)),
        date=f"{on.day} {on:%B} {on.year}",
        version=version(),
        draws=found.draws,
        groups=list(_groups(found)),
    )


def _given(given: Iterable[Given]) -> str:
    return ", ".join(f"{item.name} {quantity(item.value, item.unit)}" for item in given)


def _groups(found: Expectations) -> Iterable[Group]:
    rows: dict[str, list[Row]] = {}
    for reading in found.readings:
        rows.setdefault(reading.check, []).append(_row(reading))
    for condition, (title, when) in CONDITIONS.items():
        checks = sorted((check for check in found.checks if condition_of(check) == condition), key=turn)
        if not checks:
            continue
        cautions = {
            hazard: printed(caution)
            for check in checks
            for hazard, caution in zip(check.hazards, check.cautions, strict=True)
        }
        blocks = [_block(check, rows[check.check]) for check in checks]
        yield Group(condition, title, when, list(cautions.items()), blocks)


def _block(check: ExpectedCheck, rows: list[Row]) -> Block:
    return Block(
        title=printed(check.title),
        why=printed(check.why),
        takes=minutes(check.minutes, check.wait_minutes),
        tools=printed(", ".join(check.tools)),
        tags=check.hazards + (["lid off"] if check.lid == "off" else []),
        steps=[printed(step) for step in check.steps],
        rows=rows,
    )


def _row(reading: Expected) -> Row:
    title, why = printed(sentence(reading.title)), printed(reading.why)
    if reading.low is None or reading.high is None or not isinstance(reading.typical, float):
        usual = str(reading.typical)
        others = [word for word, chance in _likely(reading) if word != usual and chance >= LEAST_CHANCE]
        return Row(title, why, usual=outcome(usual), others=", ".join(map(outcome, others)))
    digits = digits_of(reading.high, reading.unit)
    low, typical, high = (number(value, digits) for value in (reading.low, reading.typical, reading.high))
    unit = unit_of(reading.unit).text
    return Row(title, why, printed(reading.instrument), low, typical, high, unit)


def _likely(reading: Expected) -> list[tuple[str, float]]:
    return sorted(reading.chances.items(), key=lambda item: -item[1])
