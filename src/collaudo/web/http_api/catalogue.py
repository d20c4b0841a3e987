"""The catalogue: what may be entered for a machine, its checks and its causes."""

from __future__ import annotations

from fastapi import APIRouter, Request

from collaudo.bench.findings.check_cards import CheckCard, card_of
from collaudo.bench.findings.sheet_words import SheetWords, sheet_words
from collaudo.bench.judging.catalogue import ListedCause, list_causes
from collaudo.bench.units_in_texts import told_in_units
from collaudo.web.asking.units import choice_of
from collaudo.web.upkeep import Upkeep

router = APIRouter(prefix="/api/machines", tags=["machines"])


@router.get("/{machine}/words")
def words(request: Request, machine: str) -> SheetWords:
    """Everything that may be entered on a findings sheet of the machine."""
    return told_in_units(sheet_words(_upkeep(request).findings.words(machine)), choice_of(request))


@router.get("/{machine}/checks")
def checks(request: Request, machine: str) -> list[CheckCard]:
    """The checks that can be made on it."""
    cards = [card_of(item) for item in _upkeep(request).findings.words(machine).checks.values()]
    return told_in_units(cards, choice_of(request))


@router.get("/{machine}/causes")
def causes(request: Request, machine: str) -> list[ListedCause]:
    """The causes that can occur on it."""
    return list_causes(_upkeep(request).findings.words(machine).place)


def _upkeep(request: Request) -> Upkeep:
    found: Upkeep = request.app.state.upkeep
    return found
