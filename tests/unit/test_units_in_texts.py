"""Quantities in the library's sentences, told in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from collaudo.bench.units_in_texts import in_chosen_units, told_in_units
from collaudo.checks.check import cautions
from collaudo.checks.files import library_file
from collaudo.quantities.units import Choice

METRIC, OTHER = Choice(), Choice("psi", "degF", "fl_oz")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # 1 bar = 14.5038 psi: pound and inch of 1959, standard gravity (NIST SP 811, appendix B.8)
        ("9 to 12 bar stay", "131 to 174\u00a0psi stay"),
        ("1 to 4 bar; below 0.3 bar", "14.5 to 58\u00a0psi; below 4.4\u00a0psi"),
        # t/°F = 1.8 t/°C + 32 (NIST SP 811, appendix B.8); a difference of 1 K is 1.8 °F
        ("above 100 degC.", "above 212\u00a0°F."),
        ("from 5 to 65 °C", "from 41 to 149\u00a0°F"),
        ("5 to 10 K cold", "9 to 18\u00a0°F cold"),
        ("\N{MINUS SIGN}10 degC", "14\u00a0°F"),
        # 1 US fluid ounce = 29.57353 ml (NIST SP 811, appendix B.8)
        ("150 ml of milk", "5.1\u00a0fl\u00a0oz of milk"),
        ("at 0, 3 and 6 bar", "at 0, 44 and 87\u00a0psi"),
    ],
)
def test_a_quantity_in_a_sentence_is_told_in_the_chosen_units(text: str, told: str) -> None:
    assert in_chosen_units(text, OTHER).replace("fl oz", "fl\u00a0oz") == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("above 100 degC; 9 to 12 bar", "above 100\u00a0°C; 9 to 12\u00a0bar"),
        ("3 K apart", "3\u00a0K apart"),
        ("0.30 bar", "0.30\u00a0bar"),
    ],
)
def test_numbers_stay_as_written_where_the_unit_stays(text: str, told: str) -> None:
    assert in_chosen_units(text, METRIC) == told


@pytest.mark.parametrize(
    "text",
    [
        "0.1 bar per g/s",  # a slope: its other unit would have to change too
        "250 ml/min",
        "10 s, 18 g, 230 V, 0.3 ohm, 1 Mohm",
        "a bar of soap; group 1 Keeps",
        "",
    ],
)
def test_what_is_no_quantity_of_these_stays_as_it_is(text: str) -> None:
    assert in_chosen_units(text, OTHER) == text


def test_no_caution_is_left_in_units_that_were_not_chosen() -> None:
    texts = [*cautions().values(), library_file("stops.yaml").read_text("utf-8")]
    told = " ".join(in_chosen_units(text, OTHER) for text in texts)
    assert "psi" in told
    assert not any(f" {unit}" in told or f"\u00a0{unit}" in told for unit in ("bar", "degC", "°C"))


@dataclass(frozen=True)
class Card:
    """A card with the library's sentences and with a text of one's own."""

    title: str
    steps: list[str]
    inner: list[Card]
    note: str


def test_a_card_is_told_in_units_and_what_was_typed_is_not_touched() -> None:
    card = Card("6 bar", ["read 1 bar"], [Card("100 degC", [], [], "")], "I saw 9 bar")
    told = told_in_units(card, OTHER)
    assert (told.title, told.steps) == ("87\u00a0psi", ["read 14.5\u00a0psi"])
    assert told.inner[0].title == "212\u00a0°F"
    assert told.note == "I saw 9 bar"
