"""What settings and site do to a machine's readings, run on the twin."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from threading import BoundedSemaphore

from fastapi import APIRouter, HTTPException, Request

from collaudo.bench.judging.getting_ready import twin_is_compiled
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.setting.adjusting import Turnable, turnable_settings, turnable_site
from collaudo.bench.setting.effects import Effects, effects, prepared

router = APIRouter(prefix="/api/effects", tags=["settings"])

AT_ONCE = BoundedSemaphore(max(1, os.cpu_count() or 1))
"""More twins than cores would only take turns."""


@dataclass(frozen=True)
class Turned:
    """How a machine is set and where it stands; what is not given is as it came."""

    site: dict[str, float] = field(default_factory=dict)
    """By key; the unit ends the key: ``altitude_m``."""
    settings: dict[str, float] = field(default_factory=dict)
    """By name, in the unit the setting has."""


@dataclass(frozen=True)
class CanTurn:
    """What can be turned on a machine, and where it can stand."""

    machine: str
    title: str
    settings: list[Turnable]
    site: list[Turnable]


@router.get("/{machine}")
def what_can_be_turned(machine: str, request: Request) -> CanTurn:
    """Every setting of a machine and every site value that changes what it shows, with range and cautions."""
    made = prepared(Shelf(request.app.state.options.data).place_of(machine))
    return CanTurn(machine, made.machine.title, turnable_settings(made), turnable_site(made))


@router.post("/{machine}")
def effects_of(machine: str, turned: Turned, request: Request) -> Effects:
    """Readings of the sound machine as it is set, against the same machine as it came.

    The twin is heated up from cold and tried: it takes about a tenth of a second. A setting that cannot be,
    such as a working pressure too near the safety valve, is refused with the reason. While the twin itself is
    still made ready (503), `/api/machines/{machine}/readiness` says for how long.
    """
    if not twin_is_compiled():
        # Compiling here would hold everything else up for minutes.
        request.app.state.upkeep.readiness.want(machine)
        raise HTTPException(503, "The twin is being made ready; that is done once.", {"Retry-After": "2"})
    made = prepared(Shelf(request.app.state.options.data).place_of(machine))
    with AT_ONCE:
        return effects(made, {key: f"{value:g}" for key, value in turned.site.items()}, turned.settings)
