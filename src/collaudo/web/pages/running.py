"""The running machine: which one to watch, and the page on which it runs."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from collaudo.bench.machines.choosing import machines_to_choose
from collaudo.bench.machines.handle import Machine
from collaudo.bench.machines.shelf import Shelf
from collaudo.web.asking.pages import show

router = APIRouter(include_in_schema=False)


@router.get("/running")
def choose(request: Request) -> Response:
    """Every machine by its picture; those that run now are filled in by the page."""
    shelf = Shelf(request.app.state.options.data)
    return show(request, "running.html", {"machines": machines_to_choose(shelf)})


@router.get("/running/{stand}")
def watch(request: Request, stand: str) -> Response:
    """The live bench of one stand; `UnknownNameError` where there is no such machine."""
    machine = machine_of(stand)
    built = Machine.named(Shelf(request.app.state.options.data).place_of(machine))
    return show(
        request, "running_bench.html", {"stand": stand, "machine": machine, "machine_title": built.title}
    )


def machine_of(stand: str) -> str:
    """The machine of a stand: its id without the number of a stand of one's own (``hx-vibration~2``)."""
    machine, _, number = stand.partition("~")
    return machine if not number or number.isdecimal() else stand
