"""Findings: sheets that are written on entry by entry, and what they say."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from collaudo.bench.findings.answers import SheetAnswer
from collaudo.bench.findings.book import FindingsBook, SheetLine
from collaudo.bench.findings.sheet import Sheet
from collaudo.bench.units_in_texts import told_in_units
from collaudo.web.asking.units import choice_of
from collaudo.web.asking.yaml_files import AS_FILE, yaml_file
from collaudo.web.upkeep import Upkeep

router = APIRouter(prefix="/api/findings", tags=["findings"])


@dataclass(frozen=True)
class NewSheet:
    """What a sheet begins with."""

    machine: str
    """Id of a machine of the shelf."""
    entry: str
    """Id of this first entry, made up by who asks; sent again, the same sheet is answered."""
    label: str | None = None


@dataclass(frozen=True)
class FindingsFile:
    """A findings file as text."""

    text: str
    entry: str = field(default_factory=lambda: str(uuid.uuid4()))
    """Sent again with the same id, the same sheet is answered."""


@dataclass(frozen=True)
class NewEntries:
    """What is to be written down, in this order; all of it or nothing."""

    entries: list[dict[str, Any]]


@dataclass(frozen=True)
class SheetAndAnswer:
    """A sheet as it stands now, and what it says."""

    sheet: Sheet
    answer: SheetAnswer


@router.get("")
def sheets(request: Request) -> list[SheetLine]:
    """Every sheet that is not removed, the one changed last first."""
    return _book(request).sheets()


@router.post("")
def begin(request: Request, asked: NewSheet) -> Sheet:
    """Begin a sheet for a machine."""
    sheet = _book(request).begin(asked.machine, asked.label or "", asked.entry)
    _upkeep(request).readiness.want(sheet.machine)
    return sheet


@router.post("/import")
def bring_in(request: Request, asked: FindingsFile) -> Sheet:
    """Begin a sheet with what a findings file says; every problem in it is told with its line."""
    return _book(request).bring_in(asked.text, asked.entry)


@router.post("/demo")
def demo(request: Request) -> Sheet:
    """The demonstration's sheet as it was at first; what was tried on it is gone."""
    return _book(request).reset_demo()


@router.get("/{sheet}")
def sheet(request: Request, sheet: str) -> Sheet:
    """One sheet."""
    return told_in_units(_book(request).sheet(sheet), choice_of(request))


@router.get("/{sheet}/file", response_class=Response, responses=AS_FILE)
def file(request: Request, sheet: str) -> Response:
    """The findings file that says the same, for `collaudo diagnose`."""
    return yaml_file(_book(request).file(sheet), f"findings-{sheet}")


@router.post("/{sheet}/entries")
def add(request: Request, sheet: str, asked: NewEntries) -> SheetAndAnswer:
    """Write entries down; on the disk before this answers. Sent again they are confirmed, not doubled.

    Each has ``entry`` (an id made up by who asks), ``kind``, and what the kind holds: ``complaint``
    ``{words}``, ``stop`` ``{word}``, ``condition`` ``{heat, lid}``, ``history`` ``{words}``, ``site``,
    ``settings``, ``known`` ``{values}``, ``reading`` ``{check, reading, value, unit}``, ``not_measured``
    ``{check, reading}``, ``doubt`` ``{of, doubted}``, ``strike`` ``{of}``, ``part`` ``{part, done}``,
    ``note``, ``label`` ``{text}``, ``undo``. In a fault ``file`` is the id of the entry, ``line`` its place.
    """
    found = _book(request).add(sheet, asked.entries)
    return SheetAndAnswer(told_in_units(found, choice_of(request)), _answer(request, found))


@router.get("/{sheet}/answer")
def answer(request: Request, sheet: str) -> SheetAnswer:
    """What a sheet says now; where its machine has no signatures yet, their building is begun."""
    return _answer(request, _book(request).sheet(sheet))


@router.delete("/{sheet}", status_code=204)
def remove(request: Request, sheet: str) -> Response:
    """Put a sheet aside; it can be brought back."""
    _book(request).remove(sheet)
    return Response(status_code=204)


@router.post("/{sheet}/bring-back")
def bring_back(request: Request, sheet: str) -> Sheet:
    """Take a removed sheet up again."""
    return _book(request).bring_back(sheet)


def _upkeep(request: Request) -> Upkeep:
    found: Upkeep = request.app.state.upkeep
    return found


def _book(request: Request) -> FindingsBook:
    return _upkeep(request).findings


def _answer(request: Request, sheet: Sheet) -> SheetAnswer:
    building = _upkeep(request).readiness.want(sheet.machine)
    return _book(request).answer(sheet, choice_of(request), building)
