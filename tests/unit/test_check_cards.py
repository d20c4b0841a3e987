"""Checks as cards: times, steps of a key, order where nothing is known."""

from __future__ import annotations

from pathlib import Path

import pytest

from collaudo.bench.findings.check_cards import card_of, natural_order, step_of, stopwatch_of, timers_of
from collaudo.bench.findings.machine_words import MachineWords, words_for
from collaudo.bench.machines.shelf import Shelf
from collaudo.checks.check import all_checks
from collaudo.machine.library import library_ids

CHECKS = {check.id: check for check in all_checks()}
READINGS = {reading.id: reading for check in all_checks() for reading in check.readings}


def words(machine: str = "hx-vibration") -> MachineWords:
    return words_for(Shelf(Path("nowhere")), machine)


@pytest.mark.parametrize(
    ("check", "seconds"),
    [
        ("warm-up", [1800, 3000]),  # contact thermometer on the group after 30 and 50 minutes
        ("blind-disc", [30]),  # read the gauge after 30 s
        ("cool-down", [30, 600, 2400]),  # bleed half a minute; gauge after 10, steam tip after 40 minutes
        ("free-flow", []),
    ],
)
def test_the_times_named_in_the_steps_are_timers(check: str, seconds: list[int]) -> None:
    assert [timer.seconds for timer in timers_of(CHECKS[check])] == seconds


def test_a_check_that_waits_has_a_timer_and_each_says_whose_it_is() -> None:
    for check in CHECKS.values():
        timers = timers_of(check)
        assert not check.wait_minutes or timers, check.id
        assert all(timer.title.startswith(f"{check.title}: ") for timer in timers)


def test_what_is_weighed_for_ten_seconds_has_a_stopwatch() -> None:
    assert stopwatch_of(CHECKS["free-flow"]) == 10
    assert stopwatch_of(CHECKS["look"]) is None


@pytest.mark.parametrize(
    ("reading", "typical", "step"),
    [
        ("blind-disc.brew_gauge", 9.5, 0.05),  # gauge noise 0.06 bar
        ("warm-up.steam_gauge_top", 1.15, 0.02),  # 0.015 bar
        ("blind-disc.relief_return", 31.0, 1.0),  # a gram
        ("mains.voltage", 230.0, 1.0),  # 0.4 % of the reading
        ("mains.voltage", None, 1.0),
    ],
)
def test_a_step_of_a_key_is_what_the_instrument_tells_apart(
    reading: str, typical: float | None, step: float
) -> None:
    assert step_of(READINGS[reading], typical) == pytest.approx(step)


def test_every_number_of_the_library_has_a_step_of_one_two_or_five() -> None:
    for reading in READINGS.values():
        if not reading.outcomes:
            for typical in (None, 0.3, 42.0):
                digits = f"{step_of(reading, typical):e}".split("e")[0].rstrip("0").rstrip(".")
                assert digits in ("1", "2", "5"), reading.id


@pytest.mark.parametrize("machine", library_ids())
def test_looking_comes_first_and_what_needs_no_power_before_what_waits(machine: str) -> None:
    order = [item.check for item in natural_order(words(machine), "cold")]
    assert order[0].id == "look"
    assert order[1].lid == "off"
    assert order[1].needs in ("any", "cold")
    waits = [check.wait_minutes > 0 or check.needs == "hot" for check in order]
    assert waits == sorted(waits)


def test_on_a_hot_machine_nothing_cold_is_named_before_what_can_be_made_now() -> None:
    needs = [item.check.needs == "cold" for item in natural_order(words(), "hot")]
    assert needs == sorted(needs)


def test_a_card_without_signatures_has_everything_but_the_ranges() -> None:
    card = card_of(words().checks["blind-disc"], taken={"blind-disc.pump": ["entry-01"]})
    assert card.steps
    assert card.cautions
    assert card.saves_min is None
    gauge = next(reading for reading in card.readings if reading.reading == "brew_gauge")
    assert (gauge.low, gauge.typical, gauge.high) == (None, None, None)
    pump = next(reading for reading in card.readings if reading.reading == "pump")
    assert pump.taken == ["entry-01"]
    assert [one.word for one in pump.outcomes] == ["runs", "silent"]


@pytest.mark.parametrize("machine", library_ids())
def test_words_of_a_machine_can_be_entered_as_they_are_told(machine: str) -> None:
    found = words(machine)
    for group in (found.site, found.settings, found.known):
        for key, about in group.items():
            assert about.low <= about.default <= about.high, key
            assert about.unit in key
    assert found.settings
