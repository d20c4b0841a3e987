"""What an expectation consists of, and the same in the units of the person who reads it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from collaudo.bench.check_facts import CheckFacts
from collaudo.quantities.units import Choice, from_si, to_si


@dataclass(frozen=True)
class Expected:
    """What one reading shows on a sound machine: a range, or the chance of each outcome."""

    check: str
    reading: str
    check_title: str
    title: str
    unit: str
    low: float | None
    typical: float | str | None
    high: float | None
    chances: dict[str, float]
    instrument: str = ""
    """What a number is taken with."""
    why: str = ""
    """What makes a sound machine show this; empty where the check's own reason says it."""


@dataclass(frozen=True)
class ExpectedCheck(CheckFacts):
    """A check whose readings are expected."""


@dataclass(frozen=True)
class Given:
    """One thing that was said of the site or the settings."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True)
class Expectations:
    """Expected readings of one machine, and what was taken into account."""

    machine: str
    title: str
    readings: list[Expected]
    known: dict[str, float]
    """Site and machine values by name, as the predictions know them."""
    unused: list[str]
    """What was given and changes no prediction."""
    checks: list[ExpectedCheck]
    site: list[Given]
    settings: list[Given]
    open: list[str]
    """What would narrow the ranges, but was not said."""
    draws: int
    """Sound machines drawn and run."""


def in_units(found: Expectations, choice: Choice) -> Expectations:
    """The same expectations in the chosen units; a range in bar becomes one in psi."""
    return replace(
        found,
        readings=[_reading_in(reading, choice) for reading in found.readings],
        site=[_given_in(given, choice) for given in found.site],
        settings=[_given_in(given, choice) for given in found.settings],
    )


def _reading_in(reading: Expected, choice: Choice) -> Expected:
    unit = choice.unit_for(reading.unit) if reading.unit else ""
    if unit == reading.unit:
        return reading

    def converted(value: float | None) -> float | None:
        return None if value is None else _converted(value, reading.unit, unit)

    typical = reading.typical if isinstance(reading.typical, str) else converted(reading.typical)
    return replace(
        reading, unit=unit, low=converted(reading.low), typical=typical, high=converted(reading.high)
    )


def _given_in(given: Given, choice: Choice) -> Given:
    unit = choice.unit_for(given.unit) if given.unit else ""
    return given if unit == given.unit else Given(given.name, _converted(given.value, given.unit, unit), unit)


def _converted(value: float, unit: str, chosen: str) -> float:
    """A step of a kelvin is 1.8 steps in Fahrenheit; ``Choice`` takes a ``K`` for a step."""
    return from_si(to_si(value, unit), chosen)
