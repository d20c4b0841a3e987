"""Findings sheets: begun, written on, answered, taken back, put aside."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.web.sheets import MACHINE, Pages, bench, new_id, reading

pytestmark = pytest.mark.usefixtures("signatures")

SLOW_JET = (
    {"kind": "complaint", "words": ["slow"]},
    reading("blind-disc", "brew_gauge", 9.5, "bar"),
    reading("free-flow", "water", 30, "g"),
    reading("free-flow", "brew_gauge", 9.0, "bar"),
    reading("screen-off", "water", 30, "g"),
)


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Pages]:
    with bench(tmp_path) as found:
        yield found


def test_a_sheet_is_made_at_the_first_tap_and_a_check_stands_there(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(
        sheet,
        {"kind": "complaint", "words": ["slow"]},
        {"kind": "condition", "heat": "cold", "lid": "on"},
        {"kind": "stop", "word": ""},
    )
    assert told["sheet"]["complaints"] == ["slow"]
    assert told["sheet"]["condition"] == {"heat": "cold", "lid": "on"}
    assert told["answer"]["next"]["steps"]
    assert told["answer"]["next"]["readings"]
    assert told["answer"]["ready"] == "whole"


def test_a_begun_sheet_sent_again_is_the_same_sheet(pages: Pages) -> None:
    told = {"machine": MACHINE, "entry": new_id(), "label": "Mrs Brook, blue"}
    first, again = pages.post("/api/findings", told), pages.post("/api/findings", told)
    assert first == again
    assert first["label"] == "Mrs Brook, blue"


def test_the_jet_is_found_and_told_with_its_reasons(pages: Pages) -> None:
    sheet = pages.begin()
    answer = pages.write(sheet, *SLOW_JET)["answer"]
    first = answer["causes"][0]
    assert first["cause"] == "brew-jet-blocked"
    assert first["chance"].endswith("in 10")
    assert any(said.startswith("Water in 10 s: 30 g. This cause makes ") for said in first["for"])
    assert [cause["share"] for cause in answer["causes"]] == sorted(
        (cause["share"] for cause in answer["causes"]), reverse=True
    )


def test_every_finding_has_what_a_sound_machine_shows_beside_it(pages: Pages) -> None:
    sheet = pages.begin()
    answer = pages.write(sheet, *SLOW_JET)["answer"]
    water = next(
        one for one in answer["findings"] if one["check"] == "free-flow" and one["reading"] == "water"
    )
    assert water["expected"]["low"] < water["expected"]["typical"] < water["expected"]["high"]
    assert water["value"] < water["expected"]["low"]
    jet = next(one for one in water["predicted"] if one["cause"] == "brew-jet-blocked")
    assert jet["speaks"] == "for"
    assert jet["low"] < water["value"] < jet["high"]


def test_a_finding_of_the_answer_names_its_entry(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(
        sheet,
        reading("free-flow", "water", 30, "g", entry="water-first"),
        reading("blind-disc", "pump", "runs", entry="pump-runs"),
        {"kind": "not_measured", "check": "blind-disc", "reading": "rim"},
        reading("free-flow", "water", 33, "g", entry="water-again"),
        {"kind": "complaint", "words": ["slow", "loud"]},
    )
    values = {one["entry"]: one["value"] for one in told["answer"]["findings"] if one["entry"]}
    assert values == {"water-first": 30.0, "pump-runs": "runs", "water-again": 33.0}
    assert [one["value"] for one in told["answer"]["findings"] if not one["entry"]] == ["slow", "loud"]


def test_a_number_in_another_unit_is_kept_as_typed_and_counts_the_same(pages: Pages) -> None:
    in_bar, in_psi = pages.begin(), pages.begin()
    bar = pages.write(in_bar, reading("blind-disc", "brew_gauge", 9.0, "bar"))
    psi = pages.write(in_psi, reading("blind-disc", "brew_gauge", 130.53396, "psi"))
    finding = psi["sheet"]["findings"][0]
    assert finding["typed"] == {"value": 130.53396, "unit": "psi"}
    assert finding["unit"] == "bar"
    assert finding["value"] == pytest.approx(9.0, abs=1e-6)  # 1 psi = 0.0689475729 bar (lb, in, g0 exact)
    assert [one["cause"] for one in bar["answer"]["causes"][:5]] == [
        one["cause"] for one in psi["answer"]["causes"][:5]
    ]


def test_words_of_reasons_are_in_the_visitors_units(pages: Pages) -> None:
    sheet = pages.begin()
    pages.write(sheet, *SLOW_JET)
    pages.client.cookies.set("units", "psi.degF.ml")
    answer = pages.get(f"/api/findings/{sheet}/answer")
    said = " ".join(answer["causes"][0]["for"])
    assert "psi" in said
    assert " bar" not in said


@pytest.mark.parametrize("word", ["wet", "burning", "over-pressure"])
def test_while_there_is_danger_no_check_and_no_repair_is_named(pages: Pages, word: str) -> None:
    sheet = pages.begin()
    answer = pages.write(sheet, *SLOW_JET, {"kind": "stop", "word": word})["answer"]
    assert answer["next"] is None
    assert answer["alternative"] is None
    assert answer["others"] == []
    assert answer["repair"] is None
    assert answer["cautions"][0].startswith("Stop.")
    assert "Switch off at the wall" in answer["cautions"][0]
    cleared = pages.write(sheet, {"kind": "stop", "word": ""})["answer"]
    assert cleared["next"]
    assert not cleared["cautions"][0].startswith("Stop.")


def test_nothing_that_is_said_in_danger_defeats_a_safety_device(pages: Pages) -> None:
    sheet = pages.begin()
    cautions = pages.write(sheet, {"kind": "stop", "word": "over-pressure"})["answer"]["cautions"]
    said = " ".join(cautions)
    assert "Never hold the safety valve shut, never adjust it." in said
    assert "by cooling alone" in said
    assert "qualified" in said


def test_undo_says_what_it_takes_back_and_takes_it_back(pages: Pages) -> None:
    sheet = pages.begin()
    before = pages.write(sheet, {"kind": "complaint", "words": ["slow"]})
    told = pages.write(sheet, reading("free-flow", "water", 30, "g"))
    assert told["sheet"]["undo"] == "Free flow, cold, water in 10 s: 30 g"
    after = pages.write(sheet, {"kind": "undo"})
    assert after["sheet"]["findings"] == []
    assert after["sheet"]["undo"] == before["sheet"]["undo"] == "complaint: pours slowly"
    assert after["answer"]["causes"] == before["answer"]["causes"]
    assert after["sheet"]["count"] == told["sheet"]["count"] + 1


def test_undo_of_one_entry_takes_that_one_back_whoever_wrote_since(pages: Pages) -> None:
    sheet = pages.begin()
    pages.write(sheet, reading("free-flow", "water", 30, "g", entry="mine-0001"))
    pages.write(sheet, reading("blind-disc", "pump", "runs", entry="another-1"))
    told = pages.write(sheet, {"kind": "undo", "of": "mine-0001"})["sheet"]
    assert [one["entry"] for one in told["findings"]] == ["another-1"]


def test_with_nothing_left_there_is_nothing_to_undo(pages: Pages) -> None:
    sheet = pages.begin()
    pages.write(sheet, {"kind": "complaint", "words": ["slow"]}, {"kind": "undo"})
    told = pages.write(sheet, {"kind": "undo"})["sheet"]
    assert told["undo"] == ""
    assert told["complaints"] == []


def test_a_doubted_finding_counts_less_and_is_marked(pages: Pages) -> None:
    sheet = pages.begin()
    sure = pages.write(sheet, *SLOW_JET, reading("screen-off", "water", 31, "g", entry="screen-off-1"))
    told = pages.write(sheet, {"kind": "doubt", "of": "screen-off-1", "doubted": True})
    marked = {one["entry"]: one["doubted"] for one in told["sheet"]["findings"]}
    assert marked["screen-off-1"] is True
    assert sum(marked.values()) == 1
    assert told["answer"]["causes"] != sure["answer"]["causes"]
    back = pages.write(sheet, {"kind": "doubt", "of": "screen-off-1", "doubted": False})
    assert back["answer"]["causes"] == sure["answer"]["causes"]


def test_a_struck_finding_counts_no_more(pages: Pages) -> None:
    sheet = pages.begin()
    before = pages.write(sheet, *SLOW_JET)
    pages.write(sheet, reading("blind-disc", "brew_gauge", 3.0, "bar", entry="misread-1"))
    told = pages.write(sheet, {"kind": "strike", "of": "misread-1"})
    assert told["answer"]["causes"] == before["answer"]["causes"]
    assert "misread-1" not in [one["entry"] for one in told["sheet"]["findings"]]
    assert told["sheet"]["undo"] == "struck: Blind disc, brew gauge after 10 s: 3.0 bar"


def test_a_check_repeated_counts_with_both_readings(pages: Pages) -> None:
    sheet = pages.begin()
    pages.write(sheet, reading("free-flow", "water", 30, "g"))
    told = pages.write(sheet, reading("free-flow", "water", 34, "g"))
    assert [one["value"] for one in told["sheet"]["findings"]] == [30.0, 34.0]
    assert len([one for one in told["answer"]["findings"] if one["reading"] == "water"]) == 2


def test_what_could_not_be_measured_is_not_asked_for_again_and_says_nothing(pages: Pages) -> None:
    sheet = pages.begin()
    before = pages.write(sheet, {"kind": "complaint", "words": ["slow"]})["answer"]
    first = before["next"]
    rows = [
        {"kind": "not_measured", "check": first["check"], "reading": row["reading"]}
        for row in first["readings"]
    ]
    after = pages.write(sheet, *rows)["answer"]
    proposed = [card["check"] for card in [after["next"], after["alternative"], *after["others"]]]
    assert first["check"] not in proposed
    assert after["causes"] == before["causes"]


def test_a_check_that_was_made_leaves_the_machine_as_it_says(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(sheet, {"kind": "condition", "heat": "cold", "lid": "on"})
    told = pages.write(sheet, reading("warm-up", "first_off", 9.5, "min"))
    assert told["sheet"]["condition"]["heat"] == "hot"
    told = pages.write(sheet, {"kind": "condition", "heat": "warm"})
    assert told["sheet"]["condition"] == {"heat": "warm", "lid": "on"}
    told = pages.write(sheet, {"kind": "undo"}, {"kind": "undo"})
    assert told["sheet"]["condition"]["heat"] == "cold"


def test_a_reading_that_never_came_about_counts(pages: Pages) -> None:
    sheet = pages.begin()
    answer = pages.write(sheet, reading("warm-up", "vacuum_valve_shuts", None))["answer"]
    assert answer["causes"][0]["cause"] == "vacuum-valve-open"
    assert any("never came about" in said for said in answer["causes"][0]["for"])


def test_parts_history_site_and_settings_stand_on_the_sheet_until_said_otherwise(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(
        sheet,
        {"kind": "history", "words": ["hard-water"]},
        {"kind": "site", "values": {"mains_V": 228, "altitude_m": 310}},
        {"kind": "settings", "values": {"boiler_pressure_bar": 1.2}},
        {"kind": "known", "values": {"boiler.volume_l": 1.8}},
        {"kind": "part", "part": "vacuum_valve", "done": "cleaned"},
        {"kind": "note", "text": "Comes back on Monday.\nTwo scoops."},
    )["sheet"]
    assert told["site"] == {"mains_V": 228.0, "altitude_m": 310.0}
    assert told["settings"] == {"boiler_pressure_bar": 1.2}
    assert told["known"] == {"boiler.volume_l": 1.8}
    assert told["cleaned"] == ["vacuum_valve"]
    told = pages.write(
        sheet,
        {"kind": "site", "values": {"altitude_m": None}},
        {"kind": "part", "part": "vacuum_valve", "done": "replaced"},
    )["sheet"]
    assert told["site"] == {"mains_V": 228.0}
    assert (told["cleaned"], told["replaced"]) == ([], ["vacuum_valve"])
    assert told["note"] == "Comes back on Monday.\nTwo scoops."


def test_entries_are_confirmed_again_and_not_doubled(pages: Pages) -> None:
    sheet = pages.begin()
    entry = reading("free-flow", "water", 30, "g", entry="sent-twice-1")
    first = pages.write(sheet, entry)
    again = pages.write(sheet, entry, reading("blind-disc", "pump", "runs"))
    assert first["sheet"]["count"] == 2
    assert again["sheet"]["count"] == 3
    assert len(again["sheet"]["findings"]) == 2


def test_everything_is_there_after_the_server_was_ended(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        sheet = pages.begin()
        before = pages.write(sheet, *SLOW_JET)
    with bench(tmp_path) as pages:
        assert pages.get(f"/api/findings/{sheet}") == before["sheet"]
        assert pages.get(f"/api/findings/{sheet}/answer") == before["answer"]


def _begun_in_2020(data: Path, *sheets: str) -> None:
    for sheet in sheets:
        file = data / "findings" / f"{sheet}.jsonl"
        first, rest = file.read_text(encoding="utf-8").split("\n", 1)
        begin = json.loads(first) | {"at": "2020-01-01T07:00:00+00:00"}
        file.write_text(f"{json.dumps(begin)}\n{rest}", encoding="utf-8")


def test_a_page_whose_clock_goes_wrong_does_not_write_into_the_future(pages: Pages) -> None:
    sheet = pages.begin()
    for at in ("2131-01-01T10:00:00+00:00", "yesterday", "2020-01-01T10:00:00", 7, None):
        told = pages.write(sheet, reading("free-flow", "water", 30, "g", at=at))
        assert told["sheet"]["findings"][-1]["at"] >= told["sheet"]["begun"], at
        assert told["sheet"]["changed"] < "2130"
    told = pages.write(sheet, reading("free-flow", "water", 30, "g", at="2020-01-01T12:00:00+02:00"))
    assert told["sheet"]["findings"][-1]["at"] == "2020-01-01T10:00:00.000+00:00"


def test_the_list_tells_what_is_worked_on_the_last_changed_first(pages: Pages, tmp_path: Path) -> None:
    first, second = pages.begin(label="first"), pages.begin(label="second")
    for sheet, at in ((first, "2020-01-01T10:30:00+02:00"), (second, "2020-01-01T09:00:00Z")):
        pages.write(sheet, {"kind": "complaint", "words": ["loud"], "at": at})
    _begun_in_2020(tmp_path, first, second)
    assert [line["id"] for line in pages.get("/api/findings")][1:] == [second, first]
    pages.write(first, *SLOW_JET)
    lines = pages.get("/api/findings")
    assert lines[0]["id"] == first
    mine = next(line for line in lines if line["id"] == first)
    assert mine["leading"] == "Brew jet narrowed by scale or grit"
    assert mine["complaints"] == ["slow"]
    assert mine["label"] == "first"


def test_the_demonstration_lies_there_at_first_marked_and_can_begin_anew(pages: Pages) -> None:
    demo = [line for line in pages.get("/api/findings") if line["demo"]]
    assert len(demo) == 1
    name = demo[0]["id"]
    fresh = pages.get(f"/api/findings/{name}")
    assert fresh["site"] == {"mains_V": 228.0, "altitude_m": 310.0, "room_degC": 20.0}
    assert len(fresh["findings"]) == 6
    pages.write(name, {"kind": "note", "text": "tried"})
    anew = pages.post("/api/findings/demo", {})
    assert anew["note"] == ""
    assert anew["demo"] is True
    assert [one["value"] for one in anew["findings"]] == [one["value"] for one in fresh["findings"]]


def test_a_removed_demonstration_does_not_come_back_by_itself(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        name = pages.get("/api/findings")[0]["id"]
        assert pages.client.delete(f"/api/findings/{name}", headers=pages.headers).status_code == 204
    with bench(tmp_path) as pages:
        assert pages.get("/api/findings") == []
        assert pages.post("/api/findings/demo", {})["demo"] is True


def test_a_real_sheet_is_never_marked_a_demonstration(pages: Pages) -> None:
    sheet = pages.begin(demo=True, kind="begin")
    assert pages.get(f"/api/findings/{sheet}")["demo"] is False


def test_a_removed_sheet_can_be_brought_back(pages: Pages) -> None:
    sheet = pages.begin()
    before = pages.write(sheet, *SLOW_JET)["sheet"]
    pages.client.delete(f"/api/findings/{sheet}", headers=pages.headers)
    assert pages.client.get(f"/api/findings/{sheet}").status_code == 404
    assert sheet not in [line["id"] for line in pages.get("/api/findings")]
    assert pages.post(f"/api/findings/{sheet}/bring-back", {}) == before


def test_a_sheet_stays_readable_when_its_machine_is_gone(pages: Pages, tmp_path: Path) -> None:
    file = tmp_path / "machines" / "mine.yaml"
    file.parent.mkdir(exist_ok=True)
    file.write_text("machine: mine\ntitle: Mine\nlike: hx-vibration\n", encoding="utf-8")
    words = pages.get("/api/machines/mine/words")
    assert words["title"] == "Mine"
    sheet = pages.post("/api/findings", {"machine": "mine", "entry": new_id()})["id"]
    file.unlink()
    assert pages.get(f"/api/findings/{sheet}")["title"] == "mine"
    assert sheet in [line["id"] for line in pages.get("/api/findings")]
    assert pages.client.get(f"/api/findings/{sheet}/answer").status_code == 404


WRONG = [
    ({"kind": "complaint", "words": ["sloww"]}, "did you mean 'slow'"),
    ({"kind": "complaint", "words": "slow"}, "words: [word"),
    ({"kind": "complaint", "words": ["slow", "loud", "leaks", "drips"]}, "at most 3"),
    ({"kind": "reading", "check": "free-flow", "reading": "watr", "value": 3}, "did you mean 'water'"),
    ({"kind": "reading", "check": "complaint", "reading": "complaint", "value": "slow"}, "unknown check"),
    (reading("free-flow", "water", True), "give a number"),
    (reading("free-flow", "water", "30 g"), "give a number"),
    (reading("free-flow", "water", 30, "bar"), "one of: g"),
    (reading("free-flow", "water", 1e9, "kg"), "beyond"),
    (reading("heating-cycle", "vacuum_valve", "explodes"), "unknown"),
    (reading("heating-cycle", "vacuum_valve", "low"), "unknown"),
    (reading("flush", "temperature", -500, "degC"), ""),
    ({"kind": "doubt", "of": "nothing-here", "doubted": True}, "no finding of this sheet"),
    ({"kind": "doubt", "of": None, "doubted": "yes"}, "true or false"),
    ({"kind": "strike", "of": ["x"]}, "no finding of this sheet"),
    ({"kind": "stop", "word": "fire"}, "unknown stop"),
    ({"kind": "condition"}, "heat: cold, warm or hot"),
    ({"kind": "condition", "heat": "boiling"}, "unknown heat"),
    ({"kind": "site", "values": {"mains_V": 9000}}, "80 to 460"),
    ({"kind": "site", "values": {"mains": 230}}, "did you mean"),
    ({"kind": "site", "values": []}, "values: {key: number}"),
    ({"kind": "part", "part": "gearbox", "done": "cleaned"}, "unknown part"),
    ({"kind": "part", "part": "pump", "done": "polished"}, "unknown done"),
    ({"kind": "note", "text": "x" * 3501}, "at most 3500"),
    ({"kind": "label", "text": "a\x00b"}, "cannot be printed"),
    ({"kind": "label", "text": None}, "give a text"),
    ({"kind": "undo", "of": "unknown-entry"}, "no entry of this sheet"),
    ({"kind": "begin", "machine": MACHINE}, "unknown kind"),
    ({"kind": ["note"], "text": ""}, "unknown kind"),
    ({"kind": "note", "text": "x", "entry": "short"}, "8 to 64"),
    ({"kind": "note", "text": "x", "entry": {"a": 1}}, "8 to 64"),
    ({"kind": "note", "text": "x", "entry": "../../etc/passwd"}, "8 to 64"),
]


@pytest.mark.parametrize(("entry", "remedy"), WRONG)
def test_what_cannot_be_is_refused_with_what_would_be_right_and_nothing_is_written(
    pages: Pages, entry: dict[str, object], remedy: str
) -> None:
    sheet = pages.begin()
    told = pages.write(sheet, {"kind": "note", "text": "before"}, entry, status=422)
    problem = told["problems"][0]
    assert remedy in f"{problem['message']} {problem['remedy']}"
    assert problem["line"] == 2
    assert pages.get(f"/api/findings/{sheet}")["count"] == 1


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400"])
def test_a_number_that_is_none_is_refused(pages: Pages, number: str) -> None:
    sheet = pages.begin()
    entry = json.dumps({"entry": new_id()} | reading("free-flow", "water", 1, "g"))
    raw = f'{{"entries": [{entry.replace(": 1,", f": {number},")}]}}'
    headers = pages.headers | {"Content-Type": "application/json"}
    answer = pages.client.post(f"/api/findings/{sheet}/entries", content=raw, headers=headers)
    assert answer.status_code == 422
    assert pages.get(f"/api/findings/{sheet}")["count"] == 1


def test_every_wrong_entry_is_named(pages: Pages) -> None:
    sheet = pages.begin()
    told = pages.write(
        sheet,
        {"kind": "stop", "word": "fire", "entry": "wrong-one"},
        {"kind": "note", "text": "right"},
        {"kind": "label", "text": 3, "entry": "wrong-two"},
        status=422,
    )
    assert [(one["file"], one["line"]) for one in told["problems"]] == [("wrong-one", 1), ("wrong-two", 3)]


@pytest.mark.parametrize("sheet", ["2026-01-01-1", "..%2F..%2Fetc", "demo-", "x" * 300])
def test_a_sheet_that_is_not_there_is_not_found(pages: Pages, sheet: str) -> None:
    for path in (sheet, f"{sheet}/answer", f"{sheet}/file"):
        assert pages.client.get(f"/api/findings/{path}").status_code == 404


def test_an_unknown_machine_begins_no_sheet(pages: Pages) -> None:
    told = pages.post("/api/findings", {"machine": "../hx", "entry": new_id()}, 404)
    assert "unknown machine" in told["problems"][0]["message"]
    assert [line for line in pages.get("/api/findings") if not line["demo"]] == []


LIVE = [
    [{"kind": "complaint", "words": ["slow", "trips"]}],
    [{"kind": "stop", "word": "wet"}, {"kind": "stop", "word": ""}],
    [{"kind": "stop", "word": "burning"}, {"kind": "stop", "word": ""}],
    [reading("look", "smell", "burnt")],
]


@pytest.mark.parametrize("said", LIVE, ids=["trips", "was wet", "was burning", "smells burnt"])
@pytest.mark.parametrize("heat", ["cold", "hot"])
def test_what_may_be_live_is_measured_unplugged_before_anything_under_power(
    pages: Pages, said: list[dict[str, object]], heat: str
) -> None:
    sheet = pages.begin()
    answer = pages.write(sheet, *said, {"kind": "condition", "heat": heat, "lid": "on"})["answer"]
    assert {answer["next"]["check"], answer["alternative"]["check"]} == {"meter", "mains-lead"}
    assert answer["next"]["steps"][0].startswith("Unplug")
    assert answer["cautions"][0].startswith("It may be live: do not switch it on")
    assert answer["repair"]["now"] is False
    answer = pages.write(
        sheet,
        reading("meter", "insulation", "over-1-Mohm"),
        {"kind": "not_measured", "check": "mains-lead", "reading": "earth"},
    )["answer"]
    assert not any(text.startswith("It may be live") for text in answer["cautions"])


def test_any_other_complaint_may_be_looked_at_under_power(pages: Pages) -> None:
    answer = pages.write(pages.begin(), {"kind": "complaint", "words": ["slow"]})["answer"]
    assert not answer["next"]["steps"][0].startswith("Unplug")
    assert not any(text.startswith("It may be live") for text in answer["cautions"])
