"""Session files: what they mean, and that everything wrong in them is told with line and remedy."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from collaudo.errors import OperationsFileError
from collaudo.machine.load import find_machine
from collaudo.twin.operations import (
    Change,
    Move,
    Repeat,
    Session,
    Wait,
    duration_s,
    operation_count,
    perform,
    read_session,
)

EXAMPLE = Path(__file__).parents[2] / "examples" / "session.yaml"
WAIT = "operations:\n  - wait: 1 s\n"


def read(text: str, machine: str = "hx-vibration") -> Session:
    return read_session(text, find_machine(machine), name="my.yaml")


def problems(text: str, machine: str = "hx-vibration") -> list[str]:
    with pytest.raises(OperationsFileError) as caught:
        read(text, machine)
    return [str(problem) for problem in caught.value.problems]


class Recorder:
    """Stands in for a run and writes down what is done to it."""

    def __init__(self) -> None:
        self.time_s = 0.0
        self.done: list[object] = []

    def set_input(self, name: str, value: float) -> None:
        self.done.append((name, value))

    def change(self, changes: Mapping[str, float | str]) -> None:
        self.done.append(dict(changes))

    def advance(self, seconds: float) -> None:
        self.time_s += seconds
        self.done.append(seconds)


def test_each_word_means_one_movement_of_the_machine() -> None:
    session = read(
        "operations:\n"
        "  - power: on\n"
        "  - lever: up\n"
        "  - lever: half\n"
        "  - lever: down\n"
        "  - open: {tap: steam_tap, share: 0.25}\n"
        "  - open: water_tap\n"
        "  - close: steam_tap\n"
        "  - fit: blind\n"
        "  - set: {pressure_switch.opens_bar: 1.2, portafilter.bed_mm: 14}\n"
        "  - wait: 2 min\n"
        "  - power: off\n"
    )
    assert session.operations == (
        Move("power", 1.0),
        Move("lever", 1.0),
        Move("lever", 0.5),
        Move("lever", 0.0),
        Move("steam_tap", 0.25),
        Move("water_tap", 1.0),
        Move("steam_tap", 0.0),
        Change("portafilter.holds", "blind"),
        Change("pressure_switch.opens_bar", 1.2),
        Change("portafilter.bed_mm", 14.0),
        Wait(120.0),
        Move("power", 0.0),
    )


def test_the_selector_turns_to_tank_and_line() -> None:
    text = "operations:\n  - select: line\n  - select: tank\n  - wait: 1 h\n"
    found = read(text, "hx-rotary").operations
    assert found == (Move("inlet_selector", 1.0), Move("inlet_selector", 0.0), Wait(3600.0))


def test_repeats_multiply_time_and_operations() -> None:
    inner = (Move("lever", 1.0), Wait(2.0), Repeat(3, (Wait(1.0),)))
    assert duration_s([Repeat(10, inner)]) == 10 * (2 + 3)
    assert operation_count([Repeat(10, inner)]) == 10 * (2 + 3)


def test_repeats_are_performed_in_order_and_progress_is_told() -> None:
    run, told = Recorder(), list[float]()
    operations = (Repeat(2, (Move("lever", 1.0), Wait(2.0), Change("portafilter.holds", "puck"))),)
    perform(run, operations, told.append)  # type: ignore[arg-type]
    once = [("lever", 1.0), 2.0, {"portafilter.holds": "puck"}]
    assert run.done == once * 2
    assert told == [2.0, 4.0]


def test_a_long_wait_takes_exactly_its_time() -> None:
    run = Recorder()
    perform(run, (Wait(1500.5),))  # type: ignore[arg-type]
    assert run.time_s == 1500.5
    assert len(run.done) == 3


def test_the_site_is_converted_to_si() -> None:
    session = read(
        "site:\n  mains_V: 115\n  mains_Hz: 60\n  altitude_m: 1000\n  room_degC: 20\n  feed_bar: 3\n"
        "  feed_degC: 12\n  conductivity_uS_per_cm: 80\n" + WAIT
    )
    site = session.site
    assert (site.mains_V, site.mains_Hz, site.conductivity_uS_per_cm) == (115, 60, 80)
    assert (site.room_K, site.feed_K, site.feed_Pa) == (293.15, 285.15, 3e5)
    # ISO 2533:1975, table of the standard atmosphere: 89,874.6 Pa at a geopotential altitude of 1000 m;
    # half of the last printed digit.
    assert site.atmosphere_Pa == pytest.approx(89874.6, abs=0.05)


def test_settings_change_the_machine_that_runs() -> None:
    session = read("settings: {boiler_pressure: 1.3, brew_pressure: 9}\n" + WAIT)
    assert session.machine.value("pressure_switch.opens_bar") == 1.3
    assert session.machine.value("relief_valve.set_bar") == 9.0


def test_the_example_takes_its_4000_seconds() -> None:
    session = read_session(EXAMPLE, find_machine("hx-vibration"))
    assert session.duration_s == 4000.0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("operations:\n  - power: on\n  - lift: up\n", "my.yaml:3: unknown operation 'lift'"),
        ("operations:\n  - levr: up\n", "did you mean 'lever'?"),
        ("operations:\n  - lever: upp\n", "my.yaml:2: lever: unknown 'upp' -- did you mean 'up'?"),
        ("operations:\n  - power: true\n", "my.yaml:2: power is true"),
        ("operations:\n  - wait: 30\n", "my.yaml:2: wait: "),
        ("operations:\n  - wait: 30 bar\n", "'30 bar' is a pressure"),
        ("operations:\n  - wait: -3 s\n", "my.yaml:2: wait is -3 s -- it can be more than 0 s"),
        ("operations:\n  - wait: 1e300 h\n", "my.yaml:2: wait"),
        ("operations:\n  - wait: .nan\n", "not a finite number"),
        ("operations:\n  - open: steam_tab\n", "a tap: unknown 'steam_tab' -- did you mean 'steam_tap'"),
        ("operations:\n  - open: {tap: steam_tap, share: 1.5}\n", "open.share is 1.5"),
        ("operations:\n  - open: {tap: steam_tap, share: 0}\n", "to shut it write 'close'"),
        ("operations:\n  - open: {share: 1}\n", "open has no 'tap'"),
        ("operations:\n  - fit: pucks\n", "fit: unknown 'pucks' -- did you mean 'puck'?"),
        ("operations:\n  - select: line\n", "hx-vibration has no inlet selector"),
        ("operations:\n  - set: {pressure_switch.opens_bar: 99}\n", "pressure_switch.opens_bar is 99"),
        ("operations:\n  - set: {pressure_swich.opens_bar: 1}\n", "did you mean 'pressure_switch'"),
        ("operations:\n  - set: {pressure_switch.open_bar: 1}\n", "did you mean 'opens_bar'"),
        ("operations:\n  - set: {pressure_switch.in_boiler: group}\n", "is how the machine is built"),
        ("operations:\n  - repeat: {times: 0, operations: [{wait: 1 s}]}\n", "repeat.times is 0"),
        ("operations:\n  - repeat: {times: 2.5, operations: [{wait: 1 s}]}\n", "repeat.times"),
        ("operations:\n  - repeat: {times: 2, operations: []}\n", "operations is an empty list"),
        ("operations:\n  - power: on\n    wait: 1 s\n", "one operation has 2 words (power, wait)"),
        ("operations:\n  - {}\n", "one operation has 0 words"),
        ("operations:\n  - power\n", "an operation is the text 'power'"),
        ("operations:\n  power: on\n", "operations is a mapping"),
        ("operations:\n  - power: on\n", "no time passes in the session"),
        ("operations: []\n", "operations is an empty list"),
        ("site: {}\n", "the session has no 'operations'"),
        ("- power: on\n", "the session is a list"),
        ("site: {mains_V: 5000}\n" + WAIT, "my.yaml:1: site.mains_V is 5000 -- it can be 80 to 460"),
        ("site: {altitude_m: 90000}\n" + WAIT, "site.altitude_m is 90000"),
        ("site: {main_V: 230}\n" + WAIT, "did you mean 'mains_V'"),
        (
            "settings: {boiler_pressure: 1.7}\n" + WAIT,
            "setting boiler_pressure is 1.7 -- it can be 0.9 to 1.4",
        ),
        ("settings: {boiler_presure: 1.1}\n" + WAIT, "did you mean 'boiler_pressure'"),
    ],
)
def test_what_is_wrong_is_said_with_file_line_and_remedy(text: str, said: str) -> None:
    found = problems(text)
    assert len(found) == 1
    assert said in found[0]
    assert found[0].startswith("my.yaml:")
    assert " -- " in found[0]


def test_every_problem_is_told_at_once_in_the_order_of_the_file() -> None:
    found = problems("site: {mains_V: 1}\nsettings: {nothing: 1}\noperations:\n  - lft: up\n  - wait: 1\n")
    assert [line.split(":")[1] for line in found] == ["1", "2", "4", "5"]


def test_a_session_longer_than_two_days_is_refused() -> None:
    day = "operations:\n  - repeat:\n      times: {}\n      operations: [{{wait: 12 h}}]\n"
    assert read(day.format(4)).duration_s == 48 * 3600
    assert "the session takes 60.0 h -- at most 48 h" in problems(day.format(5))[0]


def test_a_session_of_too_many_operations_is_refused_before_any_is_done() -> None:
    inner = "{repeat: {times: 20000, operations: [{lever: up}]}}"
    for _ in range(2):
        inner = f"{{repeat: {{times: 20000, operations: [{inner}]}}}}"
    found = problems(f"operations: [{inner}, {{wait: 1 s}}]\n")
    assert "operations, repeats included -- at most 20,000" in found[0]


def done_by(machine: str, operations: str) -> list[object]:
    recorder = Recorder()
    perform(recorder, read(f"operations:\n{operations}", machine).operations)  # type: ignore[arg-type]
    return recorder.done


def test_brewing_lifts_a_lever_or_presses_a_key_or_lets_a_spring_go() -> None:
    brew = "  - brew: on\n  - wait: 1 s\n  - brew: off\n"
    assert done_by("hx-vibration", brew) == [("lever", 1.0), 1.0, ("lever", 0.0)]
    assert done_by("single-boiler", brew) == [("brew", 1.0), 1.0, ("brew", 0.0)]
    assert done_by("hx-two-group", brew) == [("brew_1", 1.0), 1.0, ("brew_1", 0.0)]
    pulled = [("lever", 1.0), 8.0, ("lever", 0.0)]
    assert done_by("spring-lever", brew) == [*pulled, 1.0, ("lever", 0.0)]


def test_the_second_group_brews_and_is_fitted_by_its_number() -> None:
    both = "  - fit: {group: 2, holds: puck}\n  - brew: {group: 2, does: on}\n  - wait: 1 s\n"
    assert done_by("hx-two-group", both) == [{"portafilter_2.holds": "puck"}, ("brew_2", 1.0), 1.0]


def test_a_group_there_is_not_is_told() -> None:
    told = problems("operations:\n  - brew: {group: 3, does: on}\n  - wait: 1 s\n", "hx-two-group")
    assert any("group 3" in text or "no lever" in text for text in told)
    told = problems("operations:\n  - fit: {group: 2, holds: puck}\n  - wait: 1 s\n")
    assert any("it has one group" in text for text in told)


def test_steam_and_water_are_switched_where_there_is_a_switch() -> None:
    assert done_by("single-boiler", "  - steam: on\n  - wait: 1 s\n") == [("steam", 1.0), 1.0]
    assert any("steam" in text for text in problems("operations:\n  - steam: on\n  - wait: 1 s\n"))
