"""The checks of the library: complete, made with care, and made on every machine that has the parts."""

from __future__ import annotations

import re

import pytest

from collaudo.checks.check import HAZARDS, Check, Reading, all_checks, cautions, instruments
from collaudo.checks.course import course_for
from collaudo.machine.load import find_machine, library_ids
from collaudo.quantities.units import UNITS
from collaudo.twin.operations import Until, duration_s

CHECKS = {check.id: check for check in all_checks()}
READINGS = {reading.id: reading for check in all_checks() for reading in check.readings}
ASKED = "complaint"


def test_there_are_at_least_sixteen_checks_over_water_heat_and_steam() -> None:
    made = CHECKS.keys() - {ASKED}
    assert len(made) >= 16
    assert {"blind-disc", "free-flow", "warm-up", "steam", "cool-down", "shot", "meter", "look"} <= made


@pytest.mark.parametrize("name", sorted(CHECKS.keys() - {ASKED}))
def test_a_check_has_steps_minutes_reason_and_readings(name: str) -> None:
    check = CHECKS[name]
    assert check.steps
    assert all(step.strip().endswith((".", "?")) for step in check.steps)
    assert check.why.endswith(".")
    assert 0.0 < check.minutes <= 30.0
    assert 0.0 <= check.wait_minutes <= 120.0
    assert check.readings
    assert set(check.hazards) <= set(HAZARDS)


@pytest.mark.parametrize("machine", library_ids())
def test_a_check_takes_no_longer_than_it_says(machine: str) -> None:
    """Hands and waiting together cover what the twin performs."""
    for item in course_for(find_machine(machine)).checks:
        fixed = [operation for operation in item.operations if not isinstance(operation, Until)]
        taken_min = duration_s(fixed) / 60.0
        told_min = item.check.minutes + item.check.wait_minutes
        assert taken_min <= told_min, item.check.id


def text_of(check: Check) -> str:
    return " ".join((check.title, check.why, *check.steps, *check.tools)).lower()


def test_hot_and_pressed_checks_carry_their_caution() -> None:
    for check in CHECKS.values():
        if check.needs == "hot" and check.id != "tank-level":
            assert "scald" in check.hazards, check.id
        if "blind disc" in text_of(check) or "portafilter gauge" in text_of(check):
            assert "pressure" in check.hazards, check.id
        if check.lid == "off" or "meter" in check.id or "mains" in check.id:
            assert "mains" in check.hazards, check.id


def test_every_hazard_has_a_caution() -> None:
    assert set(cautions()) == set(HAZARDS)
    assert all(text.endswith(".") for text in cautions().values())


def test_the_complaint_is_a_question_and_no_check() -> None:
    assert [check.id for check in CHECKS.values() if check.asked] == [ASKED]


def test_readings_have_ids_of_their_own() -> None:
    ids = [reading.id for check in all_checks() for reading in check.readings]
    assert len(ids) == len(set(ids))
    for check in all_checks():
        assert all(reading.id.startswith(f"{check.id}.") for reading in check.readings)


@pytest.mark.parametrize("name", sorted(READINGS))
def test_a_reading_is_a_number_with_unit_and_instrument_or_one_of_outcomes(name: str) -> None:
    reading = READINGS[name]
    assert reading.title
    if reading.formula is None:
        assert len(reading.outcomes) >= 2
        assert reading.unit == ""
        words = [outcome.name for outcome in reading.outcomes]
        assert len(words) == len(set(words))
        # Words of a findings file must not be read as truth or nothing by YAML, nor mean "did not occur".
        assert {"yes", "no", "on", "off", "true", "false", "null", "never"}.isdisjoint(words)
        return
    assert reading.unit in UNITS
    assert reading.instrument in instruments()
    assert reading.noise > 0.0
    assert reading.bias >= 0.0


@pytest.mark.parametrize("name", sorted(name for name, of in READINGS.items() if of.by_chance))
def test_chances_of_a_reading_the_twin_cannot_know_sum_to_one(name: str) -> None:
    chances = [outcome.chance for outcome in READINGS[name].outcomes]
    assert all(chance > 0.0 for chance in chances)
    assert sum(chances) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    "name", sorted(name for name, of in READINGS.items() if of.outcomes and not of.by_chance)
)
def test_an_outcome_of_the_twin_always_comes_about(name: str) -> None:
    """The last outcome holds whatever happened."""
    last = READINGS[name].outcomes[-1].formula
    assert last is not None
    assert last.text == "start >= start"


@pytest.mark.parametrize("machine", library_ids())
def test_most_checks_apply_to_every_machine(machine: str) -> None:
    course = course_for(find_machine(machine))
    made = [item for item in course.checks if item.readings and not item.check.asked]
    assert len(made) >= 16
    assert sum(item.warms_up for item in made) == 1
    applied: list[Reading] = course.readings
    assert all(reading.roles <= course.bound.keys() for reading in applied)


def test_the_tank_is_weighed_only_where_there_is_one() -> None:
    rotary = {item.check.id for item in course_for(find_machine("hx-rotary")).checks}
    vibration = {item.check.id for item in course_for(find_machine("hx-vibration")).checks}
    assert "tank-level" in vibration
    assert rotary - vibration == set()


FORBIDDEN = (
    # bench_practice, section 5: what is never said.
    r"machine is safe",
    r"nothing (is )?wrong",
    r"user error",
    r"certainly|for certain",
    r"tighten the safety valve",
    r"raise the boiler('s)? pressure",
    r"(?<!never )\b(?:bridg|jumper|defeat|short out)",
    r"hold the switch closed",
    r"until the safety valve (blows|lifts)",
)


@pytest.mark.parametrize("name", sorted(CHECKS))
def test_no_check_says_what_is_never_said(name: str) -> None:
    text = text_of(CHECKS[name])
    for phrase in FORBIDDEN:
        assert not re.search(phrase, text), phrase


def test_nothing_inside_is_touched_before_it_is_unplugged() -> None:
    for name in ("look", "meter"):
        assert CHECKS[name].steps[0].startswith("Unplug")
