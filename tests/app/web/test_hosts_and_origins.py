"""Only this computer's own names are answered, and only own pages may change something or open a socket."""

from __future__ import annotations

import pytest

from collaudo.web.guard.origin import host_name
from tests.app.served import Bench
from tests.app.web.asking import Asker
from tests.app.web.walking import CHANGING, READING, SOCKETS, Way, filled

FOREIGN = (
    "evil.example",
    "evil.example:{port}",
    "localhost.evil.example:{port}",
    "localhost.:{port}",  # the same host to a name server, another site to a browser
    "127.0.0.1.evil.example",
    "127.0.0.2:{port}",
    "127.1:{port}",
    "2130706433:{port}",
    "0.0.0.0:{port}",
    "[::1].evil.example:{port}",
    "[::2]:{port}",
    "[::ffff:127.0.0.1]:{port}",
    "evil@localhost:{port}",
    "localhost:{port}@evil.example",
    "localhost:{port}:{port}",
    "localhost, evil.example",
    "localhost evil.example",
    "localhost/evil",
    "xn--localhost-abc",
    "192.168.1.20:{port}",
    ":{port}",
    "",
)
OWN = ("localhost:{port}", "LOCALHOST:{port}", "LocalHost", "127.0.0.1:{port}", "[::1]:{port}", "[::1]")


@pytest.mark.parametrize("host", FOREIGN)
def test_a_foreign_host_is_refused(asker: Asker, host: str) -> None:
    answer = asker.ask("GET", "/", {"Host": host.format(port=asker.bench.port)})
    assert answer.status == 400
    assert "collaudo" not in answer.text


@pytest.mark.parametrize("host", OWN)
def test_the_computers_own_names_are_answered(asker: Asker, host: str) -> None:
    assert asker.ask("GET", "/api/token", {"Host": host.format(port=asker.bench.port)}).status == 200


def test_a_request_without_host_or_with_two_is_refused(asker: Asker) -> None:
    assert asker.ask("GET", "/", {"Host": None}).status == 400
    assert asker.ask("GET", "/", {"Host": asker.host, "host": "evil.example"}).status == 400
    assert asker.ask("GET", "/", {"Host": "evil.example", "host": asker.host}).status == 400


@pytest.mark.parametrize("way", READING, ids=str)
def test_every_page_and_resource_refuses_a_foreign_host(asker: Asker, way: Way) -> None:
    assert asker.ask("GET", way.filled, {"Host": f"evil.example:{asker.bench.port}"}).status == 400


FOREIGN_ORIGINS = (
    "http://evil.example",
    "null",
    "",
    "http://localhost",
    "http://localhost:1",
    "http://[::1",
    "file://",
    "http://localhost:{port}.evil.example",
    "http://evil.example/http://localhost:{port}",
    "chrome-extension://localhost:{port}",
)


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_nothing_is_changed_from_a_foreign_page(asker: Asker, way: Way) -> None:
    for origin in FOREIGN_ORIGINS:
        answer = asker.change(way.method, way.filled, {}, {"Origin": origin.format(port=asker.bench.port)})
        assert answer.status == 403, origin


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_nothing_is_changed_where_the_browser_names_another_site(asker: Asker, way: Way) -> None:
    for site in ("cross-site", "same-site"):
        answer = asker.change(way.method, way.filled, {}, {"Origin": None, "Sec-Fetch-Site": site})
        assert answer.status == 403, site


@pytest.mark.parametrize("way", READING, ids=str)
def test_nothing_is_built_into_a_page_of_another_site(asker: Asker, way: Way) -> None:
    for mode in ("no-cors", "cors", "websocket"):
        asked = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": mode}
        assert asker.ask("GET", way.filled, asked).status == 403, mode


def test_a_link_from_another_site_may_lead_here(asker: Asker) -> None:
    assert asker.ask("GET", "/", {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}).status == 200


def test_no_answer_lets_another_site_read_it(asker: Asker) -> None:
    answer = asker.ask(
        "OPTIONS", "/api/token", {"Origin": "http://evil.example", "Access-Control-Request-Method": "POST"}
    )
    assert not [name for name in answer.headers if name.startswith("access-control")]
    answer = asker.ask("GET", "/api/token", {"Origin": "http://evil.example"})
    assert not [name for name in answer.headers if name.startswith("access-control")]


def opening(bench: Bench, path: str, **headers: str | None) -> int:
    """Status with which the opening of a socket is answered: 101 where it is opened."""
    handshake: dict[str, str | None] = {
        "Connection": "Upgrade",
        "Upgrade": "websocket",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",  # the example of RFC 6455, section 1.3
    }
    asker = Asker(bench)
    try:
        return asker.ask("GET", path, handshake | headers).status
    finally:
        asker.close()


@pytest.mark.parametrize("path", SOCKETS)
@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", "http://localhost", "http://localhost:1", "http://["]
)
def test_a_socket_of_a_foreign_page_or_of_none_is_refused(
    served: Bench, path: str, origin: str | None
) -> None:
    assert opening(served, filled(path), Origin=origin) == 403


@pytest.mark.parametrize("path", SOCKETS)
def test_a_socket_under_a_foreign_name_is_refused(served: Bench, path: str) -> None:
    host = f"evil.example:{served.port}"
    assert opening(served, filled(path), Host=host, Origin=f"http://{host}") == 403


@pytest.mark.parametrize("path", SOCKETS)
def test_a_socket_of_an_own_page_is_opened(served: Bench, path: str) -> None:
    assert opening(served, filled(path), Origin=served.url) == 101


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("localhost", "localhost"),
        ("LOCALHOST:8760", "localhost"),
        ("[::1]:8760", "[::1]"),
        ("[::1]", "[::1]"),
        ("[::1]x", ""),
        ("[::1]:x", ""),
        ("a:b", ""),
        ("a:1:2", ""),
        ("a:123456", ""),
        ("a b", ""),
        ("a@b", ""),
        ("", ""),
        ("localhost\n", ""),
        ("localhost:8760\n", ""),
    ],
)
def test_the_name_in_a_host_header(host: str, name: str) -> None:
    assert host_name(host) == name
