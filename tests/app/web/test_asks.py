"""What the bench asks for: only what would make a range in hand narrower, and was not said."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.web.sheets import Pages, bench, reading

pytestmark = pytest.mark.usefixtures("signatures")

VOLTAGE = reading("mains", "voltage", 228, "V")
"""Of all readings of the made-up signatures the one that depends on where the machine stands."""


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Pages]:
    with bench(tmp_path) as found:
        yield found


def test_at_first_nothing_is_asked(pages: Pages) -> None:
    answer = pages.write(pages.begin(), {"kind": "complaint", "words": ["slow"]})["answer"]
    assert answer["asks"] == []


def test_what_a_reading_in_hand_depends_on_is_asked_with_what_counts_meanwhile(pages: Pages) -> None:
    asks = pages.write(pages.begin(), VOLTAGE)["answer"]["asks"]
    assert [one["key"] for one in asks] == ["site.mains_V"]
    assert asks[0]["ask"] == "Mains voltage?"
    assert asks[0]["unit"] == "V"
    assert asks[0]["default"] == 230.0
    assert "voltage of the supply" in asks[0]["why"]


def test_what_was_said_is_not_asked(pages: Pages) -> None:
    sheet = pages.begin()
    before = pages.write(sheet, VOLTAGE)["answer"]
    said = pages.write(sheet, {"kind": "site", "values": {"mains_V": 228}})["answer"]
    assert said["asks"] == []
    spans = [
        next(one["expected"] for one in answer["findings"] if one["reading"] == "voltage")
        for answer in (before, said)
    ]
    wide, narrow = (span["high"] - span["low"] for span in spans)
    assert narrow < 0.9 * wide


def test_once_a_cause_is_nearly_sure_nothing_is_asked(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(
        sheet,
        VOLTAGE,
        reading("warm-up", "vacuum_valve_shuts", None),
        reading("heating-cycle", "vacuum_valve", "blows"),
    )["answer"]
    assert told["causes"][0]["chance"] == "more than 9 in 10"
    assert told["asks"] == []


def test_a_setting_is_never_asked_for_it_is_what_the_checks_find(pages: Pages) -> None:
    answer = pages.write(pages.begin(), reading("heating-cycle", "gauge_off", 1.1, "bar"))["answer"]
    assert not any("pressure" in one["key"] for one in answer["asks"])
