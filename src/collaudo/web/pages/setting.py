"""Setting: turn what can be turned on a machine and see what follows."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from collaudo.bench.machines.choosing import machines_to_choose
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.setting.adjusting import turnable_settings, turnable_site
from collaudo.bench.setting.effects import prepared
from collaudo.reports.wording import printed
from collaudo.web.asking.pages import show

router = APIRouter(include_in_schema=False)


@router.get("/setting")
def choose(request: Request) -> Response:
    """Which machine is to be set."""
    shelf = Shelf(request.app.state.options.data)
    return show(request, "setting_choose.html", {"machines": machines_to_choose(shelf)})


@router.get("/setting/{machine}")
def setting(request: Request, machine: str) -> Response:
    """Sliders, and what follows from them."""
    made = prepared(Shelf(request.app.state.options.data).place_of(machine))
    settings = turnable_settings(made)
    told = {
        "machine": made.machine,
        "id": machine,
        "settings": settings,
        "cautions": list(dict.fromkeys(caution for one in settings for caution in one.cautions)),
        "site": turnable_site(made),
        "printed": printed,
    }
    return show(request, "setting.html", told)
