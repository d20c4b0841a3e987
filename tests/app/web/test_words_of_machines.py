"""What may be entered for a machine, as pages ask for it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from collaudo.machine.library import library_ids
from tests.app.web.sheets import MACHINE, Pages, bench, reading

pytestmark = pytest.mark.usefixtures("signatures")


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pages]:
    with bench(tmp_path_factory.mktemp("words")) as found:
        yield found


def test_words_hold_everything_the_first_minute_asks(pages: Pages) -> None:
    words = pages.get(f"/api/machines/{MACHINE}/words")
    assert {"word": "weak-steam", "text": "weak steam"} in words["complaints"]
    assert {"word": "hard-water", "text": "hard water, no or spent softener"} in words["history"]
    mains = next(one for one in words["site"] if one["key"] == "mains_V")
    assert (mains["unit"], mains["default"]) == ("V", 230.0)
    altitude = next(one for one in words["site"] if one["key"] == "altitude_m")
    assert altitude["default"] == 0.0
    assert {one["key"] for one in words["settings"]} == {"boiler_pressure_bar", "brew_pressure_bar"}
    assert {one["key"] for one in words["known"]} == {"boiler.volume_l", "heating_element.power_W"}
    assert {"part": "vacuum_valve", "title": "vacuum valve"} in words["parts"]


@pytest.mark.parametrize("machine", library_ids())
def test_every_machine_of_the_library_has_words_checks_and_causes(pages: Pages, machine: str) -> None:
    words = pages.get(f"/api/machines/{machine}/words")
    assert words["checks"] == pages.get(f"/api/machines/{machine}/checks")
    assert {cause["cause"] for cause in pages.get(f"/api/machines/{machine}/causes")} > {"no-fault"}
    assert all(card["readings"] and card["steps"] for card in words["checks"])


def test_every_reading_can_be_entered_as_its_card_says(pages: Pages) -> None:
    """Each outcome's word, low, normal and high, never, and a number in the unit of the card."""
    sheet = pages.begin()
    entries = []
    for card in pages.get(f"/api/machines/{MACHINE}/checks"):
        for row in card["readings"]:
            values = [one["word"] for one in row["outcomes"]] or [30, "low", "normal", "high"]
            for value in [*values, None]:
                unit = row["unit"] if value == 30 else ""
                entries.append(reading(card["check"], row["reading"], value, unit))
    told = [pages.write(sheet, *entries[start : start + 200]) for start in range(0, len(entries), 200)]
    assert len(told[-1]["sheet"]["findings"]) == len(entries)


def test_a_changed_file_of_ones_own_machine_has_other_words_at_once(tmp_path: Path) -> None:
    with bench(tmp_path) as own:
        file = tmp_path / "machines" / "mine.yaml"
        file.parent.mkdir(exist_ok=True)
        for title in ("First", "Second"):
            text = f"machine: mine\ntitle: {title}\nlike: {MACHINE}\n"
            file.write_text(text, encoding="utf-8")
            assert own.get("/api/machines/mine/words")["title"] == title
