"""The machines: all of them, one of them, two side by side, and how one of one's own comes to be."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from collaudo.bench.explaining.states import states_of
from collaudo.bench.machines.card import entries, entry_of
from collaudo.bench.machines.compare import compare
from collaudo.bench.machines.files import MachineFiles
from collaudo.bench.machines.handle import Machine
from collaudo.bench.machines.new import new_questions
from collaudo.bench.machines.shelf import Shelf
from collaudo.web.asking.declared import declared, declared_span
from collaudo.web.asking.pages import show
from collaudo.web.asking.units import choice_of

router = APIRouter(prefix="/machines", include_in_schema=False)

DRAWINGS = {
    "water": "The way of the water",
    "heat": "Where the heat goes",
    "current": "The wiring",
}
Name = Annotated[str, Query(max_length=80)]


@router.get("")
def every_machine(request: Request) -> Response:
    """One's own and those of the library, as pictures."""
    found = entries(_shelf(request))
    own = [one for one in found if one.own]
    return _page(request, "machines.html", own=own, library=[one for one in found if not one.own])


@router.get("/new")
def new(request: Request, like: Name = "") -> Response:
    """Which machine it is like; then what is known of it."""
    shelf = _shelf(request)
    if not like:
        usable = [one for one in entries(shelf) if not one.problems]
        return _page(request, "machine_like.html", machines=usable)
    entry = entry_of(shelf, like)
    return _page(
        request,
        "machine_new.html",
        entry=entry,
        questions=new_questions(shelf, like),
        free_id=_free_id(shelf, like),
    )


@router.get("/import")
def bring_in(request: Request) -> Response:
    """A machine from a file."""
    return _page(request, "machine_edit.html", machine="", title="", text="", mark="", versions=[])


@router.get("/removed")
def removed(request: Request) -> Response:
    """What was removed and can be brought back."""
    return _page(request, "machines_removed.html", removed=MachineFiles(_shelf(request)).removed())


@router.get("/compare")
def side_by_side(request: Request, a: Name = "", b: Name = "") -> Response:
    """Two machines side by side: what differs first."""
    shelf = _shelf(request)
    known = [one for one in entries(shelf) if not one.problems]
    told = compare(shelf.place_of(a), shelf.place_of(b)) if a and b else None
    return _page(request, "machine_compare.html", machines=known, a=a, b=b, two=told)


@router.get("/{machine}")
def one_machine(request: Request, machine: str) -> Response:
    """A machine with its drawings, parts, settings, values and states."""
    shelf = _shelf(request)
    entry = entry_of(shelf, machine)
    if entry.problems and shelf.is_own(machine):
        return _page(request, "machine_broken.html", entry=entry)
    place = shelf.place_of(machine)
    return _page(
        request,
        "machine.html",
        entry=entry,
        machine=Machine.named(place),
        states=states_of(place),
        drawings=DRAWINGS,
        like_it=shelf.like_this(machine),
    )


@router.get("/{machine}/drawing/{of}")
def drawing(
    request: Request, machine: str, of: Literal["water", "heat", "current"], state: Name = ""
) -> Response:
    """A diagram on a page of its own, to look into and to print."""
    shelf = _shelf(request)
    place = shelf.place_of(machine)
    return _page(
        request,
        "machine_drawing.html",
        entry=entry_of(shelf, machine),
        of=of,
        drawings=DRAWINGS,
        state=state,
        states=states_of(place),
    )


@router.get("/{machine}/edit")
def edit(request: Request, machine: str) -> Response:
    """The file of a machine of one's own, as a form and as text."""
    shelf = _shelf(request)
    if not shelf.is_own(machine):
        shelf.place_of(machine)
        return RedirectResponse(f"/machines/new?like={machine}", 303)  # the library is not edited
    files = MachineFiles(shelf)
    written = files.read(machine)
    title = entry_of(shelf, machine).title
    return _page(
        request,
        "machine_edit.html",
        machine=machine,
        title=title,
        text=written.text,
        mark=written.mark,
        versions=files.versions(machine),
    )


def _page(request: Request, template: str, **told: Any) -> Response:
    choice = choice_of(request)
    known = {
        "declared": partial(declared, choice=choice),
        "declared_span": partial(declared_span, choice=choice),
    }
    return show(request, template, known | told)


def _free_id(shelf: Shelf, like: str) -> str:
    """An id that is not taken yet."""
    stem = f"my-{like.removeprefix('my-')}"[:50]
    taken = shelf.own_ids()
    return next(word for n in range(1, 10_000) if (word := stem if n == 1 else f"{stem}-{n}") not in taken)


def _shelf(request: Request) -> Shelf:
    return Shelf(request.app.state.options.data)
