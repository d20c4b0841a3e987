"""What a sound machine should show in every check, here and as it is set."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, field

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from collaudo.bench.findings.machine_words import MachineWords, words_for
from collaudo.bench.judging.getting_ready import twin_is_compiled
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.sound.expected import in_units
from collaudo.bench.sound.now import ExpectedReading, Said, expectations, expected_now, typical_now
from collaudo.errors import unknown_name
from collaudo.reports.wall_sheet import wall_sheet
from collaudo.reports.wall_sheet_pdf import wall_sheet_pdf
from collaudo.web.asking.units import choice_of
from collaudo.web.sound_readiness import SoundReadiness

SHEET_KEPT_s = 20
router = APIRouter(prefix="/api/expected", tags=["expected readings"])


@dataclass(frozen=True)
class SaidOfIt:
    """What is known of a machine and its place; the less, the wider the ranges."""

    site: dict[str, float] = field(default_factory=dict)
    """``mains_V``, ``altitude_m``, ``room_degC`` …"""
    settings: dict[str, float] = field(default_factory=dict)
    """By name and unit: ``boiler_pressure_bar``."""
    known: dict[str, float] = field(default_factory=dict)
    """What its plate or a measurement says: ``boiler.volume_l``."""


@dataclass(frozen=True)
class ExpectedAnswer:
    """Expected readings, and how far they are being made."""

    machine: str
    ready: str
    """``ranges``; ``typical``: what one machine shows, ranges follow; ``twin``: the twin is made first."""
    readings: list[ExpectedReading]
    draws: int
    """Sound machines drawn and run for the ranges; a first few give rough ones."""
    of_draws: int
    left_s: float | None
    """Until the ranges, or better ones, are there; None where nobody makes them or it is not known."""
    unused: list[str]
    """What was said and moves no reading."""
    open: list[str]
    """What would narrow the ranges and was not said."""
    fault: str = ""


@router.post("/{machine}")
def expected_of(machine: str, said: SaidOfIt, request: Request) -> ExpectedAnswer:
    """Expected readings of a sound machine with what is said of it.

    The first time a machine is asked for, ranges are made from machines drawn and run: meanwhile the answer
    holds what one machine shows; ask again after a second.
    """
    words = words_for(Shelf(request.app.state.options.data), machine)
    told = Said(said.site, said.settings, said.known)
    keeper: SoundReadiness = request.app.state.upkeep.sound
    held = keeper.get(words)
    making = keeper.making(words)
    left_s = making.left_s if making.building else None
    if held is None:
        compiled = twin_is_compiled()
        readings = typical_now(words, told) if compiled else []
        ready = "typical" if compiled else "twin"
        return ExpectedAnswer(machine, ready, readings, 0, making.of_draws, left_s, [], [], making.fault)
    now = expected_now(words, held, told)
    return ExpectedAnswer(
        machine, "ranges", now.readings, held.draws, making.of_draws, left_s, now.unused, now.open
    )


@router.get(
    "/{machine}/sheet.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}, "description": "The sheet, A4"}},
)
def sheet_for_the_wall(machine: str, request: Request) -> Response:
    """Expected readings as a sheet for the wall, in the units of the cookie ``units``.

    The query says what is known, each key with its unit: ``?mains_V=225&boiler_pressure_bar=1.2``. While the
    ranges are still being made the answer is 409.
    """
    words = words_for(Shelf(request.app.state.options.data), machine)
    held = request.app.state.upkeep.sound.get(words)
    if held is None:
        raise HTTPException(409, "The ranges for this sheet are still being made. Look at the page again.")
    found = in_units(expectations(words, held, _said(request, words)), choice_of(request))
    on = datetime.date.today()
    headers = {
        "Content-Disposition": f'inline; filename="{words.id}-expected.pdf"',
        # The page has it made, telling how long that takes, and then opens what it has got.
        "Cache-Control": f"private, max-age={SHEET_KEPT_s}",
        "Vary": "Cookie",
    }
    return Response(wall_sheet_pdf(wall_sheet(found, on), on), media_type="application/pdf", headers=headers)


def _said(request: Request, words: MachineWords) -> Said:
    """What the address says: every key ends in its unit. `InputError` or 422 for what cannot be."""
    kinds: dict[str, dict[str, float]] = {"site": {}, "settings": {}, "known": {}}
    for key, text in request.query_params.items():
        kind = next((name for name in kinds if key in getattr(words, name)), None)
        if kind is None:
            raise unknown_name("value", key[:60], [*words.site, *words.settings, *words.known])
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise HTTPException(422, f"{key} is no number")
        kinds[kind][key] = value
    return Said(**kinds)
