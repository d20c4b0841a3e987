"""How large a question may be: the server itself counts, whatever the sender says of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from collaudo.web.options import MOST_BYTES
from tests.app.web.asking import Asker
from tests.app.web.walking import CHANGING, READING, Way

PIECE = b" " * 65_536


def pieces(count: int) -> Iterator[bytes]:
    for _ in range(count):
        yield PIECE


def own(asker: Asker, kind: str = "application/json") -> dict[str, str | None]:
    return {"Cookie": asker.cookie, "X-Form-Token": asker.token, "Content-Type": kind}


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_a_body_over_the_limit_is_refused(asker: Asker, way: Way) -> None:
    for kind in ("application/json", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        answer = asker.ask(way.method, way.filled, own(asker, kind), b" " * (MOST_BYTES + 1))
        assert answer.status == 413, kind
        assert "content-security-policy" in answer.headers


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_a_body_that_does_not_tell_its_length_is_counted(asker: Asker, way: Way) -> None:
    count = MOST_BYTES // len(PIECE) + 2
    kind = "application/x-www-form-urlencoded" if way.page else "application/json"
    answer = asker.ask(way.method, way.filled, own(asker, kind), pieces(count), length=False)
    refused = (400, 413)  # forms have a limit of their own, which may come first
    assert answer.status in refused if way.told else answer.status < 500  # where none is read, none counts


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_a_great_length_is_refused_before_anything_of_it_was_sent(asker: Asker, way: Way) -> None:
    answer = asker.ask(way.method, way.filled, own(asker) | {"Content-Length": "900000000000"})
    assert answer.status == 413


@pytest.mark.parametrize("length", ["-1", "x", "1e3", "1,2", ""])
def test_a_length_that_is_no_number_is_refused(asker: Asker, length: str) -> None:
    assert asker.ask("POST", "/enter", own(asker) | {"Content-Length": length}).status == 400


@pytest.mark.parametrize("way", READING, ids=str)
def test_a_long_query_breaks_nothing(asker: Asker, way: Way) -> None:
    many = "&".join(f"a{n}={n}" for n in range(3000))
    for query in ("x=" + "y" * 30_000, many, "%00", "%ff%fe", "a[]=1&a=2&=3&&&", "%F0%9F%92%A7=%ED%A0%80"):
        assert asker.ask("GET", f"{way.filled}?{query}").status in (200, 202, 303, 404, 409, 422)


DAMAGED = (
    b"",
    b"{",
    b"null",
    b"[]",
    b"0",
    b'"x"',
    b"[" * 100_000,
    b'{"a":' * 50_000,
    b'{"a": 1' + b"0" * 5000 + b"}",
    b'{"a": NaN, "b": Infinity, "c": -Infinity, "d": 1e999}',
    b'{"a": "\\ud800"}',
    b'{"\\ud800": "x"}',
    b"\xff\xfe\x00",
    b'{"a": "\x00"}',
)


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_a_damaged_body_is_refused_in_words(asker: Asker, way: Way) -> None:
    for body in DAMAGED:
        answer = asker.ask(way.method, way.filled, own(asker), body)
        assert answer.status < 500, body[:40]
        assert "Traceback" not in answer.text
