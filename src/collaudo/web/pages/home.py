"""The first page: what can be done here."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from collaudo.web.asking.pages import show

router = APIRouter(include_in_schema=False)


@router.get("/")
def home(request: Request) -> Response:
    """What can be done here, and what is being worked on."""
    return show(request, "home.html", {})
