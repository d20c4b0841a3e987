"""A findings sheet and a findings file say the same: out, in again, and to the command line."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from collaudo.bench.demo import demo_cases, demo_file
from collaudo.bench.judging.diagnosis import diagnose
from tests.app.web.sheets import Pages, bench, new_id, reading

pytestmark = pytest.mark.usefixtures("signatures")

SAID = (
    "label", "complaints", "condition", "history", "site", "settings", "known", "cleaned", "replaced",
    "proven_good", "note",
)  # fmt: skip
EVERYTHING = (
    {"kind": "complaint", "words": ["slow", "loud"]},
    {"kind": "history", "words": ["hard-water", "moved"]},
    {"kind": "site", "values": {"mains_V": 228.5, "altitude_m": 310, "room_degC": 20, "mains_Hz": 50}},
    {"kind": "settings", "values": {"boiler_pressure_bar": 1.15}},
    {"kind": "known", "values": {"boiler.volume_l": 1.8}},
    reading("look", "wet_place", "under-the-group"),
    reading("blind-disc", "brew_gauge", 139, "psi", entry="psi-0001"),
    reading("free-flow", "water", 45, "g"),
    reading("blind-disc", "relief_return", 31.5, "g"),
    reading("free-flow", "water", 47.25, "g"),
    reading("blind-disc", "pressure_kept", "low"),
    reading("warm-up", "vacuum_valve_shuts", None),
    reading("flush", "temperature", 199.4, "degF"),
    {"kind": "doubt", "of": "psi-0001", "doubted": True},
    {"kind": "part", "part": "vacuum_valve", "done": "cleaned"},
    {"kind": "part", "part": "pump", "done": "replaced"},
    {"kind": "part", "part": "brew_jet", "done": "proven_good"},
    {"kind": "note", "text": "# no comment: 'quoted' \"twice\", ö\nsecond line"},
    {"kind": "condition", "heat": "warm", "lid": "off"},
)


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Pages]:
    with bench(tmp_path) as found:
        yield found


def file_of(pages: Pages, sheet: str) -> str:
    answer = pages.client.get(f"/api/findings/{sheet}/file")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"] == f'attachment; filename="findings-{sheet}.yaml"'
    return answer.text


def found_in(sheet: dict[str, Any]) -> list[tuple[Any, ...]]:
    """Findings as a file has them: check by check, reading by reading."""
    keys = ("check", "reading", "doubted")
    found: dict[Any, list[Any]] = {}
    for one in sheet["findings"]:
        value = pytest.approx(one["value"]) if isinstance(one["value"], float) else one["value"]
        found.setdefault((one["check"], one["reading"]), []).append((*(one[key] for key in keys), value))
    checks: dict[str, list[Any]] = {}
    for (check, _), several in found.items():
        checks.setdefault(check, []).extend(several)
    return [one for several in checks.values() for one in several]


def test_a_sheet_comes_back_from_its_file_as_it_was(pages: Pages) -> None:
    sheet = pages.begin()
    before = pages.write(sheet, *EVERYTHING)["sheet"]
    after = pages.post("/api/findings/import", {"text": file_of(pages, sheet), "entry": new_id()})
    assert after["id"] != sheet
    for key in SAID:
        assert after[key] == before[key], key
    assert found_in(after) == found_in(before)


def test_a_file_that_went_out_and_in_goes_out_the_same(pages: Pages) -> None:
    sheet = pages.begin()
    pages.write(sheet, *EVERYTHING)
    again = pages.post("/api/findings/import", {"text": file_of(pages, sheet), "entry": new_id()})["id"]
    third = pages.post("/api/findings/import", {"text": file_of(pages, again), "entry": new_id()})["id"]
    assert file_of(pages, again).splitlines()[1:] == file_of(pages, third).splitlines()[1:]


@pytest.mark.parametrize(
    "entries", [EVERYTHING, EVERYTHING[:1], ()], ids=["everything", "complaint", "nothing"]
)
def test_the_command_line_gives_the_file_the_answer_of_the_sheet(
    pages: Pages, tmp_path: Path, entries: tuple[dict[str, Any], ...]
) -> None:
    sheet = pages.begin()
    if entries:
        pages.write(sheet, *entries)
    answer = pages.get(f"/api/findings/{sheet}/answer")
    file = tmp_path / "findings.yaml"
    file.write_text(file_of(pages, sheet), encoding="utf-8")
    told = diagnose(str(file))
    assert [cause["cause"] for cause in answer["causes"]] == [cause.cause for cause in told.causes]
    assert answer["causes"][0]["share"] == round(told.causes[0].probability, 2)
    assert answer["next"]["check"] == told.next_checks[0].check
    assert answer["repair"]["cause"] == told.repair.cause
    assert answer["repair"]["now"] == told.repair.now


@pytest.mark.parametrize("case", demo_cases())
def test_every_demonstration_can_be_brought_in(pages: Pages, case: str) -> None:
    with demo_file(case) as file:
        text = file.read_text(encoding="utf-8")
    sheet = pages.post("/api/findings/import", {"text": text, "entry": new_id()})
    assert sheet["findings"]
    assert sheet["complaints"]
    assert sheet["demo"] is False


def test_the_same_file_sent_again_makes_no_second_sheet(pages: Pages) -> None:
    told = {"text": "machine: hx-vibration\ncomplaint: slow\n", "entry": new_id()}
    assert pages.post("/api/findings/import", told) == pages.post("/api/findings/import", told)


def test_every_problem_of_a_file_is_told_with_its_line(pages: Pages) -> None:
    text = (
        "machine: hx-vibration\n"
        "complaint: sloww\n"
        "site: {mains_V: 9000}\n"
        "findings:\n"
        "  free-flow:\n"
        "    water: 45\n"
        "    watr: 45 g\n"
        "  blind-disk: {}\n"
        "cleaned: [gearbox]\n"
    )
    problems = pages.post("/api/findings/import", {"text": text, "entry": new_id()}, 422)["problems"]
    assert [one["line"] for one in problems] == [2, 3, 6, 7, 8, 9]
    assert all(one["remedy"] for one in problems)
    assert [line for line in pages.get("/api/findings") if not line["demo"]] == []


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 0, "empty"),
        ("machine: hx-vibration\n  x: [", 2, ""),
        ("note: no machine", 1, "machine"),
        ("# who\nmachine: hx-vibratoin", 2, "unknown machine"),
        ("machine: ../../etc/passwd", 1, "unknown machine"),
        ("machine: /etc/hosts.yaml", 1, "unknown machine"),
        ("machine: hx-vibration\nnote: \x00", 2, ""),
        ("machine: &a hx-vibration", 1, "anchor"),
    ],
)
def test_a_file_that_cannot_be_read_says_where(pages: Pages, text: str, line: int, said: str) -> None:
    problem = pages.post("/api/findings/import", {"text": text, "entry": new_id()}, 422)["problems"][0]
    assert problem["line"] == line
    assert said in problem["message"]


def test_a_machine_of_ones_own_is_named_by_its_file(pages: Pages, tmp_path: Path) -> None:
    folder = tmp_path / "machines"
    folder.mkdir(exist_ok=True)
    (folder / "mine.yaml").write_text("machine: mine\ntitle: Mine\nlike: hx-vibration\n", encoding="utf-8")
    sheet = pages.post("/api/findings", {"machine": "mine", "entry": new_id()})["id"]
    text = file_of(pages, sheet)
    assert "machine: mine.yaml" in text
    assert pages.post("/api/findings/import", {"text": text, "entry": new_id()})["machine"] == "mine"


def test_a_label_cannot_add_a_line_to_the_file(pages: Pages) -> None:
    sheet = pages.begin(label="blue\nmachine: other")
    lines = file_of(pages, sheet).splitlines()
    assert lines[0].startswith("# Findings")
    assert [line for line in lines if line.startswith("machine:")] == ["machine: hx-vibration"]
