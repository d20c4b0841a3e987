"""Text of one's own stays text: whatever is entered anywhere, no page holds it as a script."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from tests.app.served import Bench
from tests.app.web.asking import Answer, Asker
from tests.app.web.laying_in import MARK, NASTY, OWN_MACHINE, SCRIPT, lay_in_machine, lend_signatures
from tests.app.web.walking import CHANGING, EXAMPLES, READING, Way, filled, some_application

OPENAPI: Mapping[str, Any] = some_application().openapi()
PAGES = ("text/html", "image/svg+xml", "application/xhtml+xml", "text/xml", "application/xml")
RAW = (SCRIPT, "<img src=x", "<svg onload", "\"'>", "onerror=fired()>", "{{7*7}}<", "49}")
"""As they would stand in a page that did not escape."""
IMPORTED = f"machine: hx-vibration\nnote: |\n  {NASTY}\nfindings:\n  - free-flow.water: 31 g\n"


@pytest.fixture(scope="module", autouse=True)
def laid_in(served: Bench, served_folder: Any) -> Iterator[None]:
    """A machine of one's own with script in its title."""
    lay_in_machine(served.data)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLLAUDO_SIGNATURES", str(served_folder))
        lend_signatures(served.data)
    yield
    (served.data / "machines" / f"{OWN_MACHINE}.yaml").unlink(missing_ok=True)


def check(answer: Answer, where: str) -> None:
    """Nothing raw in anything a browser would take for a page; nothing else is taken for one."""
    kind = answer.headers.get("content-type", "")
    assert answer.status < 500, where
    assert answer.headers["x-content-type-options"] == "nosniff"
    if kind.startswith(PAGES):
        for raw in RAW[:3]:
            assert raw not in answer.text, f"{where}: {raw}"
        assert NASTY not in answer.text, where
    else:
        assert not answer.body or kind.startswith(
            ("application/json", "application/yaml", "text/plain", "application/pdf")
        ), f"{where}: {kind}"


def body_of(way: Way) -> Any:
    """What the way is told, with script in every text of it; None where it is told nothing."""
    told = OPENAPI["paths"].get(way.path, {}).get(way.method.lower(), {}).get("requestBody")
    if not told:
        return None
    schema = next(iter(told["content"].values()))["schema"]
    return nasty(schema)


def nasty(schema: Mapping[str, Any], depth: int = 0) -> Any:
    """A value of a schema whose every text is script."""
    if "$ref" in schema:
        return nasty(OPENAPI["components"]["schemas"][schema["$ref"].rpartition("/")[2]], depth + 1)
    if "anyOf" in schema:
        return nasty(schema["anyOf"][0], depth)
    if "enum" in schema:
        return schema["enum"][0]
    if "const" in schema:
        return schema["const"]
    kind = schema.get("type")
    if kind == "object" and "properties" in schema:
        return {name: nasty(inner, depth + 1) for name, inner in schema["properties"].items()}
    if kind == "object":
        inner = schema.get("additionalProperties")
        return {NASTY: nasty(inner if isinstance(inner, Mapping) else {}, depth + 1)}
    if kind == "array":
        return [nasty(schema.get("items", {}), depth + 1)]
    plain = {"integer": 1, "number": 1.5, "boolean": True, "null": None}
    return plain.get(str(kind), NASTY)


def variants(told: Any) -> Iterator[Any]:
    """All of it script; then with a real machine and a fit id, so that it gets further."""
    yield told
    if isinstance(told, dict):
        real = {"machine": EXAMPLES["machine"], "like": EXAMPLES["machine"], "entry": "script-in-fields"}
        fit = {name: real.get(name, value) for name, value in told.items()}
        yield fit
        for text in (IMPORTED, f"machine: {OWN_MACHINE}\ntitle: '{MARK}{SCRIPT}'\nlike: hx-vibration\n"):
            if "text" in fit:
                yield fit | {"text": text}


@pytest.mark.parametrize("way", CHANGING, ids=str)
def test_script_told_to_anything_that_changes_is_answered_as_text(asker: Asker, way: Way) -> None:
    if way.path == "/enter":
        headers = {"Cookie": asker.cookie, "Content-Type": "application/x-www-form-urlencoded"}
        body = f"form_token={asker.token}&phrase={NASTY}".encode()
        check(asker.ask("POST", "/enter", headers, body), str(way))
        return
    for told in variants(body_of(way)):
        check(asker.change(way.method, way.filled, told), str(way))


ENTRIES = (
    {"kind": "label", "text": NASTY},
    {"kind": "note", "text": NASTY},
    {"kind": NASTY},
    {"kind": "reading", "check": NASTY, "reading": NASTY, "value": NASTY, "unit": NASTY},
    {"kind": "reading", "check": "free-flow", "reading": "water", "value": NASTY, "unit": "g"},
    {"kind": "reading", "check": "free-flow", "reading": "water", "value": 3, "unit": NASTY},
    {"kind": "complaint", "words": [NASTY]},
    {"kind": "site", "values": {NASTY: 1}},
    {"kind": "condition", "heat": NASTY},
    {"kind": "part", "part": NASTY, "done": NASTY},
    {"kind": "doubt", "of": NASTY, "doubted": True},
    {"kind": "stop", "word": NASTY},
)


@pytest.mark.parametrize("told", ENTRIES, ids=lambda told: str(told["kind"])[:12])
def test_script_in_an_entry_of_a_sheet_is_answered_as_text(asker: Asker, told: dict[str, Any]) -> None:
    entry = told | {"entry": f"script-entry-{ENTRIES.index(told)}"}
    path = f"/api/findings/{EXAMPLES['sheet']}/entries"
    answer = asker.change("POST", path, {"entries": [entry]})
    check(answer, path)
    assert answer.status in (200, 422)


@pytest.mark.parametrize("way", READING, ids=str)
def test_no_page_holds_script_that_was_entered(asker: Asker, way: Way) -> None:
    for machine in (EXAMPLES["machine"], OWN_MACHINE):
        path = filled(way.path, machine=machine, stand=machine)
        check(asker.ask("GET", path), path)


@pytest.mark.parametrize("way", READING, ids=str)
def test_script_in_a_query_or_a_cookie_is_not_said_back(asker: Asker, way: Way) -> None:
    escaped = NASTY.replace("<", "%3C").replace(">", "%3E").replace('"', "%22").replace(" ", "%20")
    names = ["for", "form", "like", "at", "said", "machine", "names", "since", "q", "state", "of", "compare"]
    for name in names:
        check(asker.ask("GET", f"{way.filled}?{name}={escaped}"), f"{way} {name}")
    cookies = f"units={SCRIPT}.{SCRIPT}.{SCRIPT}; theme={SCRIPT}; form_token={SCRIPT}"
    check(asker.ask("GET", way.filled, {"Cookie": cookies}), f"{way} cookies")


def test_what_was_entered_is_really_shown_as_text(asker: Asker) -> None:
    assert MARK in asker.ask("GET", f"/api/findings/{EXAMPLES['sheet']}").json()["label"]
    shown = [way for way in READING if way.page and MARK in asker.ask("GET", way.filled).text]
    assert shown  # else the walk above would have nothing to find
