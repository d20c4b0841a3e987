"""Expected readings: what a sound machine shows in every check, here and as it is set; and the sheet for the
wall."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from collaudo.bench.choosing import machines_to_choose
from collaudo.bench.expected import in_units
from collaudo.bench.expected_now import Said, asked_of, cautions_of, checks_of, expectations
from collaudo.bench.machine_words import MachineWords, words_for
from collaudo.bench.shelf import Shelf
from collaudo.bench.work_order import CONDITIONS, condition_of, turn
from collaudo.errors import unknown_name
from collaudo.quantities.units import to_si
from collaudo.reports.wall_sheet import wall_sheet
from collaudo.reports.wall_sheet_pdf import wall_sheet_pdf
from collaudo.reports.wording import printed
from collaudo.web.asking.pages import show
from collaudo.web.asking.units import choice_of

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True)
class Group:
    """The checks that are made in one condition."""

    condition: str
    title: str
    when: str
    cautions: list[str]
    """Of all its checks, each once."""
    checks: list[object]


@router.get("/expected")
def choose(request: Request) -> Response:
    """Of which machine."""
    shelf = Shelf(request.app.state.options.data)
    return show(request, "expected_choose.html", {"machines": machines_to_choose(shelf)})


@router.get("/expected/{machine}")
def expected(request: Request, machine: str) -> Response:
    """The readings, with no numbers yet: the page asks for them."""
    words = words_for(Shelf(request.app.state.options.data), machine)
    told = {"machine": words, "asked": asked_of(words), "groups": _groups(words), "printed": printed}
    return show(request, "expected.html", told)


@router.get("/expected/{machine}/sheet.pdf")
def sheet(request: Request, machine: str) -> Response:
    """The sheet for the wall, in the visitor's units, with what the address says of site and settings."""
    words = words_for(Shelf(request.app.state.options.data), machine)
    held = request.app.state.upkeep.sound_sets.get(words)
    if held is None:
        raise HTTPException(409, "The ranges for this sheet are still being made. Look at the page again.")
    found = in_units(expectations(words, held, _said(request, words)), choice_of(request))
    on = datetime.date.today()
    headers = {"Content-Disposition": f'inline; filename="{words.id}-expected.pdf"'}
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
            to_si(value, "count")  # refuses what is not finite
        except ValueError:
            raise HTTPException(422, f"{key} is no number") from None
        kinds[kind][key] = value
    return Said(**kinds)


def _groups(words: MachineWords) -> list[Group]:
    groups = []
    for condition, (title, when) in CONDITIONS.items():
        checks = sorted((one for one in checks_of(words) if condition_of(one) == condition), key=turn)
        if checks:
            groups.append(Group(condition, title, when, cautions_of(checks), list(checks)))
    return groups
