"""How stands are kept: opened beside the server, paused when nobody watches, put away, closed with it."""

from __future__ import annotations

import asyncio
import json
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from starlette.testclient import TestClient

from collaudo.bench.running import twin_ready
from collaudo.errors import CollaudoError, InputError, UnknownNameError
from collaudo.web.application import make_application
from collaudo.web.http_api import running
from collaudo.web.options import Options
from collaudo.web.running import asked, keeper, stand_thread
from collaudo.web.running.hub import MOST_NOTES, Hub, Viewer

MACHINE = "flow-through"
SOON_s = 30.0


def until(true: Callable[[], bool], within_s: float = SOON_s) -> None:
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[keeper.Keeper]:
    found = keeper.Keeper(tmp_path)
    yield found
    found.close()


def time_of(stand: stand_thread.StandThread) -> float:
    return stand.ask(lambda one: one.time_s).result(SOON_s)


def test_a_stand_nobody_watches_pauses_keeps_its_state_and_is_put_away(
    kept: keeper.Keeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stand_thread, "PAUSES_AFTER_s", 0.5)
    stand = kept.stand(MACHINE)
    assert stand.opened.wait(SOON_s)
    stand.ask(lambda one: one.do({"operate": {"power": "on"}})).result(SOON_s)
    time.sleep(1.0)
    paused_s = time_of(stand)
    time.sleep(0.5)
    assert time_of(stand) == paused_s > 0.0
    assert stand.ask(lambda one: one.positions()["power"]).result(SOON_s) == "on"
    assert kept.stand(MACHINE) is stand
    monkeypatch.setattr(stand_thread, "AWAY_AFTER_s", 0.1)
    until(lambda: not kept.states())
    assert kept.stand(MACHINE) is not stand


def test_the_stand_left_alone_for_longest_makes_room_for_another(
    kept: keeper.Keeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeper, "MOST_STANDS", 2)
    first = kept.stand(MACHINE)
    assert first.opened.wait(SOON_s)
    second = kept.open_own(MACHINE)
    assert second.opened.wait(SOON_s)
    with pytest.raises(InputError, match="2 machines run already"):
        kept.open_own(MACHINE)  # both were opened just now
    monkeypatch.setattr(keeper, "LEFT_ALONE_s", 0.0)

    async def watching() -> None:
        first.hub.join(Viewer())

    asyncio.run(watching())
    third = kept.open_own(MACHINE)
    assert {one.stand for one in kept.states()} == {first.name, third.name}
    assert second.ended(SOON_s)


def test_a_watched_stand_goes_on(kept: keeper.Keeper, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stand_thread, "PAUSES_AFTER_s", 0.2)
    monkeypatch.setattr(stand_thread, "AWAY_AFTER_s", 0.4)
    stand = kept.stand(MACHINE)

    async def watch() -> list[str]:
        viewer = Viewer()
        stand.hub.join(viewer)
        found: list[str] = []
        end = time.monotonic() + 1.5
        while time.monotonic() < end:
            found += await asyncio.wait_for(viewer.next(), SOON_s)
        stand.hub.leave(viewer)
        return found

    assert stand.opened.wait(SOON_s)
    told = [json.loads(text) for text in asyncio.run(watch())]
    times = [one["frame"]["t"] for one in told if "frame" in one]
    assert times[-1] > times[0]
    assert kept.states()[0].stand == MACHINE


def test_a_machine_that_waited_does_not_hurry_afterwards(kept: keeper.Keeper) -> None:
    stand = kept.stand(MACHINE)
    assert stand.opened.wait(SOON_s)
    before_s = time_of(stand)
    stand.ask(lambda _: time.sleep(1.5)).result(SOON_s)
    assert time_of(stand) - before_s < 0.5


def test_what_is_asked_wrongly_or_goes_wrong_inside_leaves_the_stand_running(
    kept: keeper.Keeper, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    stand = kept.stand(MACHINE)
    assert stand.opened.wait(SOON_s)
    with pytest.raises(UnknownNameError):
        stand.ask(lambda one: one.do({"explode": 1})).result(SOON_s)

    def breaks(*_: Any) -> str:
        raise ZeroDivisionError

    from collaudo.bench.running import deeds as stand_deeds

    async def break_it() -> str:
        viewer = Viewer()
        with monkeypatch.context() as patch:
            patch.setitem(stand_deeds.DEEDS, "speed", breaks)
            stand.do({"speed": 2}, viewer)
            return json.loads((await asyncio.wait_for(viewer.next(), SOON_s))[0])["said"]

    assert asyncio.run(break_it()) == stand_thread.WHAT_WENT_WRONG
    assert "ZeroDivisionError" in caplog.text
    before_s = time_of(stand)
    until(lambda: time_of(stand) > before_s)


def test_the_number_of_a_stand_of_ones_own_is_the_next_that_is_free(kept: keeper.Keeper) -> None:
    names = [kept.open_own(MACHINE).name for _ in range(3)]
    assert names == [f"{MACHINE}~2", f"{MACHINE}~3", f"{MACHINE}~4"]
    kept.put_away(names[1])
    assert kept.open_own(MACHINE).name == names[1]
    with pytest.raises(UnknownNameError):
        kept.stand(f"{MACHINE}~9")
    with pytest.raises(UnknownNameError):
        kept.open_own("../../etc/passwd")


def test_a_stand_that_cannot_be_opened_says_why_and_can_be_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tries: list[str] = []

    def opener(place: str, name: str) -> Callable[[], Any]:
        def opened() -> Any:
            tries.append(name)
            raise CollaudoError(f"no room for {place}")

        return opened

    monkeypatch.setattr(keeper, "_opener", opener)
    app = make_application(Options(tmp_path))
    client = TestClient(app, base_url="http://localhost")
    for _ in range(2):
        answer = client.get(f"/api/running/{MACHINE}")
        assert answer.status_code == 500
        assert "no room" in answer.json()["problems"][0]["message"]
    assert tries == [MACHINE, MACHINE]


@pytest.mark.parametrize(("compiled", "stage"), [(True, "opening"), (False, "compiling")])
def test_while_a_stand_is_being_opened_its_readiness_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, compiled: bool, stage: str
) -> None:
    go_on = threading.Event()

    def opener(place: str, name: str) -> Callable[[], Any]:
        def opened() -> Any:
            go_on.wait(SOON_s)
            raise CollaudoError(f"{place} {name}: enough")

        return opened

    monkeypatch.setattr(keeper, "_opener", opener)
    monkeypatch.setattr(running, "WAIT_s", 0.05)
    monkeypatch.setattr(running, "twin_is_compiled", lambda: compiled)
    app = make_application(Options(tmp_path))
    client = TestClient(app, base_url="http://localhost")
    answer = client.get(f"/api/running/{MACHINE}")
    assert answer.status_code == 202
    told = answer.json()["readiness"]
    assert told["stage"] == stage
    assert told["left_s"] > 0.0
    assert client.get(f"/api/running/{MACHINE}/card/pump").status_code == 409
    go_on.set()
    until(lambda: client.get(f"/api/running/{MACHINE}").status_code == 500)


def test_a_line_to_a_stand_that_cannot_be_opened_is_told_why_and_closed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def opener(place: str, name: str) -> Callable[[], Any]:
        def opened() -> Any:
            time.sleep(0.3)
            raise CollaudoError(f"no room for {place} {name}")

        return opened

    monkeypatch.setattr(keeper, "_opener", opener)
    app = make_application(Options(tmp_path))
    headers = {"origin": "http://localhost"}
    with (
        TestClient(app, base_url="http://localhost") as client,
        client.websocket_connect(f"ws://localhost/api/running/{MACHINE}/socket", headers=headers) as line,
    ):
        line.send_json({"do": {"goes": False}})
        assert "no room" in line.receive_json()["said"]
        assert line.receive()["code"] == running.GONE


def test_a_line_may_close_and_the_server_may_end_while_a_stand_is_being_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on = threading.Event()

    def opener(place: str, name: str) -> Callable[[], Any]:
        def opened() -> Any:
            go_on.wait(SOON_s)
            raise CollaudoError(f"{place} {name}: too late")

        return opened

    monkeypatch.setattr(keeper, "_opener", opener)
    app = make_application(Options(tmp_path))
    headers = {"origin": "http://localhost"}
    begun = time.monotonic()
    with (
        TestClient(app, base_url="http://localhost") as client,
        client.websocket_connect(f"ws://localhost/api/running/{MACHINE}/socket", headers=headers),
    ):
        pass
    assert time.monotonic() - begun < 0.5 * SOON_s
    go_on.set()


def test_the_twin_is_compiled_by_a_process_of_its_own_whose_failing_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    twin_ready.make_ready()
    assert twin_ready.twin_is_compiled()
    monkeypatch.setattr(twin_ready, "SERVES", "collaudo.no_such_module")
    with pytest.raises(CollaudoError, match=r"could not be compiled here: .*no_such_module"):
        twin_ready.make_ready()


# --- what goes out, what comes in


def test_of_frames_only_the_latest_is_sent_of_notes_all() -> None:
    async def watch() -> list[str]:
        hub, viewer = Hub(), Viewer()
        hub.join(viewer)
        for number in range(5):
            hub.publish([f"note {number}"], f"frame {number}")
        await asyncio.sleep(0.05)
        return await viewer.next()

    assert asyncio.run(watch()) == [*(f"note {number}" for number in range(5)), "frame 4"]


def test_a_line_that_never_reads_keeps_no_more_than_so_many_notes() -> None:
    async def watch() -> list[str]:
        hub, viewer = Hub(), Viewer()
        hub.join(viewer)
        for number in range(3 * MOST_NOTES):
            hub.publish([f"note {number}"])
        await asyncio.sleep(0.1)
        return await viewer.next()

    found = asyncio.run(watch())
    assert len(found) == MOST_NOTES
    assert found[-1] == f"note {3 * MOST_NOTES - 1}"


def test_who_has_left_and_whose_loop_is_closed_gets_nothing_and_harms_nobody() -> None:
    hub = Hub()

    async def come() -> Viewer:
        viewer = Viewer()
        hub.join(viewer)
        return viewer

    gone = asyncio.run(come())
    assert hub.count == 1
    hub.publish(["note"], "frame")
    gone.tell("note")
    hub.leave(gone)
    hub.leave(gone)
    assert hub.count == 0


def test_a_line_may_send_so_much_a_second_and_so_much_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = SimpleNamespace(now=100.0)
    monkeypatch.setattr(asked, "time", SimpleNamespace(monotonic=lambda: clock.now))
    pace = asked.Pace()
    assert sum(pace.allows() for _ in range(100)) == asked.AT_ONCE
    clock.now += 1.0
    assert sum(pace.allows() for _ in range(100)) == asked.PER_s
    clock.now += 1000.0
    assert sum(pace.allows() for _ in range(100)) == asked.AT_ONCE


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '"do"', '{"do": []}', '{"do": {}, "x": 1}', '{"do": Infinity}']
)
def test_only_one_thing_to_do_is_read(text: str) -> None:
    with pytest.raises(InputError):
        asked.read_asked(text)
    assert asked.read_asked('{"do": {"goes": false}}') == {"goes": False}
