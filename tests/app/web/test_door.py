"""Where other computers may ask, nothing is shown, and nothing done, before the pass phrase was given."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient, WebSocketDenialResponse
from starlette.websockets import WebSocketDisconnect

from collaudo.web.guard import door
from collaudo.web.guard.door import COOKIE, TRIES, Door, LASTS_s, WITHIN_s
from tests.app.web.walking import HOME, SOCKETS, WAYS, Way, filled, make, visitor

PHRASE = "river copper window eleven boat"


@pytest.fixture(autouse=True)
def no_delay(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pause after a wrong phrase is tested on its own."""

    async def at_once(_: float) -> None:
        return

    monkeypatch.setattr(door.asyncio, "sleep", at_once)


@pytest.fixture
def outside(tmp_path: Path) -> Iterator[TestClient]:
    """Somebody who has not given the phrase."""
    client = visitor(make(tmp_path, phrase=PHRASE), headers={"Origin": HOME})
    yield client
    client.close()


def give(client: TestClient, phrase: str) -> Any:
    """Give a phrase on the page that asks for it."""
    client.get("/enter")
    return client.post("/enter", data={"phrase": phrase, "form_token": client.cookies["form_token"]})


@pytest.mark.parametrize("way", [way for way in WAYS if way.path != "/enter"], ids=str)
def test_nothing_is_shown_before_the_phrase_was_given(outside: TestClient, way: Way) -> None:
    answer = outside.request(way.method, way.filled)
    if way.page:
        assert (answer.status_code, answer.headers["location"]) == (303, "/enter")
        assert answer.text == ""
    else:
        assert answer.status_code == 401
        assert answer.json()["problems"][0]["message"] == "the pass phrase was not given"


def test_the_description_of_the_interface_is_behind_the_door_too(outside: TestClient) -> None:
    assert outside.get("/api/openapi.json").status_code == 401


@pytest.mark.parametrize("path", SOCKETS)
def test_no_socket_is_opened_before_the_phrase_was_given(outside: TestClient, path: str) -> None:
    headers = {"Origin": "http://localhost:8760", "Host": "localhost:8760"}
    with (
        pytest.raises((WebSocketDisconnect, WebSocketDenialResponse)),
        outside.websocket_connect(filled(path), headers=headers),
    ):
        pass


def test_the_page_that_asks_and_its_looks_are_shown(outside: TestClient) -> None:
    page = outside.get("/enter")
    assert page.status_code == 200
    assert 'type="password"' in page.text
    assert outside.get("/static/v/css/base.css").status_code == 200


def test_the_right_phrase_opens_and_its_pass_is_out_of_reach_of_scripts(outside: TestClient) -> None:
    answer = give(outside, f"  {PHRASE} ")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = next(one for one in answer.headers.get_list("set-cookie") if one.startswith(COOKIE))
    flags = {part.strip().lower() for part in cookie.split(";")}
    assert {"httponly", "samesite=strict", "path=/", f"max-age={LASTS_s}"} <= flags
    assert PHRASE not in cookie
    assert outside.get("/").status_code == 200
    assert outside.get("/api/token").status_code == 200


@pytest.mark.parametrize(
    "phrase", ["", " ", "x", PHRASE[:-1], PHRASE + "x", PHRASE.upper(), "\x00", "ä" * 200]
)
def test_a_wrong_phrase_does_not_open(outside: TestClient, phrase: str) -> None:
    answer = give(outside, phrase)
    assert answer.status_code in (403, 422)
    assert COOKIE not in outside.cookies
    assert outside.get("/").status_code == 303


def test_an_endless_phrase_is_refused_unread(outside: TestClient) -> None:
    assert give(outside, "x" * 201).status_code == 422


def test_guessing_is_slowed_down_for_everybody(outside: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    now = [1000.0]
    monkeypatch.setattr(door.time, "monotonic", lambda: now[0])
    for _ in range(TRIES):
        assert give(outside, "wrong").status_code == 403
    held_off = give(outside, PHRASE)  # the right one too, else guessing would go on to see which it is
    assert held_off.status_code == 429
    assert "Try again in 60 s" in held_off.text
    another = visitor(outside.app, headers={"Origin": HOME})  # type: ignore[arg-type]
    assert give(another, PHRASE).status_code == 429
    now[0] += WITHIN_s + 1
    assert give(another, PHRASE).status_code == 303
    another.close()


def test_in_an_hour_no_more_than_some_hundred_phrases_can_be_tried() -> None:
    """Five words of 256 are 40 bits: at 480 an hour, half of them take a hundred thousand years."""
    assert 3600 / WITHIN_s * TRIES <= 480
    assert len({*(Path(door.__file__).parents[1] / "phrase_words.txt").read_text("utf-8").split()}) == 256


def test_a_pass_ends(monkeypatch: pytest.MonkeyPatch, outside: TestClient) -> None:
    give(outside, PHRASE)
    there = time.time()
    monkeypatch.setattr(door.time, "time", lambda: there + LASTS_s - 5)
    assert outside.get("/api/token").status_code == 200
    monkeypatch.setattr(door.time, "time", lambda: there + LASTS_s + 5)
    assert outside.get("/api/token").status_code == 401


def test_another_phrase_ends_all_passes(outside: TestClient, tmp_path: Path) -> None:
    give(outside, PHRASE)
    given = outside.cookies[COOKIE]
    for phrase, status in ((PHRASE, 200), (PHRASE + " more", 401)):
        client = visitor(make(tmp_path, phrase=phrase))
        client.cookies.set(COOKIE, given)
        assert client.get("/api/token").status_code == status
        client.close()


def test_a_pass_cannot_be_made_up(outside: TestClient) -> None:
    give(outside, PHRASE)
    until, number, signed = outside.cookies[COOKIE].split(".")
    door_ = Door(PHRASE)
    assert door_.is_pass(f"{until}.{number}.{signed}")
    for made_up in (
        "",
        ".",
        "..",
        "x",
        f"{int(until) + 1}.{number}.{signed}",
        f"{until}.{number}x.{signed}",
        f"{until}.{number}.",
        f"{until}.{number}.{signed[:-1]}",
        f"{until}.{number}.{signed.upper()}",
        f" {until}.{number}.{signed}",
        f"+{until}.{number}.{signed}",
        f"0{until}.{number}.{signed}",
        f"{'9' * 5000}.{number}.{signed}",
        f"\N{ARABIC-INDIC DIGIT ONE}.{number}.{signed}",
        f"-1.{number}.{signed}",
        f"{until}.\xff.{signed}",
    ):
        assert not door_.is_pass(made_up), made_up
    assert not Door("").is_pass(f"{until}.{number}.{signed}")


def test_the_phrase_is_nowhere_in_what_is_shown(outside: TestClient) -> None:
    give(outside, PHRASE)
    for way in WAYS:
        if way.method == "GET" and not way.parameters:
            assert PHRASE not in outside.get(way.path).text


def test_without_a_phrase_the_door_stands_open(tmp_path: Path) -> None:
    client = visitor(make(tmp_path))
    assert client.get("/enter").headers["location"] == "/"
    assert client.get("/").status_code == 200
    client.close()
