"""A bench without a network between, and findings sheets written on as the pages do it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from collaudo.web.application import make_application
from collaudo.web.options import Options

MACHINE = "hx-vibration"
_NUMBERS = itertools.count(1)


class Pages:
    """Asks as a page does, with the form token."""

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.headers = {"X-Form-Token": client.get("/api/token").json()["form_token"]}

    def get(self, path: str) -> Any:
        """What stands there."""
        answer = self.client.get(path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def post(self, path: str, told: Any, status: int = 200) -> Any:
        """Tell something."""
        answer = self.client.post(path, json=told, headers=self.headers)
        assert answer.status_code == status, answer.text
        return answer.json()

    def begin(self, machine: str = MACHINE, **more: Any) -> str:
        """A new sheet; its id."""
        return str(self.post("/api/findings", {"machine": machine, "entry": new_id(), **more})["id"])

    def write(self, sheet: str, *entries: Mapping[str, Any], status: int = 200) -> Any:
        """Write entries down; ids are made up where there are none."""
        told = [{"entry": new_id()} | dict(entry) for entry in entries]
        return self.post(f"/api/findings/{sheet}/entries", {"entries": told}, status)


def new_id() -> str:
    """An id for an entry."""
    return f"entry-{next(_NUMBERS):06d}"


def reading(check: str, word: str, value: object, unit: str = "", **more: object) -> dict[str, object]:
    """An entry with a reading."""
    return (
        {"kind": "reading", "check": check, "reading": word, "value": value}
        | ({"unit": unit} if unit else {})
        | more
    )


@contextmanager
def bench(data: Path) -> Iterator[Pages]:
    """A bench over a data folder."""
    with TestClient(make_application(Options(data)), base_url="http://localhost") as client:
        yield Pages(client)
