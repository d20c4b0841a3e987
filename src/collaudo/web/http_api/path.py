"""Paths: where water, heat and current go in a machine, step by step."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request

from collaudo.bench.shelf import Shelf
from collaudo.bench.states import StateSummary, states_of
from collaudo.bench.walking import Walking, walking

router = APIRouter(prefix="/api", tags=["path"])

Matter = Literal["water", "heat", "current"]
Reader = Annotated[Literal["apprentice", "customer"], Query(alias="for")]


@router.get("/path/{machine}")
def states(request: Request, machine: str) -> list[StateSummary]:
    """The states a machine can be in, in the order one meets them."""
    return states_of(Shelf(request.app.state.options.data).place_of(machine))


@router.get("/path/{machine}/{state}/{of}")
def path(
    request: Request, machine: str, state: str, of: Matter, audience: Reader = "apprentice"
) -> Walking:
    """The way of water, heat or current through a machine in a state: walks of steps, each with what is told
    there (quantities in the bench's own units: bar, degC), the drawing, and the ids in it that belong to the
    step. Takes a second or so; the first time after an installation the twin is compiled before."""
    return walking(Shelf(request.app.state.options.data).place_of(machine), state, of, audience)
