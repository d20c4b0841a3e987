"""Expected readings over HTTP: narrowed by what is said, told as far as they are, on paper."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from collaudo.bench.findings.book import FindingsBook
from collaudo.web.application import make_application
from collaudo.web.options import Options
from collaudo.web.sound_readiness import SoundReadiness, command_for_sound
from tests.app.web.asking import Asker

HX = "hx-vibration"


def told(asker: Asker, **said: Any) -> dict[str, Any]:
    answer = asker.change("POST", f"/api/expected/{HX}", said)
    assert answer.status == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def reading(found: dict[str, Any], name: str) -> dict[str, Any]:
    check, _, word = name.partition(".")
    return next(one for one in found["readings"] if (one["check"], one["reading"]) == (check, word))


def test_every_number_has_a_range_and_every_word_its_others(asker: Asker) -> None:
    found = told(asker)
    assert found["ready"] == "ranges"
    assert (found["draws"], found["of_draws"]) == (64, 64)
    numbers = [one for one in found["readings"] if one["low"] is not None]
    words = [one for one in found["readings"] if one["word"]]
    assert len(numbers) > 40
    assert len(words) > 20
    assert all(one["low"] <= one["typical"] <= one["high"] for one in numbers)
    assert all(one["typical"] is None for one in words)
    assert not any(one["moved"] for one in found["readings"])


def test_what_is_said_moves_and_narrows_and_is_marked(asker: Asker) -> None:
    usual = reading(told(asker), "heating-cycle.gauge_off")
    found = told(asker, settings={"boiler_pressure_bar": 1.35})
    gauge = reading(found, "heating-cycle.gauge_off")
    assert gauge["moved"]
    assert gauge["typical"] > usual["typical"] + 0.05
    assert gauge["high"] - gauge["low"] < usual["high"] - usual["low"]
    was = (gauge["usual_low"], gauge["usual_typical"], gauge["usual_high"])
    assert was == (usual["low"], usual["typical"], usual["high"])
    assert "boiler pressure" not in found["open"]
    assert "boiler pressure" in told(asker)["open"]


def test_mains_move_the_volts_at_the_socket(asker: Asker) -> None:
    volts = reading(told(asker, site={"mains_V": 215.0}), "mains.voltage")
    assert volts["typical"] == pytest.approx(215.0, abs=4.0)
    assert volts["moved"]


def test_what_moves_nothing_is_said_to_be_unused(asker: Asker) -> None:
    assert told(asker, site={"conductivity_uS_per_cm": 300.0})["unused"] == ["conductivity_uS_per_cm"]


def test_what_its_plate_says_counts(asker: Asker) -> None:
    found = told(asker, known={"boiler.volume_l": 2.1})
    assert "boiler volume" not in found["open"]


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"site": {"mains_V": 20}}, "80 to 460"),
        ({"site": {"moon": 1}}, "moon"),
        ({"settings": {"safety_valve_bar": 2}}, "safety_valve_bar"),
        ({"known": {"boiler.colour": 2}}, "boiler.colour"),
        ({"settings": {"boiler_pressure_bar": "x"}}, "number"),
    ],
)
def test_what_cannot_be_is_refused_and_said(asker: Asker, said: Any, says: str) -> None:
    answer = asker.change("POST", f"/api/expected/{HX}", said)
    assert answer.status == 422
    assert says in answer.text


@pytest.mark.parametrize("machine", ["nothing", "..%2f..%2fsecret"])
def test_no_other_file_can_be_named(asker: Asker, machine: str) -> None:
    assert asker.change("POST", f"/api/expected/{machine}", {}).status == 404
    assert asker.ask("GET", f"/expected/{machine}").status == 404


def test_the_page_names_every_reading_in_the_order_of_the_work(asker: Asker) -> None:
    page = asker.ask("GET", f"/expected/{HX}").text
    rows = {f"{one['check']}.{one['reading']}" for one in told(asker)["readings"]}
    for name in rows - {"complaint.complaint"}:
        assert f'data-row="{name}"' in page, name
    assert page.count("data-row=") == len(rows - {"complaint.complaint"})
    at = [page.index(f'id="{condition}"') for condition in ("any", "cold", "warm", "hot")]
    assert at == sorted(at)
    shown = re.sub(r"<[^>]*>", "", page.partition('<div class="expected"')[2])
    assert "degC" not in shown


def test_the_sheet_for_the_wall_is_a_paper_that_says_what_was_said(asker: Asker) -> None:
    pdf = asker.ask("GET", f"/api/expected/{HX}/sheet.pdf?mains_V=225&boiler_pressure_bar=1.2")
    assert pdf.status == 200
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.body.startswith(b"%PDF-")


def test_the_sheet_is_in_the_units_chosen(asker: Asker) -> None:
    bar = asker.ask("GET", f"/api/expected/{HX}/sheet.pdf")
    psi = asker.ask("GET", f"/api/expected/{HX}/sheet.pdf", {"Cookie": "units=psi.degF.ml"})
    assert psi.status == 200
    assert bar.body != psi.body


@pytest.mark.parametrize("query", ["mains_V=nan", "mains_V=x", "mains_V=inf"])
def test_a_sheet_of_no_number_is_refused(asker: Asker, query: str) -> None:
    assert asker.ask("GET", f"/api/expected/{HX}/sheet.pdf?{query}").status == 422


def test_a_sheet_of_an_unknown_value_is_refused(asker: Asker) -> None:
    answer = asker.ask("GET", f"/api/expected/{HX}/sheet.pdf?moon=1")
    assert answer.status == 404
    assert "mains_V" in answer.text


# --- while the ranges are being made --------------------------------------------------------------------


WAITS = "import sys; sys.stdin.buffer.read()"


def waiting(_place: str) -> Sequence[str]:
    """A process that makes nothing until it is ended."""
    return [sys.executable, "-c", WAITS]


@pytest.fixture
def unready(tmp_path: Path, no_signatures: Path) -> Iterator[TestClient]:
    """A server that has no ranges yet, and whose making of them stands still."""
    no_signatures.mkdir(parents=True, exist_ok=True)
    app = make_application(Options(tmp_path))
    app.state.upkeep.sound = SoundReadiness(FindingsBook(tmp_path).words, waiting)
    with TestClient(app, base_url="http://localhost") as client:
        client.headers["X-Form-Token"] = client.get("/api/token").json()["form_token"]
        yield client


def test_meanwhile_one_machine_is_told_without_ranges(unready: TestClient) -> None:
    found = unready.post(f"/api/expected/{HX}", json={"settings": {"boiler_pressure_bar": 1.3}}).json()
    assert found["ready"] == "typical"
    assert found["left_s"] > 0.0
    gauge = reading(found, "heating-cycle.gauge_off")
    assert gauge["typical"] == pytest.approx(1.34, abs=0.03)
    assert (gauge["low"], gauge["high"], gauge["moved"]) == (None, None, False)
    # Only chance decides whether a rim weeps: that is not told of one machine.
    rim = reading(found, "blind-disc.rim")
    assert (rim["typical"], rim["word"]) == (None, "")


def test_meanwhile_there_is_no_sheet(unready: TestClient) -> None:
    answer = unready.get(f"/api/expected/{HX}/sheet.pdf")
    assert answer.status_code == 409
    assert "still being made" in answer.text


def test_ranges_are_made_of_sound_machines_alone() -> None:
    assert list(command_for_sound("hx-rotary"))[-2:] == ["hx-rotary", "sound"]
