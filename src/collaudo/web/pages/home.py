"""The first page: what can be done here, and the way to the demonstration."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from collaudo.bench.demo import DEMO_MACHINE
from collaudo.errors import UnknownNameError
from collaudo.web.asking.pages import show

router = APIRouter(include_in_schema=False)


@router.get("/")
async def home(request: Request) -> Response:
    """What can be done here; what is in work and what runs now is filled in by the page, so that it stands
    at once."""
    return show(request, "home.html", {"demo_machine": DEMO_MACHINE})


@router.get("/demo")
def demo(request: Request) -> Response:
    """To the demonstration machine and its findings; to the list where somebody has removed them."""
    from collaudo.bench.findings.book import DEMO, FindingsBook  # not for the first page: see `doorstep`

    book: FindingsBook = request.app.state.upkeep.findings
    try:
        book.open()
        book.sheet(DEMO)
    except UnknownNameError:
        return RedirectResponse("/findings", 303)
    return RedirectResponse(f"/findings/{DEMO}", 303)
