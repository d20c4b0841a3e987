"""The checks and causes of the library, of all machines or of one, and a findings file to fill in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from collaudo.causes.cause import Cause, all_causes, history_words
from collaudo.causes.draws import spreads_of
from collaudo.causes.faults import causes_for
from collaudo.checks.check import Check, Reading, all_checks, cautions
from collaudo.checks.course import course_for
from collaudo.checks.files import COMPLAINT
from collaudo.errors import unknown_name
from collaudo.machine.load import find_machine
from collaudo.machine.site import KEYS
from collaudo.quantities.units import split_suffix

T = TypeVar("T")


@dataclass(frozen=True)
class ListedReading:
    """What a check gives: a number in a unit, or one of some outcomes."""

    reading: str
    title: str
    unit: str
    outcomes: list[str]


@dataclass(frozen=True)
class ListedCheck:
    """A check as a technician needs it."""

    check: str
    title: str
    why: str
    minutes: float
    wait_minutes: float
    needs: str
    leaves: str
    lid: str
    steps: list[str]
    tools: list[str]
    cautions: list[str]
    readings: list[ListedReading]


@dataclass(frozen=True)
class ListedCause:
    """A cause as a technician needs it."""

    cause: str
    title: str
    part: str
    """Of the machine; of no machine in particular, the role it plays."""
    why: str
    remedy: str
    minutes: float
    parts_eur: float
    per_1000: float
    cautions: list[str]


@dataclass(frozen=True)
class Words:
    """Everything a findings file of a machine may name."""

    machine: str
    title: str
    site: dict[str, tuple[float, float]]
    """Key, which ends in its unit -> least, most."""
    settings: dict[str, tuple[str, float, float]]
    """Name -> unit, low, high."""
    known: list[str]
    complaints: list[str]
    history: dict[str, str]
    parts: list[str]
    checks: list[ListedCheck]


def list_checks(machine: str = "", check: str = "") -> list[ListedCheck]:
    """Checks of the library, those of a machine where one is named, or one of them."""
    if machine:
        course = course_for(find_machine(machine))
        found = [replace(item.check, readings=item.readings) for item in course.checks]
    else:
        found = list(all_checks())
    listed = [_check(item) for item in found if not item.asked and item.readings]
    return _one_of("check", check, listed, {item.check: item for item in listed})


def list_causes(machine: str = "", cause: str = "") -> list[ListedCause]:
    """Causes of the library, those that can occur on a machine where one is named, or one of them."""
    if machine:
        described = find_machine(machine)
        bound = course_for(described).bound
        listed = [_cause(item, bound[item.part]) for item in causes_for(described, bound)]
    else:
        listed = [_cause(item, item.part) for item in all_causes()]
    return _one_of("cause", cause, listed, {item.cause: item for item in listed})


def words_of(machine: str) -> Words:
    """What a findings file of ``machine`` may say."""
    described = find_machine(machine)
    course = course_for(described)
    complaint = next(reading for reading in course.readings if reading.id == COMPLAINT)
    known = [
        f"{course.bound[role]}.{field}"
        for spread in spreads_of(described, course.bound)
        if spread.known
        for role, _, field in [spread.target.partition(".")]
        if role in course.bound
    ]
    return Words(
        machine=machine,
        title=described.title,
        site={key: (low, high) for key, (_, _, low, high) in KEYS.items()},
        settings={
            name: (split_suffix(setting.sets)[1], setting.low, setting.high)
            for name, setting in described.settings.items()
        },
        known=known,
        complaints=[outcome.name for outcome in complaint.outcomes],
        history=history_words(),
        parts=list(described.parts),
        checks=list_checks(machine),
    )


def _one_of(kind: str, name: str, every: list[T], by_name: dict[str, T]) -> list[T]:
    if not name:
        return every
    if name not in by_name:
        raise unknown_name(kind, name[:60], by_name)
    return [by_name[name]]


def _check(check: Check) -> ListedCheck:
    return ListedCheck(
        check.id,
        check.title,
        check.why,
        check.minutes,
        check.wait_minutes,
        check.needs,
        check.leaves,
        check.lid,
        list(check.steps),
        list(check.tools),
        [cautions()[hazard] for hazard in check.hazards],
        [_reading(reading) for reading in check.readings],
    )


def _reading(reading: Reading) -> ListedReading:
    outcomes = [outcome.name for outcome in reading.outcomes]
    return ListedReading(reading.id.partition(".")[2], reading.title, reading.unit, outcomes)


def _cause(cause: Cause, part: str) -> ListedCause:
    return ListedCause(
        cause.id,
        cause.title,
        part,
        cause.why,
        cause.remedy,
        cause.minutes,
        cause.parts_eur,
        cause.per_1000,
        [cautions()[hazard] for hazard in cause.hazards],
    )
