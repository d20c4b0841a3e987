"""What a findings sheet says: worded as it was typed, in the units chosen, for the hand that repairs."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from pathlib import Path

import pytest

from collaudo.bench.machines.choosing import commonest_first
from collaudo.quantities.units import Choice
from collaudo.web.asking.units import span
from tests.app.web.sheets import MACHINE, Pages, bench, reading

pytestmark = pytest.mark.usefixtures("signatures")


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Pages]:
    with bench(tmp_path) as found:
        yield found


def test_a_number_is_worded_with_every_digit_that_was_typed(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(sheet, reading("free-flow", "water", 28.5, "g"))
    assert told["sheet"]["undo"].endswith("water in 10 s: 28.5 g")
    reasons = [text for cause in told["answer"]["causes"] for text in cause["for"] + cause["against"]]
    assert any("28.5 g" in text for text in reasons)
    assert not any(" 29 g." in text for text in reasons)
    assert "28.5\u202fg" in pages.client.get(f"/findings/{sheet}/print").text


def test_a_complaint_is_worded_in_reasons_as_on_its_tile(pages: Pages) -> None:
    causes = pages.write(pages.begin(), {"kind": "complaint", "words": ["slow"]})["answer"]["causes"]
    reasons = [text for cause in causes for text in cause["for"] + cause["against"]]
    assert any(text.startswith("Complaint: pours slowly. ") for text in reasons)


def test_cautions_and_steps_are_in_the_units_chosen(pages: Pages) -> None:
    sheet = pages.begin()
    pages.client.cookies.set("units", "psi.degF.ml")
    told = pages.write(sheet, reading("free-flow", "water", 28, "g"))["answer"]
    cards = [told["next"], told["alternative"], *told["others"]]
    texts = [text for card in cards for text in [card["why"], *card["cautions"], *card["steps"]]]
    texts += [text for cause in told["causes"] for text in [cause["remedy"], *cause["cautions"]]]
    texts += pages.get(f"/api/machines/{MACHINE}/words")["checks"][0]["cautions"]
    assert any("131 to 174\u00a0psi" in text for text in texts)
    assert any("212\u00a0°F" in text for text in texts)
    assert not any(word in text for text in texts for word in ("bar ", " degC", "°C"))


def test_no_range_of_a_weight_goes_below_nought(pages: Pages) -> None:
    answer = pages.write(pages.begin(), reading("free-flow", "water", 1, "g"))["answer"]
    lows = [one["low"] for one in answer["findings"][0]["predicted"] if one["low"] is not None]
    assert lows
    assert min(lows) >= 0.0
    assert not any("\N{MINUS SIGN}" in text for cause in answer["causes"] for text in cause["for"])


def test_an_undo_can_name_what_it_takes_back(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(sheet, reading("free-flow", "water", 30, "g"))["sheet"]
    mine = told["undo_of"]
    pages.write(sheet, reading("blind-disc", "brew_gauge", 9.6, "bar"))
    left = pages.write(sheet, {"kind": "undo", "of": mine})["sheet"]["findings"]
    assert [one["value"] for one in left] == [9.6]


def test_only_what_a_hand_can_mend_is_offered_as_a_part(pages: Pages) -> None:
    parts = {one["part"] for one in pages.get(f"/api/machines/{MACHINE}/words")["parts"]}
    assert {"pump", "brew_jet", "tank", "tray", "screen"} <= parts
    assert not parts & {"room", "cup", "water_cup", "mains", "brew_chamber"}


def test_a_setting_is_set_anew_and_a_part_is_not(pages: Pages) -> None:
    sheet = pages.begin()
    low = [
        reading("warm-up", "steam_gauge_top", 0.5, "bar"),
        reading("heating-cycle", "gauge_off", 0.5, "bar"),
    ]
    told = pages.write(sheet, *low)["answer"]
    assert told["causes"][0]["cause"] == "boiler-pressure-set-low"
    assert told["repair"]["done"] == ["set_anew", "proven_good"]
    after = pages.write(sheet, {"kind": "part", "part": "pressure_switch", "done": "set_anew"})
    assert after["sheet"]["set_anew"] == ["pressure_switch"]
    assert after["sheet"]["undo"] == "part: pressure switch set anew"
    assert "set_anew:\n  - pressure_switch\n" in pages.client.get(f"/api/findings/{sheet}/file").text


def test_of_an_unsure_cause_it_is_said_what_comes_before_a_part_is_replaced(pages: Pages) -> None:
    sheet = pages.begin()
    unsure = pages.write(sheet, {"kind": "complaint", "words": ["slow"]})["answer"]["repair"]
    assert "replaced" not in unsure["done"] or "prove it before a part is replaced" in unsure["before"]
    sure = [
        reading("warm-up", "vacuum_valve_shuts", None),
        reading("heating-cycle", "vacuum_valve", "blows"),
        reading("heating-cycle", "off_time", 20, "s"),
    ]
    told = pages.write(pages.begin(), *sure)["answer"]
    assert told["causes"][0]["chance"] == "more than 9 in 10"
    assert told["repair"]["done"] == ["cleaned", "replaced", "proven_good"]
    assert told["repair"]["before"] == ""


def test_answers_go_packed_to_who_can_unpack_them(pages: Pages) -> None:
    path = f"/api/findings/{pages.begin()}/answer"
    packed = pages.client.get(path, headers={"Accept-Encoding": "gzip"})
    assert packed.headers["content-encoding"] == "gzip"
    assert (
        int(packed.headers["content-length"])
        < len(gzip.compress(packed.content)) * 1.3
        < len(packed.content) / 3
    )
    assert "content-encoding" not in pages.client.get(path, headers={"Accept-Encoding": "identity"}).headers
    # Pages and the token are not: what lies beside a secret would show in the length.
    for path in ("/findings/new", "/api/token"):
        assert "content-encoding" not in pages.client.get(path, headers={"Accept-Encoding": "gzip"}).headers


@pytest.mark.parametrize("room", ["/findings/new", "/running", "/path", "/expected", "/setting", "/machines"])
def test_every_room_offers_the_machines_in_the_same_order(pages: Pages, room: str) -> None:
    text = pages.client.get(room).text
    places = [text.index(f"/portraits/{machine}.svg") for machine in commonest_first()]
    assert places == sorted(places)
    assert commonest_first()[0] == MACHINE


@pytest.mark.parametrize("room", ["/findings/new", "/running", "/path", "/expected", "/setting", "/machines"])
def test_own_machines_stand_first(pages: Pages, tmp_path: Path, room: str) -> None:
    own = tmp_path / "machines" / "zz-of-the-shop.yaml"
    own.parent.mkdir(exist_ok=True)
    own.write_text("machine: zz-of-the-shop\ntitle: The one\nlike: spring-lever\n", encoding="utf-8")
    text = pages.client.get(room).text
    assert text.index("/portraits/zz-of-the-shop.svg") < text.index(f"/portraits/{MACHINE}.svg")


@pytest.mark.parametrize(
    ("low", "high", "unit", "text"),
    [
        (15.2, 35.0, "s", "15 to 35\N{NARROW NO-BREAK SPACE}s"),
        (1.86, 2.14, "bar", "1.9 to 2.1\N{NARROW NO-BREAK SPACE}bar"),
        (0.24, 0.46, "bar", "0.24 to 0.46\N{NARROW NO-BREAK SPACE}bar"),
    ],
)
def test_both_ends_of_a_range_have_the_same_digits(low: float, high: float, unit: str, text: str) -> None:
    assert f">{text}<" in span(low, high, unit, Choice())
