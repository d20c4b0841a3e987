"""Expected readings: what a sound machine shows in every check, here and as it is set."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from collaudo.bench.findings.machine_words import MachineWords, words_for
from collaudo.bench.machines.choosing import machines_to_choose
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.sound.now import asked_of, cautions_of, checks_of
from collaudo.bench.sound.work_order import CONDITIONS, condition_of, turn
from collaudo.reports.wording import printed
from collaudo.web.asking.pages import show

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


def _groups(words: MachineWords) -> list[Group]:
    groups = []
    for condition, (title, when) in CONDITIONS.items():
        checks = sorted((one for one in checks_of(words) if condition_of(one) == condition), key=turn)
        if checks:
            groups.append(Group(condition, title, when, cautions_of(checks), list(checks)))
    return groups
