"""All routes of the bench as they are, so that a new one is tested without being named here.

What a path's parameters may be is named here once: a parameter without an example fails a test.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.routing import APIRoute, APIWebSocketRoute
from starlette.testclient import TestClient

from collaudo.web.application import make_application
from collaudo.web.options import LOOPBACK, Options

HOME = "http://localhost:8760"
PARAMETER = re.compile(r"\{(\w+)(?::\w+)?\}")
EXAMPLES: dict[str, str] = {
    "machine": "hx-vibration",
    "stand": "hx-vibration",
    "part": "pump",
    "state": "idle",
    "matter": "water",
    "sheet": "2026-01-01-1",
    "check": "free-flow",
    "other": "hx-rotary",
    "like": "hx-vibration",
    "of": "water",
    "key": "1",
    "number": "1",
}
"""Something there is, or could be, for each parameter of any path."""


@dataclass(frozen=True)
class Way:
    """One method of one path."""

    method: str
    path: str
    page: bool
    """Shown to people; else for programs."""
    told: bool
    """Reads a body."""

    @property
    def filled(self) -> str:
        """The path with the examples in it."""
        return filled(self.path)

    @property
    def parameters(self) -> list[str]:
        """Names of what varies in the path."""
        return PARAMETER.findall(self.path)

    def __str__(self) -> str:
        return f"{self.method} {self.path}"


def filled(path: str, **instead: str) -> str:
    """A path with something for each parameter."""
    known = EXAMPLES | instead
    return PARAMETER.sub(lambda found: known.get(found[1], "unheard-of"), path)


def make(data: Path, *, phrase: str = "", allowed_bytes: int = 2_000_000) -> FastAPI:
    """The application over a folder."""
    return make_application(Options(data, hosts=LOOPBACK, pass_phrase=phrase, allowed_bytes=allowed_bytes))


def visitor(app: FastAPI, **options: Any) -> TestClient:
    """A client that is told of a fault inside as browsers are: by an answer."""
    return TestClient(app, base_url=HOME, raise_server_exceptions=False, follow_redirects=False, **options)


def ways(app: FastAPI) -> Iterator[Way]:
    """Every method of every route."""
    for route in every_route(app.router):
        if isinstance(route, APIRoute):
            for method in sorted(route.methods):
                page = not route.path.startswith("/api/")
                yield Way(method, route.path, page, route.body_field is not None)


def sockets(app: FastAPI) -> list[str]:
    """Paths of all sockets."""
    return [route.path for route in every_route(app.router) if isinstance(route, APIWebSocketRoute)]


def every_route(router: Any) -> Iterator[Any]:
    """Routes, those of the routers within too."""
    for route in router.routes:
        yield route
        within = getattr(route, "original_router", None)
        if within is not None:
            yield from every_route(within)


def some_application() -> FastAPI:
    """One to read the routes of; it is never started."""
    return make(Path("never-made"))


WAYS = list(ways(some_application()))
READING = [way for way in WAYS if way.method == "GET"]
CHANGING = [way for way in WAYS if way.method not in ("GET", "HEAD", "OPTIONS")]
VARIED = [way for way in WAYS if way.parameters]
SOCKETS = sockets(some_application())
