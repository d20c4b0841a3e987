"""What every answer carries, and what none tells."""

from __future__ import annotations

import http.client
import re
from pathlib import Path

import pytest

from collaudo.errors import RunError
from collaudo.web.guard.headers import POLICY
from tests.app.web.asking import Answer, Asker
from tests.app.web.walking import READING, WAYS, Way, make, visitor

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "BREW")


def check_headers(answer: Answer) -> None:
    """Of any answer, whatever it is."""
    headers = answer.headers
    assert headers["content-security-policy"] == POLICY
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["cache-control"]
    assert "server" not in headers
    assert "x-powered-by" not in headers


def test_the_policy_lets_nothing_run_that_is_no_file_of_this_server() -> None:
    for allowed in (
        "unsafe-inline",
        "unsafe-eval",
        "unsafe-hashes",
        "strict-dynamic",
        "*",
        "http:",
        "https:",
    ):
        assert allowed not in POLICY
    rules = dict(rule.strip().partition(" ")[::2] for rule in POLICY.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == rules["style-src"] == rules["connect-src"] == "'self'"
    assert rules["frame-ancestors"] == rules["base-uri"] == "'none'"


@pytest.mark.parametrize("way", WAYS, ids=str)
def test_every_answer_carries_the_headers(asker: Asker, way: Way) -> None:
    check_headers(asker.ask(way.method, way.filled))
    check_headers(asker.change(way.method, way.filled, {"unheard": "of"}))


@pytest.mark.parametrize(
    ("path", "headers", "status"),
    [
        ("/static/v/css/base.css", {}, 200),
        ("/static/v/js/shell.js", {}, 200),
        ("/static/v/nothing.js", {}, 404),
        ("/api/openapi.json", {}, 200),
        ("/nothing/here", {}, 404),
        ("/api/nothing/here", {}, 404),
        ("/", {"Host": "evil.example"}, 400),
    ],
)
def test_files_and_refusals_carry_the_headers_too(
    asker: Asker, path: str, headers: dict[str, str | None], status: int
) -> None:
    answer = asker.ask("GET", path, headers)
    assert answer.status == status
    check_headers(answer)


def test_only_files_whose_address_names_their_version_are_kept_by_browsers(asker: Asker) -> None:
    assert "immutable" in asker.ask("GET", "/static/v/css/base.css").headers["cache-control"]
    for way in READING:
        answer = asker.ask("GET", way.filled)
        assert "public" not in answer.headers["cache-control"], way
        assert "immutable" not in answer.headers["cache-control"], way
    assert asker.ask("GET", "/static/v/nothing.css").headers["cache-control"] == "no-store"


@pytest.mark.parametrize("method", METHODS)
def test_every_method_is_answered_without_a_fault_inside(asker: Asker, method: str) -> None:
    for way in READING:
        answer = asker.change(method, way.filled, {})
        assert answer.status < 500, f"{method} {way.filled}"
        check_headers(answer)


def test_a_method_is_not_changed_by_a_header(asker: Asker) -> None:
    for header in ("X-HTTP-Method-Override", "X-Method-Override", "X-HTTP-Method"):
        assert asker.ask("GET", "/enter", {header: "POST"}).status == 303


@pytest.mark.parametrize("path", ["/breaks", "/api/breaks"])
@pytest.mark.parametrize(
    "fault",
    [
        ValueError("/home/somebody/secret place"),
        KeyError("secret place"),
        RecursionError("secret place"),
        OSError(28, "No space left on device", "/home/somebody/secret place"),
    ],
    ids=lambda fault: type(fault).__name__,
)
def test_a_fault_inside_is_told_without_how_it_looks_inside(
    tmp_path: Path, path: str, fault: Exception, caplog: pytest.LogCaptureFixture
) -> None:
    app = make(tmp_path)

    @app.get(path)
    def breaks() -> None:
        raise fault

    answer = visitor(app).get(path)
    assert answer.status_code == 500
    for told in ("Traceback", "secret place", type(fault).__name__, ".py", "somebody"):
        assert told not in answer.text
    number = re.search(r"written down under ([0-9a-f]{8})", answer.text)
    assert number is not None
    assert number[1] in caplog.text  # whoever looks for it finds it
    check_headers(Answer(500, dict(answer.headers), answer.content))


def test_a_fault_in_a_guard_is_told_in_the_same_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collaudo.web.guard.origin.host_name", lambda _: 1 / 0)
    for path in ("/", "/api/token"):
        answer = visitor(make(tmp_path)).get(path)
        assert answer.status_code == 500
        assert "Traceback" not in answer.text
        assert "written down under" in answer.text
        check_headers(Answer(500, dict(answer.headers), answer.content))


def test_a_known_fault_is_told_with_what_would_be_right(tmp_path: Path) -> None:
    app = make(tmp_path)

    @app.get("/api/stops")
    def stops() -> None:
        raise RunError("the step became too small at 3 s")

    answer = visitor(app).get("/api/stops")
    assert answer.status_code == 409
    assert "step became too small" in answer.json()["problems"][0]["message"]


@pytest.mark.parametrize("path", ["/nothing", "/nothing/<script>fired()</script>", "/api/nothing"])
def test_what_is_not_there_is_told_as_the_asker_can_read_it(asker: Asker, path: str) -> None:
    answer = asker.ask("GET", path.replace("<", "%3C").replace(">", "%3E"))
    assert answer.status == 404
    assert "<script>fired" not in answer.text
    if path.startswith("/api/"):
        assert answer.json()["problems"][0]["message"]
    else:
        assert "<h1>Not found</h1>" in answer.text


def test_documents_that_fetch_scripts_from_elsewhere_are_not_served(asker: Asker) -> None:
    for path in ("/docs", "/redoc", "/docs/oauth2-redirect"):
        assert asker.ask("GET", path).status == 404


def test_two_requests_in_one_are_not_taken_apart_in_two_ways(asker: Asker) -> None:
    """A length and chunks at once: RFC 9112, section 6.3, lets a server refuse it."""
    headers = {"Content-Length": "4", "Transfer-Encoding": "chunked", "Connection": "close"}
    connection = http.client.HTTPConnection("127.0.0.1", asker.bench.port, 20)
    connection.putrequest("POST", "/enter", skip_host=True)
    for name, value in ({"Host": asker.host} | headers).items():
        connection.putheader(name, value)
    connection.endheaders(b"0\r\n\r\nGET /api/token HTTP/1.1\r\nHost: evil.example\r\n\r\n")
    answer = connection.getresponse()
    assert answer.status in (400, 403)
    assert b"form_token" not in answer.read().replace(b'name="form_token"', b"").replace(b'"form-token"', b"")
    connection.close()
