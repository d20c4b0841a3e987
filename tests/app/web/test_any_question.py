"""Whatever is asked of the interface for programs, it answers in words and nothing inside it goes wrong.

Questions are made from its own description: what it calls for, near misses of that, and anything else.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.app.web.asking import Asker
from tests.app.web.walking import EXAMPLES, filled, some_application

OPENAPI: Mapping[str, Any] = some_application().openapi()
OPERATIONS = [
    (method.upper(), path, about) for path, ways in OPENAPI["paths"].items() for method, about in ways.items()
]
TRIED = 25
KNOWN: Mapping[str, list[Any]] = {
    # Only machines whose signatures are there: others would be built for minutes.
    "machine": [EXAMPLES["machine"]],
    "stand": [EXAMPLES["stand"]],
    "like": [EXAMPLES["like"], "hx-rotary"],
    "sheet": [EXAMPLES["sheet"]],
    "state": ["idle", "brewing", "heating"],
    "of": ["water", "heat", "current"],
    "kind": ["complaint", "reading", "note", "undo", "site", "doubt", "part", "condition", "history"],
    "check": ["free-flow", "warm-up"],
    "reading": ["water", "brew_gauge"],
    "unit": ["g", "bar", "psi", "degC", "K", ""],
    "words": [["slow"], ["no-heat", "slow"], []],
    "part": ["pump", "boiler"],
    "done": ["cleaned", "replaced", ""],
    "entry": ["any-question-1", "any-question-2"],
    "values": [{"altitude_m": 500}, {"mains_V": 230}, {}],
    "text": [
        "machine: hx-vibration\n",
        "machine: mine\ntitle: Mine\nlike: hx-vibration\n",
        "",
        "a: [",
        "- &a [*a]\n",
    ],
    "changes": [{"pump.power_W": "50 W"}, {"site.altitude_m": 0}],
    "settings": [{"boiler_pressure": 1.1}, {}],
}
TEXT = st.text(st.characters(codec="utf-8"), max_size=40)
EXTREME = st.sampled_from(
    [0, -1, 1, 2**31, 2**63, -(2**63), 10**30, 0.0, -0.0, 1e-308, 1e308, 5e-324, 1e999, -1e999]
)
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | EXTREME | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=5,
)
ENTRY = st.fixed_dictionaries(
    {"entry": st.sampled_from(KNOWN["entry"]) | st.uuids().map(str), "kind": st.sampled_from(KNOWN["kind"])},
    optional={
        name: st.sampled_from(KNOWN[name]) | ANYTHING
        for name in ("check", "reading", "unit", "words", "part", "done", "values", "text")
    }
    | dict.fromkeys(("value", "of", "doubted", "heat", "lid", "word", "at"), ANYTHING),
)


def likely(strategy: st.SearchStrategy[Any], other: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Four in five of the one, else of the other."""
    return st.integers(0, 4).flatmap(lambda number: other if number == 4 else strategy)


def fitting(schema: Mapping[str, Any], name: str = "") -> st.SearchStrategy[Any]:
    """What a schema calls for, now and then something else."""
    if name == "entries":
        return likely(st.lists(likely(ENTRY, ANYTHING), max_size=4), ANYTHING)
    if name in KNOWN:
        return likely(st.sampled_from(KNOWN[name]), ANYTHING | _of_kind(schema))
    return likely(_of_kind(schema), ANYTHING)


def _of_kind(schema: Mapping[str, Any]) -> st.SearchStrategy[Any]:
    if "$ref" in schema:
        return _of_kind(OPENAPI["components"]["schemas"][schema["$ref"].rpartition("/")[2]])
    if "anyOf" in schema:
        return st.one_of(*(_of_kind(one) for one in schema["anyOf"]))
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    kind = schema.get("type")
    if kind == "object" and "properties" in schema:
        return st.fixed_dictionaries({name: fitting(one, name) for name, one in schema["properties"].items()})
    if kind == "object":
        inner = schema.get("additionalProperties")
        return st.dictionaries(TEXT, _of_kind(inner if isinstance(inner, Mapping) else {}), max_size=3)
    if kind == "array":
        return st.lists(_of_kind(schema.get("items", {})), max_size=4)
    simple = {
        "string": TEXT,
        "integer": st.integers(-5, 500) | st.integers(),
        "number": st.floats(-100, 1000) | EXTREME,
        "boolean": st.booleans(),
        "null": st.none(),
    }
    return simple.get(str(kind), ANYTHING)


def address(path: str, about: Mapping[str, Any], data: st.DataObject) -> str:
    """The path with something for each of its parameters, and a query."""
    query = []
    for parameter in about.get("parameters", ()):
        name, schema = parameter["name"], parameter.get("schema", {})
        if parameter["in"] == "path":
            value = data.draw(st.sampled_from(KNOWN.get(name, [EXAMPLES.get(name, "x")])) | TEXT, name)
            path = path.replace(f"{{{name}}}", quote(str(value), safe=""))
        elif parameter["in"] == "query" and data.draw(st.booleans()):
            value = data.draw(fitting(schema, name), name)
            query.append(f"{quote(name)}={quote(str(value), safe='', errors='replace')}")
    return path + ("?" + "&".join(query) if query else "")


@pytest.mark.parametrize(("method", "path", "about"), OPERATIONS, ids=[f"{m} {p}" for m, p, _ in OPERATIONS])
def test_anything_may_be_asked(asker: Asker, method: str, path: str, about: Mapping[str, Any]) -> None:
    told = about.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema")

    @settings(
        max_examples=TRIED,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate],  # shrinking would ask hundreds of times more
    )
    @given(data=st.data())
    def ask(data: st.DataObject) -> None:
        where = address(path, about, data)
        body = data.draw(likely(_of_kind(told), ANYTHING), "body") if told else {}
        answer = asker.ask("GET", where) if method == "GET" else asker.change(method, where, body)
        assert answer.status < 500, f"{method} {where} {json.dumps(body)[:500]}: {answer.text[:500]}"
        if answer.status >= 400:
            problems = answer.json()["problems"]
            assert problems
            assert all(problem["message"] for problem in problems)
            assert "Traceback" not in answer.text

    ask()


@pytest.mark.parametrize(("method", "path", "about"), OPERATIONS, ids=[f"{m} {p}" for m, p, _ in OPERATIONS])
def test_everything_for_programs_is_described(
    asker: Asker, method: str, path: str, about: Mapping[str, Any]
) -> None:
    assert about.get("description", "").strip(), f"{method} {path} has no docstring"
    assert about.get("tags"), f"{method} {path} belongs to no group"
    good = next(answer for status, answer in about["responses"].items() if status.startswith("2"))
    if method == "GET":
        kind = asker.ask("GET", filled(path)).headers["content-type"]
        schema = good.get("content", {}).get("application/json", {}).get("schema")
        assert schema or not kind.startswith("application/json"), f"{path} does not say what it answers"
