"""How far a machine is ready for answers."""

from __future__ import annotations

from fastapi import APIRouter, Request

from collaudo.web.readiness import MachineReadiness, Readiness

router = APIRouter(prefix="/api/machines", tags=["machines"])


@router.get("/{machine}/readiness")
def readiness(request: Request, machine: str) -> MachineReadiness:
    """Whether its twin is compiled and its signatures are built, and how long that will still take."""
    return _keeper(request).state(machine)


@router.post("/{machine}/readiness")
def make_ready(request: Request, machine: str) -> MachineReadiness:
    """Have it made ready, before all others."""
    _keeper(request).want(machine)
    return _keeper(request).state(machine)


def _keeper(request: Request) -> Readiness:
    found: Readiness = request.app.state.upkeep.readiness
    return found
