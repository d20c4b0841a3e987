"""Paths: where water, heat and current go in a machine, step by step."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse, Response

from collaudo.bench.explaining.states import StateSummary, snapshot_is_kept, states_of
from collaudo.bench.explaining.walking import Walking, walking
from collaudo.bench.judging.getting_ready import twin_is_compiled
from collaudo.bench.machines.shelf import Shelf
from collaudo.web.readiness import MachineReadiness, Readiness

router = APIRouter(prefix="/api", tags=["path"])

Matter = Literal["water", "heat", "current"]
Reader = Annotated[Literal["apprentice", "customer"], Query(alias="for")]


@router.get("/path/{machine}")
def states(request: Request, machine: str) -> list[StateSummary]:
    """The states a machine can be in, in the order one meets them."""
    return states_of(Shelf(request.app.state.options.data).place_of(machine))


@router.get(
    "/path/{machine}/{state}/{of}",
    response_model=Walking,
    responses={202: {"model": MachineReadiness, "description": "The twin is being compiled: ask again."}},
)
def path(
    request: Request, machine: str, state: str, of: Matter, audience: Reader = "apprentice"
) -> Walking | Response:
    """The way of water, heat or current through a machine in a state: walks of steps, each with what is told
    there (quantities in the bench's own units: bar, degC), the drawing, and the ids in it that belong to the
    step. Takes a second or so. After an installation the twin is compiled first, beside the server: 202."""
    place = Shelf(request.app.state.options.data).place_of(machine)
    if not twin_is_compiled() and not snapshot_is_kept(place, state):
        readiness: Readiness = request.app.state.upkeep.readiness
        readiness.want(machine)
        return JSONResponse(asdict(readiness.state(machine)), 202)
    return walking(place, state, of, audience)
