"""The path room: which machine, which state, and the way through it step by step."""

from __future__ import annotations

from functools import cache

from fastapi import APIRouter, Request
from fastapi.responses import Response

from collaudo.bench.explaining.states import StateSummary, states_of
from collaudo.bench.machines.choosing import machines_to_choose
from collaudo.bench.machines.library import check_machine, machines
from collaudo.bench.machines.shelf import Shelf
from collaudo.errors import InputError, unknown_name
from collaudo.web.asking.pages import show
from collaudo.web.http_api.path import Matter, Reader

router = APIRouter(include_in_schema=False)

MATTERS = {"water": "Water", "heat": "Heat", "current": "Current"}
AUDIENCES = {"customer": "a customer", "apprentice": "an apprentice"}


@router.get("/path")
def choose_machine(request: Request) -> Response:
    """Every machine by its picture."""
    shelf = Shelf(request.app.state.options.data)
    return show(request, "path.html", {"machines": machines_to_choose(shelf)})


@router.get("/path/{machine}")
def choose_state(
    request: Request, machine: str, of: Matter = "water", audience: Reader = "customer"
) -> Response:
    """The states of a machine; what is followed and who reads it."""
    title, states = _known(request, machine)
    told = {"machine": machine, "title": title, "states": states, "of": of, "audience": audience}
    return show(request, "path_states.html", told | {"matters": MATTERS, "audiences": AUDIENCES})


@router.get("/path/{machine}/{state}/{of}")
def walk(request: Request, machine: str, state: str, of: Matter, audience: Reader = "customer") -> Response:
    """The way, step by step: the page asks for the steps and says how long that takes."""
    title, states = _known(request, machine)
    here = next((one for one in states if one.state == state), None)
    if here is None:
        raise unknown_name("state", state[:60], [one.state for one in states])
    told = {"machine": machine, "title": title, "states": states, "state": here, "of": of}
    more = {"audience": audience, "matters": MATTERS, "audiences": AUDIENCES}
    return show(request, "path_walk.html", told | more)


def _known(request: Request, machine: str) -> tuple[str, list[StateSummary]]:
    shelf = Shelf(request.app.state.options.data)
    place = shelf.place_of(machine)
    title = _own_title(shelf, machine) if shelf.is_own(machine) else _library_titles()[machine]
    return title, states_of(place)


@cache
def _library_titles() -> dict[str, str]:
    return {one.id: one.title for one in machines()}


def _own_title(shelf: Shelf, machine: str) -> str:
    """The title in the file; the id where the file cannot be used now."""
    try:
        return check_machine(shelf.place_of(machine)).title
    except InputError:
        return machine
