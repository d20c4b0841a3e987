"""Numbers and names as they are said at the bench."""

from __future__ import annotations

import pytest

from collaudo.paths.words import (
    all_of,
    amps,
    and_bars,
    bars,
    degrees,
    flow,
    joined,
    listed,
    named,
    of_itself,
    sentence,
    spoken,
    the,
    watts,
)


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("pump", "pump"),
        ("three_way_valve", "three-way valve"),
        ("three_way_valve_2", "second three-way valve"),
        ("pump_cut_out", "pump cut-out"),
        ("residual_current_device", "residual-current device"),
        ("heating_element.leg_2", "heating element"),
        ("boiler_12", "boiler 12"),
    ],
)
def test_parts_are_called_by_their_names(part: str, words: str) -> None:
    assert spoken(part) == words
    assert the(part) == f"the {words}"


@pytest.mark.parametrize(
    ("value_bar", "words"),
    [
        (9.46, "9.5 bar"),
        (1.156, "1.16 bar"),
        (0.0, "no pressure"),
        (-0.004, "no pressure"),
        (-0.07, "0.07 bar of suction"),
        (11.34, "11.3 bar"),
    ],
)
def test_pressures_have_the_digits_of_a_gauge(value_bar: float, words: str) -> None:
    assert bars(value_bar) == words


def test_no_pressure_is_added_as_a_clause() -> None:
    assert degrees(22.1) + and_bars(0.0) == "22 °C, without pressure"
    assert degrees(22.1) + and_bars(9.61) == "22 °C and 9.6 bar"


@pytest.mark.parametrize(
    ("grams", "words"),
    [
        (51.2, "51 g/s"),
        (3.62, "3.6 g/s"),
        (0.871, "0.87 g/s"),
        (0.0142, "a drop every 4 seconds"),
        (0.05, "a drop a second"),
        (0.09, "2 drops a second"),
    ],
)
def test_what_only_drips_is_told_in_drops(grams: float, words: str) -> None:
    """A drop of water weighs about 0.05 g (common practice, no source)."""
    assert flow(grams) == words


@pytest.mark.parametrize(
    ("watt", "words"), [(1399.3, "1400 W"), (82.4, "82 W"), (-469.0, "470 W"), (0.2, "0 W")]
)
def test_watts_are_told_to_tens_beyond_a_hundred(watt: float, words: str) -> None:
    assert watts(watt) == words


@pytest.mark.parametrize(
    ("ampere", "words"), [(6.09, "6.1 A"), (0.42, "0.42 A"), (0.0092, "9 mA"), (1e-6, "next to nothing")]
)
def test_currents_are_told_as_a_meter_shows_them(ampere: float, words: str) -> None:
    assert amps(ampere) == words


def test_lists_end_with_and() -> None:
    assert listed(["a"]) == "a"
    assert listed(["a", "b"]) == "a and b"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed([]) == ""


def test_reasons_that_hold_together_are_told_once_and_apart() -> None:
    assert all_of(["the probe is wet", "the lever is down", "the probe is wet"]) == (
        "the probe is wet and the lever is down"
    )
    assert all_of(["it opens at 97 °C and feels 132 °C", "the steam switch is off"]) == (
        "it opens at 97 °C and feels 132 °C; and the steam switch is off"
    )
    button = "nobody has pressed the button of the"
    assert all_of([f"{button} dose control", "the probe is wet", f"{button} second dose control"]) == (
        f"the probe is wet and {button} dose control or of the second dose control"
    )
    assert all_of([f"{button} dose control"]) == f"{button} dose control"


def test_a_clause_takes_its_subject_by_name_or_by_it() -> None:
    assert named("steam_tap", "it is shut by hand") == "the steam tap is shut by hand"
    assert named("safety_valve", "its spring holds it shut") == "the spring of the safety valve holds it shut"
    assert named("pump", "nothing drives it") == "nothing drives it"
    assert of_itself("lever_switch", "the lever switch is off") == "it is off"
    assert of_itself("lever_switch", "the lever is down") == "the lever is down"
    assert of_itself("contactor", "the coil of the contactor has current") == "its coil has current"


def test_a_sentence_begins_large_and_ends_with_one_full_stop() -> None:
    assert sentence("it is shut.") == "It is shut."
    assert sentence(" the pump runs") == "The pump runs."
    assert joined("two  blanks , and a stop .") == "two blanks, and a stop."
