"""Pages from templates: every text escaped, quantities in the visitor's units."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import cache, partial
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from collaudo.bench.naming import part_in_words
from collaudo.web.asking import units

STATIC = Path(__file__).parent.parent / "static"
SECTIONS = (
    ("/", "Bench"),
    ("/findings", "Findings"),
    ("/running", "Running"),
    ("/path", "Path"),
    ("/expected", "Expected"),
    ("/setting", "Setting"),
    ("/machines", "Machines"),
)
"""The rooms of the bench, in the order of the bar at the top."""


def show(
    request: Request, template: str, told: Mapping[str, Any] | None = None, status: int = 200
) -> HTMLResponse:
    """A page. Templates know ``quantity(value, unit)``, ``span(low, high, unit)`` and what is ``told``."""
    choice = units.choice_of(request)
    path = request.url.path
    known = {
        "request": request,
        "sections": SECTIONS,
        "here": next((at for at, _ in reversed(SECTIONS) if path == at or path.startswith(f"{at}/")), ""),
        "form_token": getattr(request.state, "form_token", ""),  # none where an outer layer failed
        "choice": choice,
        "choices": units.CHOICES,
        "quantity": partial(units.quantity, choice=choice),
        "span": partial(units.span, choice=choice),
        "theme": theme if (theme := request.cookies.get("theme")) in ("light", "dark") else "",
        "unit_table": units.unit_table(),
        "locked": request.app.state.options.open_to_others,
    }
    text = _templates().get_template(template).render(known | dict(told or {}))
    return HTMLResponse(text, status)


def static_url(name: str) -> str:
    """Address of a static file, which changes with what is in the files, so that browsers may keep them."""
    return f"/static/{_version()}/{name}"


@cache
def _version() -> str:
    digest = hashlib.sha256()
    for file in sorted(path for path in STATIC.rglob("*") if path.is_file()):
        digest.update(file.relative_to(STATIC).as_posix().encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:12]


@cache
def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("collaudo.web", "templates"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["static"] = static_url
    environment.filters["part"] = part_in_words
    return environment
