"""The description for other programs: what every operation does, what it answers, what a fault is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from tests.app.web.walking import some_application

OPENAPI: Mapping[str, Any] = some_application().openapi()


def operations() -> Iterator[tuple[str, Mapping[str, Any]]]:
    for path, methods in OPENAPI["paths"].items():
        for method, operation in methods.items():
            yield f"{method} {path}", operation


OPERATIONS = dict(operations())


@pytest.mark.parametrize("name", OPERATIONS)
def test_an_operation_says_in_a_sentence_what_it_does(name: str) -> None:
    summary, description = OPERATIONS[name]["summary"], OPERATIONS[name]["description"]
    assert " " in summary
    assert not summary.endswith(".")
    assert " ".join(description.split()).startswith(summary)


@pytest.mark.parametrize("name", OPERATIONS)
def test_an_operation_says_the_shape_of_its_answer(name: str) -> None:
    for status, answer in OPERATIONS[name]["responses"].items():
        if status == "204":
            assert "content" not in answer
            continue
        for kind, content in answer["content"].items():
            assert kind != "application/json" or content["schema"].keys() & {"$ref", "items"}, status


@pytest.mark.parametrize("name", OPERATIONS)
def test_a_fault_is_described_as_it_is_answered(name: str) -> None:
    schema = OPERATIONS[name]["responses"]["4XX"]["content"]["application/json"]["schema"]
    assert schema == {"$ref": "#/components/schemas/Refusal"}
    assert "HTTPValidationError" not in OPENAPI["components"]["schemas"]
