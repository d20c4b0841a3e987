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


# What only machines of one construction can be put to: check -> machines.
LEVER = {"hx-vibration", "hx-vibration-120v", "hx-rotary"}
TWO_GROUP = {"hx-two-group", "hx-two-group-three-phase"}
DUAL = {"dual-rotary", "dual-vibration"}
SMALL = {"single-boiler", "flow-through"}
SPRING = {"spring-lever"}
EVERY = LEVER | TWO_GROUP | DUAL | SMALL | SPRING
STEAM = EVERY - SMALL
MADE_ON = {
    "tank-level": LEVER | SMALL | SPRING | {"dual-vibration"},
    "tank-switch": {"dual-vibration"},
    "feed": TWO_GROUP | {"dual-rotary"},
    "hardness": TWO_GROUP | {"dual-rotary"},
    "pump-motor": TWO_GROUP | {"hx-rotary", "dual-rotary"},
    "strainer": STEAM,
    "blind-disc": EVERY - SPRING,
    "free-flow": EVERY - SPRING,
    "needle": EVERY - SPRING,
    "shot": EVERY - SPRING,
    "screen-off": EVERY - SPRING,
    "flush": EVERY - SPRING,
    "dead-end": SMALL,
    "test-gauge": EVERY - SPRING - SMALL,
    "jet-out": EVERY - SPRING - SMALL,
    "group-strainer": {"single-boiler"},
    "three-flushes": LEVER | TWO_GROUP,
    "legs": LEVER | TWO_GROUP,
    "boiler-creep": LEVER | TWO_GROUP,
    "two-groups": TWO_GROUP,
    "blind-disc-2": TWO_GROUP,
    "dose": TWO_GROUP,
    "legs-current": TWO_GROUP,
    "spring-shot": SPRING,
    "cups-refill": SPRING,
    "sight-glass": SPRING | TWO_GROUP,
    "warm-up": STEAM - {"dual-vibration"},
    "warm-up-boilers": {"dual-vibration", "single-boiler"},
    "warm-up-heater": {"flow-through"},
    "heating-cycle": STEAM - {"dual-vibration"},
    "rest": SMALL | {"dual-vibration"},
    "steam": STEAM - {"dual-vibration"},
    "steam-controlled": {"dual-vibration"},
    "steam-switch": {"single-boiler"},
    "cool-down": STEAM,
    "boiler-temperature": STEAM,
    "water-draw": LEVER | DUAL,
    "mixed-water-draw": TWO_GROUP,
    "probe-lead": STEAM,
    "controls": DUAL | {"flow-through"},
    "sensor-hot": DUAL | {"flow-through"},
    "tray-drain": EVERY - SPRING,
    **dict.fromkeys(("complaint", "inlet", "look", "mains", "mains-lead", "meter"), EVERY),
}


def test_a_check_is_made_where_the_machine_has_what_it_takes() -> None:
    assert set(library_ids()) == EVERY
    found: dict[str, set[str]] = {name: set() for name in CHECKS}
    for machine in library_ids():
        for item in course_for(find_machine(machine)).checks:
            if item.readings:
                found[item.check.id].add(machine)
    assert found == MADE_ON


# What stops the heat, the pump or the water, and the reading that tells it without taking the machine apart.
MUST_BE_READ = {
    "element": ("meter.element", "meter.brew_element", "meter.heater"),
    "insulation": ("meter.insulation", "meter.brew_insulation", "meter.heater_insulation"),
    "cut-out": ("meter.cut_out", "meter.brew_cut_out", "meter.heater_cut_out"),
    "earth": ("mains-lead.earth",),
    "plug, cord and switch": ("mains-lead.live",),
    "volts under load": ("mains.element", "mains.brew_element", "mains.heater"),
    "residual current": (
        "warm-up.residual_current_device",
        "warm-up-boilers.residual_current_device",
        "warm-up-heater.residual_current_device",
    ),
    "pump": ("meter.pump_coil", "pump-motor.winding"),
    "group warm": ("warm-up.group_50_min", "warm-up-boilers.group_50_min", "warm-up-heater.group_20_min"),
    "at rest": ("heating-cycle.group_drip", "heating-cycle.cup_drip", "rest.group_drip"),
    "pressure at the coffee": ("blind-disc.brew_gauge", "dead-end.pressure", "spring-shot.pressure"),
    "in the cup": ("shot.cup", "spring-shot.cup"),
}


@pytest.mark.parametrize("machine", library_ids())
@pytest.mark.parametrize("what", MUST_BE_READ)
def test_every_machine_shows_what_a_technician_asks_first(machine: str, what: str) -> None:
    applied = {reading.id for reading in course_for(find_machine(machine)).readings}
    assert applied & set(MUST_BE_READ[what])


def test_only_boilers_that_hold_steam_are_asked_for_its_pressure() -> None:
    for machine in library_ids():
        applied = {reading.id for reading in course_for(find_machine(machine)).readings}
        assert (machine in STEAM) == any(name.endswith("steam_gauge") for name in applied)


@pytest.mark.parametrize("name", sorted(name for name, of in READINGS.items() if of.formula is not None))
def test_a_number_says_why_it_is_what_it_is(name: str) -> None:
    assert READINGS[name].why, name


def test_no_step_reaches_past_a_safety_device() -> None:
    """Cut-outs, safety valve, earth and residual-current device are measured, never worked on with power."""
    for check in CHECKS.values():
        text = text_of(check)
        for word in ("cut-out", "safety valve", "residual-current"):
            for verb in ("bridge", "adjust", "hold", "remove", "take out", "disconnect"):
                assert f"{verb} the {word}" not in text, check.id
        if any("uF" in reading.unit for reading in check.readings):
            assert "discharge the capacitor through a resistor" in text


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
    for name in ("look", "meter", "mains-lead", "pump-motor"):
        assert CHECKS[name].steps[0].startswith("Unplug")
