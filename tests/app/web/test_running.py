"""Running machines over the network: their layout, their socket, several who watch, and what is refused."""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect

from collaudo.web.running.asked import AT_ONCE, MOST_BYTES
from tests.app.served import Bench
from tests.app.web.asking import Asker

MACHINE = "flow-through"
OPENS_s = 60.0
HEARD_s = 10.0
"""A busy computer may take so long; a quiet one answers within a frame."""


def opened(asker: Asker, stand: str = MACHINE) -> Mapping[str, Any]:
    """The layout, once the stand is there."""
    end = time.monotonic() + OPENS_s
    while time.monotonic() < end:
        answer = asker.ask("GET", f"/api/running/{stand}")
        if answer.status == 200:
            found: Mapping[str, Any] = answer.json()
            return found
        assert answer.status == 202
        assert answer.json()["readiness"]["said"]
    raise AssertionError("it was never opened")


@contextmanager
def watching(bench: Bench, stand: str = MACHINE, origin: str = "") -> Iterator[ClientConnection]:
    address = f"ws://localhost:{bench.port}/api/running/{stand}/socket"
    with connect(address, origin=origin or bench.url, proxy=None, close_timeout=1) as line:  # type: ignore[arg-type]
        yield line


def do(line: ClientConnection, **asked: Any) -> None:
    line.send(json.dumps({"do": asked}))


def heard(line: ClientConnection, key: str, within_s: float = HEARD_s) -> Any:
    """The next message of a kind."""
    end = time.monotonic() + within_s
    while (left_s := end - time.monotonic()) > 0.0:
        told = json.loads(line.recv(timeout=left_s))
        if key in told:
            return told[key]
    raise AssertionError(f"no {key} came")


def until_states(line: ClientConnection, control: str, word: str) -> Mapping[str, Any]:
    end = time.monotonic() + HEARD_s
    while time.monotonic() < end:
        states: Mapping[str, Any] = heard(line, "states")
        if states["positions"][control] == word:
            return states
    raise AssertionError(f"{control} never stood at {word}")


def test_the_layout_says_what_each_place_of_a_frame_is(served: Bench, asker: Asker) -> None:
    layout = opened(asker)
    assert layout["machine"] == layout["stand"] == MACHINE
    assert layout["of_one_own"] is False
    with watching(served) as line:
        frame = heard(line, "frame")
        while "v" not in frame:
            frame = heard(line, "frame")
    assert len(frame["v"]) == len(layout["values"])
    assert len(frame["wf"]) == layout["drawings"]["water"]["runs"]
    assert len(frame["cs"]) == layout["drawings"]["current"]["runs"]
    assert all(one["positions"] for one in layout["controls"])
    for drawing in layout["drawings"].values():
        assert "<style" not in drawing["svg"]
        assert " style=" not in drawing["svg"]


def test_frames_keep_coming_and_count_up(served: Bench, asker: Asker) -> None:
    opened(asker)
    with watching(served) as line:
        frames = [heard(line, "frame") for _ in range(20)]
    numbers = [frame["n"] for frame in frames]
    assert numbers == sorted(set(numbers))
    assert frames[-1]["t"] > frames[0]["t"]


def test_two_see_at_once_what_either_does(served: Bench, asker: Asker) -> None:
    opened(asker)
    with watching(served) as one, watching(served) as other:
        do(one, operate={"power": "on"})
        until_states(one, "power", "on")
        assert until_states(other, "power", "on")["clients"] == 2
        do(other, operate={"power": "off"})
        assert until_states(one, "power", "off")["clients"] == 2
        do(one, put_in={"cause": "heater-open", "severity": 0.5})
        end = time.monotonic() + HEARD_s
        while not (states := heard(other, "states"))["teaching"]:
            assert time.monotonic() < end
        assert [fault["cause"] for fault in states["faults"]] == ["heater-open"]
        do(one, renew=True)


def test_who_comes_later_is_told_how_everything_stands(served: Bench, asker: Asker) -> None:
    opened(asker)
    with watching(served) as one:
        do(one, operate={"power": "on"})
        until_states(one, "power", "on")
    with watching(served) as later:
        assert heard(later, "states")["positions"]["power"] == "on"
        assert any(event["text"] == "power switch: on" for event in heard(later, "events"))
        do(later, operate={"power": "off"})


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ("nonsense", "not JSON"),
        ("[" * 3000, "not JSON"),
        ("[]", "not understood"),
        ('{"do": 5}', "not understood"),
        ('{"do": {"goes": false}, "and": 1}', "not understood"),
        ('{"do": {"speed": NaN}}', "not JSON"),
        ('{"do": {}}', "at once"),
        ('{"do": {"explode": true}}', "explode"),
        ('{"do": {"speed": 3}}', "one of 1, 2, 5"),
        ('{"do": {"operate": {"open": "fridge"}}}', "fridge"),
        (json.dumps({"do": {"save": "x" * MOST_BYTES}}), "too long"),
        (b"\x00\xff binary", "not JSON"),
    ],
    ids=str,
)
def test_what_is_not_understood_is_answered_and_the_line_stays(
    served: Bench, asker: Asker, sent: str | bytes, said: str
) -> None:
    opened(asker)
    with watching(served) as line:
        line.send(sent)
        assert said in heard(line, "said")
        do(line, save="still there")
        assert heard(line, "said") == "kept: still there"


def test_a_refusal_is_said_to_who_asked_alone(served: Bench, asker: Asker) -> None:
    opened(asker)
    with watching(served) as one, watching(served) as other:
        do(one, explode=True)
        assert "explode" in heard(one, "said")
        do(other, save="mine")
        assert heard(other, "said") == "kept: mine"


def test_a_line_that_sends_too_fast_is_told_so_and_stays(served: Bench, asker: Asker) -> None:
    opened(asker)
    with watching(served) as line:
        for _ in range(int(AT_ONCE) * 5):
            do(line, speed=1)
        assert "too much at once" in heard(line, "said")
        time.sleep(1.0)
        do(line, save="after")
        assert heard(line, "said") == "kept: after"


@pytest.mark.parametrize("origin", ["http://elsewhere.test", "null", "http://localhost:1"])
def test_pages_of_elsewhere_get_no_line(served: Bench, asker: Asker, origin: str) -> None:
    opened(asker)
    with pytest.raises((InvalidStatus, ConnectionClosed)), watching(served, origin=origin) as line:
        line.recv(timeout=HEARD_s)


def test_a_line_without_an_origin_is_refused(served: Bench, asker: Asker) -> None:
    opened(asker)
    address = f"ws://localhost:{served.port}/api/running/{MACHINE}/socket"
    with pytest.raises((InvalidStatus, ConnectionClosed)), connect(address, proxy=None) as line:
        line.recv(timeout=HEARD_s)


def test_a_line_to_no_machine_is_told_so_and_closed(served: Bench, asker: Asker) -> None:
    del asker
    with watching(served, "kettle") as line:
        assert "kettle" in heard(line, "said")
        with pytest.raises(ConnectionClosed) as closed:
            line.recv(timeout=HEARD_s)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == 4404


def test_one_who_does_not_read_holds_up_nobody(served: Bench, asker: Asker) -> None:
    opened(asker)
    with watching(served) as slow, watching(served) as quick:
        heard(slow, "frame")
        slow.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        before = heard(quick, "frame")["n"]
        end = time.monotonic() + 5.0
        count = 0
        while time.monotonic() < end:
            latest = heard(quick, "frame")["n"]
            count += 1
        assert count > 0.8 * (latest - before)
        do(quick, save="quick")
        assert heard(quick, "said") == "kept: quick"


def test_a_stand_of_ones_own_runs_apart_and_is_put_away(served: Bench, asker: Asker) -> None:
    opened(asker)
    answer = asker.change("POST", "/api/running", {"machine": MACHINE})
    assert answer.status == 201
    own = answer.json()["stand"]
    assert own == f"{MACHINE}~2"
    assert opened(asker, own)["of_one_own"] is True
    with watching(served, own) as mine, watching(served) as shared:
        do(mine, operate={"power": "on"})
        until_states(mine, "power", "on")
        do(shared, save="shared")
        assert heard(shared, "said") == "kept: shared"
        assert asker.change("DELETE", f"/api/running/{own}", None).status == 422
    with watching(served) as shared:
        assert heard(shared, "states")["positions"]["power"] == "off"
    end = time.monotonic() + HEARD_s
    while (status := asker.change("DELETE", f"/api/running/{own}", None).status) != 204:
        assert status == 422  # its line is just being closed
        assert time.monotonic() < end
    assert own not in [one["stand"] for one in asker.ask("GET", "/api/running").json()]
    assert asker.ask("GET", f"/api/running/{own}").status == 404


def test_at_most_six_machines_run_at_once_and_the_refusal_names_them(asker: Asker) -> None:
    opened(asker)
    own: list[str] = []
    while len(asker.ask("GET", "/api/running").json()) < 6:
        own.append(asker.change("POST", "/api/running", {"machine": MACHINE}).json()["stand"])
    answer = asker.change("POST", "/api/running", {"machine": MACHINE})
    assert answer.status == 422
    problem = answer.json()["problems"][0]
    assert own[0] in problem["message"]
    assert "put one away" in problem["remedy"]
    assert asker.ask("GET", "/api/running/single-boiler").status == 422
    assert asker.ask("GET", f"/api/running/{MACHINE}").status == 200
    for stand in own:
        opened(asker, stand)
        assert asker.change("DELETE", f"/api/running/{stand}", None).status == 204
    assert own


def test_card_and_history_are_there_and_names_that_are_not_are_refused(asker: Asker) -> None:
    opened(asker)
    card = asker.ask("GET", f"/api/running/{MACHINE}/card/pump").json()
    assert card["title"] == "pump"
    assert card["now"]
    assert card["checks"]
    strip = asker.ask("GET", f"/api/running/{MACHINE}/history?names=pump_V,pump_A&since=0").json()
    assert set(strip["values"]) == {"pump_V", "pump_A"}
    assert len(strip["t"]) == len(strip["values"]["pump_V"]) > 0
    assert asker.ask("GET", f"/api/running/{MACHINE}/card/kettle").status == 404
    assert asker.ask("GET", f"/api/running/{MACHINE}/history?names=kettle").status == 404
    assert asker.ask("GET", f"/api/running/{MACHINE}/history?names=").status == 422
    assert asker.ask("GET", f"/api/running/{MACHINE}/history").status == 422
    assert asker.ask("GET", f"/api/running/{MACHINE}/history?names=pump_V&since=nan").status == 422


def test_no_way_of_the_interface_leads_from_a_running_machine_to_findings(asker: Asker) -> None:
    """Findings are written down by what a person types; nothing that takes them takes a stand, and nothing of
    a stand gives them."""
    paths = asker.ask("GET", "/api/openapi.json").json()
    for path, ways in paths["paths"].items():
        told = json.dumps(ways)
        if path.startswith("/api/running"):
            assert "finding" not in told.replace("Nothing here goes to findings", "").lower(), path
        elif "finding" in path:
            assert "stand" not in json.dumps([way.get("parameters", []) for way in ways.values()]), path
            assert "running" not in told.lower(), path
