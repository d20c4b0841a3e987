"""What changes something must bring the token that only pages of this server could read."""

from __future__ import annotations

import pytest

from tests.app.web.asking import Asker
from tests.app.web.walking import CHANGING, READING, Way

TOLD = "The form token is missing or old"


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_nothing_is_changed_without_token(asker: Asker, way: Way) -> None:
    answer = asker.change(way.method, way.filled, {}, {"X-Form-Token": None})
    assert answer.status == 403
    assert TOLD in answer.text


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_nothing_is_changed_with_a_wrong_token(asker: Asker, way: Way) -> None:
    for wrong in ("x" * 32, asker.token[:-1], asker.token + "x", asker.token.swapcase(), "\xff", ""):
        assert asker.change(way.method, way.filled, {}, {"X-Form-Token": wrong}).status == 403


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_nothing_is_changed_with_the_token_of_another_visitor(asker: Asker, way: Way) -> None:
    other = Asker(asker.bench)
    other.close()
    assert other.token != asker.token
    assert asker.change(way.method, way.filled, {}, {"X-Form-Token": other.token}).status == 403


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_nothing_is_changed_without_the_cookie(asker: Asker, way: Way) -> None:
    for cookie in (None, "form_token=", 'form_token=""', "form_token"):
        assert asker.change(way.method, way.filled, {}, {"Cookie": cookie}).status == 403
    answer = asker.change(way.method, way.filled, {}, {"Cookie": None, "X-Form-Token": ""})
    assert answer.status == 403


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_a_form_of_another_kind_does_not_bring_the_token(asker: Asker, way: Way) -> None:
    body = f'{{"form_token": "{asker.token}"}}'.encode()
    for kind in ("text/plain", "application/json", "multipart/form-data; boundary=x"):
        headers = {"Cookie": asker.cookie, "Content-Type": kind}
        assert asker.ask(way.method, way.filled, headers, body).status in (
            400,
            403,
        )  # unreadable, or no token


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_the_right_token_passes_the_guard(asker: Asker, way: Way) -> None:
    answer = asker.change(way.method, way.filled, {})
    assert TOLD not in answer.text
    assert answer.status < 500


def test_a_form_may_bring_the_token_as_a_field(asker: Asker) -> None:
    headers = {"Cookie": asker.cookie, "Content-Type": "application/x-www-form-urlencoded"}
    answer = asker.ask("POST", "/enter", headers, f"form_token={asker.token}&phrase=x".encode())
    assert TOLD not in answer.text
    assert asker.ask("POST", "/enter", headers, b"form_token=wrong&phrase=x").status == 403


def test_the_token_is_in_the_page_and_its_cookie_is_out_of_reach_of_scripts(asker: Asker) -> None:
    answer = asker.ask("GET", "/")
    cookie = answer.headers["set-cookie"]
    token = cookie.partition(";")[0].partition("=")[2]
    assert f'<meta name="form-token" content="{token}">' in answer.text
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}


def test_a_made_up_cookie_of_another_shape_is_replaced(asker: Asker) -> None:
    for cookie in ("x", "<script>", "a" * 31, "a" * 33, "a" * 31 + '"', "\xe4" * 32):
        answer = asker.ask("GET", "/", {"Cookie": f"form_token={cookie}"})
        assert "set-cookie" in answer.headers
        assert cookie not in answer.text or cookie == "x"


@pytest.mark.parametrize("way", READING, ids=str)
def test_reading_needs_no_token_and_sets_no_other_cookie(asker: Asker, way: Way) -> None:
    answer = asker.ask("GET", way.filled, {"Cookie": asker.cookie})
    assert answer.status != 403
    assert "set-cookie" not in answer.headers
