"""Pictures: a machine's portrait, and its diagrams of water, heat and current."""

from __future__ import annotations

import hashlib
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from collaudo.bench.explaining.drawings import draw_machine
from collaudo.bench.machines.portraits import portrait_of
from collaudo.bench.machines.shelf import Shelf

router = APIRouter(include_in_schema=False)


@router.get("/portraits/{machine}.svg")
def portrait(request: Request, machine: str) -> Response:
    """The portrait of a machine of the library or one's own."""
    return picture(request, portrait_of(_place(request, machine)).svg)


@router.get("/drawings/{machine}/{of}.svg")
def drawing(
    request: Request,
    machine: str,
    of: Literal["water", "heat", "current"],
    state: Annotated[str, Query(max_length=60)] = "",
) -> Response:
    """A diagram of a machine, at rest or in one of its states."""
    return picture(request, draw_machine(_place(request, machine), state, of))


def picture(request: Request, svg: str) -> Response:
    """An SVG that a browser may keep as long as it is the same."""
    tag = f'"{hashlib.sha256(svg.encode()).hexdigest()[:24]}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(svg, media_type="image/svg+xml", headers=headers)


def _place(request: Request, machine: str) -> str:
    return Shelf(request.app.state.options.data).place_of(machine)
