"""Chances and findings in words; what is folded is folded the same whenever."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaudo.bench.findings.words import (
    chance_in_words,
    complaint_in_words,
    complaints,
    finding_in_words,
    number_in_words,
    reason_in_words,
    span_in_words,
    stops,
)
from collaudo.checks.check import all_checks
from collaudo.checks.files import COMPLAINT
from collaudo.quantities.units import Choice

BAR, PSI = Choice(), Choice("psi", "degF", "fl_oz")


def value_of(words: str) -> float:
    """The chance a phrase names."""
    number, _, whole = words.removeprefix("more than ").removeprefix("less than ").partition(" in ")
    return float(number) / float(whole)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.713, "7 in 10"),
        (0.9, "9 in 10"),
        (0.33, "1 in 3"),
        (0.1, "1 in 10"),
        (0.02, "1 in 50"),
        (0.019, "less than 1 in 50"),
        (0.0, "less than 1 in 50"),
        (1.0, "more than 9 in 10"),
        (0.5, "5 in 10"),
        (0.25, "1 in 4"),
        (0.2, "1 in 5"),
        (0.05, "1 in 20"),
    ],
)
def test_chances_are_rounded_in_words(chance: float, words: str) -> None:
    assert chance_in_words(chance) == words


@given(chance=st.floats(0.0, 1.0))
def test_words_are_never_far_from_the_chance(chance: float) -> None:
    words = chance_in_words(chance)
    named = value_of(words)
    if words.startswith("less"):
        assert chance < named
    elif words.startswith("more"):
        assert chance > named
    else:
        # No further than to the next phrase: in odds by less than a factor of two.
        odds = chance / (1.0 - chance) / (named / (1.0 - named))
        assert 0.5 < odds < 2.0


def test_a_likelier_cause_never_sounds_less_likely() -> None:
    named = [value_of(chance_in_words(number / 1000)) for number in range(1001)]
    assert all(lower <= higher for lower, higher in pairwise(named))


def test_nothing_is_called_certain_or_impossible() -> None:
    said = {chance_in_words(number / 1000) for number in range(1001)}
    assert not any("10 in 10" in words or "0 in" in words.split()[:1] or "certain" in words for words in said)


def test_a_finding_is_said_in_the_readers_unit() -> None:
    assert finding_in_words("brew gauge after 10 s", 9.6, "bar", BAR) == "Brew gauge after 10 s: 9.6 bar"
    # 1 psi = 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)2 = 6894.757 Pa, exact by definition: 139.2 psi
    assert finding_in_words("brew gauge after 10 s", 9.6, "bar", PSI) == "Brew gauge after 10 s: 139 psi"
    assert finding_in_words("place", "under-the-group", "", BAR) == "Place: under the group"
    assert finding_in_words("vacuum valve", None, "min", BAR) == "Vacuum valve: never came about"


def test_a_difference_of_temperatures_is_no_temperature() -> None:
    assert number_in_words(5.0, "K", PSI) == "9.0 °F"
    assert number_in_words(5.0, "degC", PSI) == "41 °F"


def test_a_range_has_its_unit_once() -> None:
    assert span_in_words(7.2, 9.8, "bar", BAR) == "7.2 to 9.8 bar"
    assert span_in_words(40.0, 40.2, "g", BAR) == "40 g"
    assert span_in_words(-3.0, 2.0, "K", BAR) == "\N{MINUS SIGN}3.0 to 2.0 K"


def test_reasons_are_whole_sentences() -> None:
    number = reason_in_words("Water: 45 g", (38.0, 52.0), (66.0, 81.0), "g", BAR)
    assert number == "Water: 45 g. This cause makes 38 to 52 g, a sound machine 66 to 81 g."
    word = reason_in_words("Vacuum valve: blows", 0.9, 0.01, "", BAR)
    assert word == "Vacuum valve: blows. With this cause 9 in 10, on a sound machine less than 1 in 50."


def test_every_complaint_has_its_text_and_none_is_left_over() -> None:
    reading = next(one for check in all_checks() for one in check.readings if one.id == COMPLAINT)
    assert {one.name for one in reading.outcomes} == set(complaints())
    assert complaint_in_words("weak-steam") == "weak steam"


def test_every_danger_is_met_at_the_wall_first_and_left_to_the_qualified() -> None:
    assert set(stops()) == {"wet", "burning", "over-pressure"}
    for stop in stops().values():
        said = " ".join(stop.first)
        assert stop.first[0].startswith("Stop.")
        assert "witch off at the wall" in stop.first[0]
        assert "qualified" in said
        assert not any(word in said.lower() for word in ("bridge", "tighten", "is safe"))
