"""The path room: every state of every machine is told, step by step, and each step stands in the drawing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from collaudo.bench.explaining import walking as module
from collaudo.bench.explaining.paths import path_of, told
from collaudo.bench.explaining.states import states_of
from collaudo.bench.explaining.walking import Piece, pieces, walking
from collaudo.bench.machines.library import machines
from collaudo.drawing.draw import diagram
from collaudo.quantities.units import from_si, to_si
from tests.app.web.walking import make, visitor

LIBRARY = [machine.id for machine in machines()]
MATTERS = ("water", "heat", "current")
BREWING = "/api/path/hx-vibration/brewing"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    app = make(tmp_path_factory.mktemp("path") / "data")
    client = visitor(app)
    yield client
    client.close()


def plain(sentence: list[dict[str, Any]] | tuple[Piece, ...]) -> str:
    return "".join(one["text"] if isinstance(one, dict) else one.text for one in sentence)


def steps_of(found: dict[str, Any]) -> list[dict[str, Any]]:
    return [step for walk in found["walks"] for step in walk["steps"]]


def ids_in(drawing: str) -> set[str]:
    return set(re.findall(r' id="([^"]+)"', drawing))


def test_every_machine_and_every_state_is_offered(client: TestClient) -> None:
    page = client.get("/path").text
    assert len(LIBRARY) == 10
    for machine in LIBRARY:
        assert f'href="/path/{machine}"' in page
        shown = client.get(f"/path/{machine}?of=heat&for=apprentice").text
        for state in states_of(machine):
            assert f"/path/{machine}/{state.state}/heat?for=apprentice" in shown
    assert [one["state"] for one in client.get("/api/path/spring-lever").json()][3] == "pulling"


@pytest.mark.parametrize("machine", LIBRARY)
def test_every_state_has_its_page_and_its_steps_which_stand_in_the_drawing(
    client: TestClient, machine: str
) -> None:
    """Each machine in every state; what is followed changes from state to state, so that all are met."""
    for n, state in enumerate(states_of(machine)):
        of = MATTERS[n % len(MATTERS)]
        assert client.get(f"/path/{machine}/{state.state}/{of}").status_code == 200
        answer = client.get(f"/api/path/{machine}/{state.state}/{of}")
        assert answer.status_code == 200, answer.text
        found = answer.json()
        steps, ids = steps_of(found), ids_in(found["drawing"])
        assert len(steps) >= 2, (state.state, of)
        marks = {mark for step in steps for mark in [*step["here"], *step["reached_by"]]}
        assert marks <= ids
        # What turns a pump or is felt far off stands in no wiring diagram.
        undrawn = [step["name"] for step in steps if not step["here"]]
        assert len(undrawn) <= (0.2 * len(steps) if of == "current" else 0), (state.state, of, undrawn)
        assert all(plain(step["sentence"]).endswith(".") for step in steps)


@pytest.mark.parametrize("of", MATTERS)
@pytest.mark.parametrize("reader", ["apprentice", "customer"])
def test_the_steps_say_what_the_text_of_the_path_says(of: str, reader: str) -> None:
    text = " ".join(" ".join(told(path_of("hx-vibration", "brewing", of), reader)).split())
    found = walking("hx-vibration", "brewing", of, reader)
    steps = [step for walk in found.walks for step in walk.steps]
    assert plain(found.summary) in text
    for step in steps:
        said = [plain(step.now), step.fails] if reader == "apprentice" else [plain(step.sentence)]
        assert all(sentence in text for sentence in said), step.name


def test_how_a_part_fails_and_cautions_are_for_the_apprentice_alone(client: TestClient) -> None:
    apprentice = client.get(f"{BREWING}/water?for=apprentice").json()
    customer = client.get(f"{BREWING}/water?for=customer").json()
    assert any(step["fails"] for step in steps_of(apprentice))
    assert any("hands and face" in plain(caution) for caution in apprentice["cautions"])
    assert not any(step["fails"] or step["now"] for step in steps_of(customer))
    assert customer["cautions"] == []


def test_the_walks_tell_branches_circulation_and_what_is_shut_and_why(client: TestClient) -> None:
    water = client.get(f"{BREWING}/water?for=apprentice").json()["walks"]
    assert {walk["kind"] for walk in water} == {"way", "branch", "closed"}
    tap = next(walk for walk in water if "water tap" in walk["title"])
    assert plain(tap["why"]) == "The water tap is shut by hand."
    idle = client.get("/api/path/hx-vibration/idle/water?for=apprentice").json()["walks"]
    round_it_goes = next(walk for walk in idle if walk["kind"] == "circulation")
    assert round_it_goes["why"]


def test_a_line_is_drawn_whole_although_others_share_its_way(client: TestClient) -> None:
    found = client.get(f"{BREWING}/water?for=apprentice").json()
    check_valve = next(step for step in steps_of(found) if step["parts"] == ["check_valve"])
    assert check_valve["reached_by"] == ["line-2", "trunk-2-line-0"]


def test_quantities_in_sentences_can_be_shown_in_other_units() -> None:
    """9.5 bar are 138 psi, 96 degC are 205 degF (factors of the units: NIST SP 811, appendix B)."""
    found = pieces("It comes in at 96 °C and 9.5 bar. 9 to 12 bar stay; above 100 degC, 3 g/s.")
    quantities = [(one.text, one.values, one.unit) for one in found if one.unit]
    assert quantities == [
        ("96 °C", (96.0,), "degC"),
        ("9.5 bar", (9.5,), "bar"),
        ("9 to 12 bar", (9.0, 12.0), "bar"),
        ("100 °C", (100.0,), "degC"),
    ]
    assert plain(found) == "It comes in at 96 °C and 9.5 bar. 9 to 12 bar stay; above 100 °C, 3 g/s."
    assert from_si(to_si(9.5, "bar"), "psi") == pytest.approx(138.0, abs=0.5)
    assert from_si(to_si(96.0, "degC"), "degF") == pytest.approx(205.0, abs=0.5)


@pytest.mark.parametrize("machine", LIBRARY)
def test_no_pressure_or_temperature_of_a_path_is_left_without_its_value(machine: str) -> None:
    for state in ("idle", "brewing"):
        for of in ("water", "heat"):
            for walk in walking(machine, state, of, "apprentice").walks:
                for step in walk.steps:
                    rest = "".join(one.text for one in (*step.now, *step.sentence) if not one.unit)
                    assert not re.search(r"\d\s*(bar|°)", rest), rest


def test_the_drawing_brings_no_style_of_its_own(client: TestClient) -> None:
    drawing = client.get(f"{BREWING}/heat").json()["drawing"]
    assert drawing.startswith("<svg ")
    assert "<style" not in drawing
    assert "style=" not in drawing
    assert "<script" not in drawing


@pytest.mark.parametrize(
    ("path", "status", "told_of"),
    [
        ("/path/no-such-machine", 404, "no-such-machine"),
        ("/path/hx-vibration/brewin/water", 404, "brewing"),
        ("/path/hx-vibration/pulling/water", 404, "pulling"),
        ("/path/hx-vibration/brewing/milk", 422, "water"),
        ("/path/hx-vibration/brewing/water?for=nobody", 422, "customer"),
        ("/api/path/hx-vibration/brewin/water", 404, "brewing"),
        ("/api/path/no-such-machine", 404, "no-such-machine"),
        ("/api/path/hx-vibration/brewing/milk", 422, "water"),
    ],
)
def test_what_there_is_not_is_said(client: TestClient, path: str, status: int, told_of: str) -> None:
    answer = client.get(path)
    assert answer.status_code == status
    assert told_of in answer.text


def test_a_machine_of_ones_own_can_be_followed(tmp_path: Path) -> None:
    folder = tmp_path / "data" / "machines"
    folder.mkdir(parents=True)
    own = "machine: by-the-window\ntitle: The one by the window\nlike: hx-vibration\n"
    (folder / "by-the-window.yaml").write_text(own, encoding="utf-8")
    with visitor(make(tmp_path / "data")) as client:
        assert "The one by the window" in client.get("/path").text
        assert "The one by the window" in client.get("/path/by-the-window").text
        found = client.get("/api/path/by-the-window/idle/water").json()
        assert found["title"] == "The one by the window"


def test_while_the_twin_is_not_compiled_the_answer_is_how_long_that_takes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from collaudo.web.http_api import path

    monkeypatch.setattr(path, "twin_is_compiled", lambda: False)
    monkeypatch.setattr(path, "snapshot_is_kept", lambda *_: False)
    app = make(tmp_path / "data")
    wanted: list[str] = []
    monkeypatch.setattr(app.state.upkeep.readiness, "want", wanted.append)
    answer = visitor(app).get(f"{BREWING}/water")
    assert answer.status_code == 202
    assert "walks" not in answer.json()
    assert {"twin", "left_s"} <= set(answer.json())
    assert wanted == ["hx-vibration"]


def test_a_path_asked_for_again_is_laid_out_no_more_until_its_machine_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    laid_out: list[str] = []

    def counted(*told: Any) -> Any:
        laid_out.append(told[2])
        return diagram(*told)

    monkeypatch.setattr(module, "diagram", counted)
    file = tmp_path / "own.yaml"
    text = "like: flow-through\nmachine: own\ntitle: {}\n"
    file.write_text(text.format("first"))
    first = walking(str(file), "brewing", "water", "customer")
    assert walking(str(file), "brewing", "water", "customer") is first
    assert laid_out == ["water"]
    file.write_text(text.format("second"))
    assert walking(str(file), "brewing", "water", "customer").title == "second"
    assert laid_out == ["water"] * 2


@pytest.mark.parametrize("machine", ["dual-vibration", "flow-through", "dual-rotary", "hx-two-group"])
def test_in_the_wiring_every_step_stands_somewhere(machine: str) -> None:
    """A sensor has no symbol of its own there: it stands at the controller that reads it."""
    found = walking(machine, "heating", "current", "apprentice")
    steps = [step for walk in found.walks for step in walk.steps]
    assert steps
    assert [step.name for step in steps if not step.here] == []
    assert {one for step in steps for one in step.here} <= ids_in(found.drawing)
