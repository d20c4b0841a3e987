"""Findings: the sheets in work, the first minute with a machine, and the page of one sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache, partial
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Path, Request
from fastapi.responses import Response
from markupsafe import Markup

from collaudo.bench.findings.book import SHEET_ID
from collaudo.bench.findings.entry_words import value_in_words
from collaudo.bench.machines.choosing import commonest_first, machines_to_choose
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.units_in_texts import told_in_units
from collaudo.errors import InputError
from collaudo.web.asking.pages import STATIC, show
from collaudo.web.asking.units import NARROW, choice_of, quantity

if TYPE_CHECKING:
    from collaudo.bench.findings.answers import FindingTold, SheetAnswer
    from collaudo.bench.findings.book import FindingsBook
    from collaudo.bench.findings.sheet import SheetFinding
    from collaudo.quantities.units import Choice

router = APIRouter(include_in_schema=False)

SheetId = Annotated[str, Path(max_length=60, pattern=f"^{SHEET_ID}$")]
HEATS = (
    ("cold", "Cold", "off for hours; group and boiler as warm as the room"),
    ("warm", "Warm", "on for less than half an hour, or off for less than two"),
    ("hot", "Hot", "on and up to pressure, the group too hot to touch"),
)
"""What may be said of the machine as it stands there, with how to tell."""
SHARED = ("shell", "ask", "awake", "dom", "keep", "line", "time", "units")
"""Scripts of every page."""
STOPS = (
    ("wet", "Wet near mains", "water at plug, wires or terminals, or under the machine"),
    ("burning", "Smell of burning", "smoke, a scorched plug, a melted terminal"),
    ("over-pressure", "Pressure too high", "the gauge beyond its mark, or the safety valve blows"),
)


@router.get("/findings")
def listed(request: Request) -> Response:
    """The sheets in work."""
    return show(request, "findings.html", {"complaints": _complaints(request)})


@router.get("/findings/new")
def begun(request: Request) -> Response:
    """The first minute: machine, complaint, condition, what must stop the work."""
    titles = {one.id: one.title for one in machines_to_choose(Shelf(request.app.state.options.data))}
    told = {"machines": titles, "complaints": _complaints(request), "heats": HEATS, "stops": STOPS}
    return show(request, "findings_new.html", told | {"modules": _modules()})


@router.get("/findings/{sheet}")
def worked(request: Request, sheet: SheetId) -> Response:
    """The page one sheet is worked on."""
    found = _book(request).sheet(sheet)
    told = {"sheet": found, "complaints": _complaints(request), "modules": _modules()}
    return show(request, "findings_sheet.html", told)


@router.get("/findings/{sheet}/print")
def printed(request: Request, sheet: SheetId) -> Response:
    """The summary of one sheet for paper."""
    book = _book(request)
    found = book.sheet(sheet)
    try:
        answer, words = book.answer(found, choice_of(request)), book.words(found.machine)
    except InputError:  # the machine's file is gone or broken: what was found is printed all the same
        answer, words = None, None
    choice = choice_of(request)
    told: dict[str, Any] = {"sheet": told_in_units(found, choice), "answer": answer, "spoken": words}
    told |= {"today": date.today().isoformat(), "expected": _expected(answer)}
    return show(request, "findings_print.html", told | {"found": partial(_found, choice=choice)})


def _complaints(request: Request) -> Mapping[str, str]:
    """The complaints, which are the same for all machines, as they are read."""
    return _book(request).words(commonest_first()[0]).complaints


def _book(request: Request) -> FindingsBook:
    found: FindingsBook = request.app.state.upkeep.findings
    return found


def _found(one: SheetFinding, choice: Choice) -> Markup:
    """The number of a finding: as it was typed, where it was typed in the visitor's unit."""
    if one.typed is None or one.typed.unit != choice.unit_for(one.unit):
        return quantity(float(one.value or 0.0), one.unit, choice)
    return Markup("{}").format(value_in_words(one.typed.value, one.typed.unit).replace(" ", NARROW))


def _expected(answer: SheetAnswer | None) -> dict[str, FindingTold]:
    """What the answer tells of each entry of a finding."""
    return {one.entry: one for one in answer.findings} if answer else {}


@cache
def _modules() -> list[str]:
    """The scripts of a sheet, asked for all at once: one after the other takes seconds on a slow line."""
    own = sorted(file.name for file in (STATIC / "js" / "findings").glob("*.js"))
    return [*(f"js/{name}.js" for name in SHARED), *(f"js/findings/{name}" for name in own)]
