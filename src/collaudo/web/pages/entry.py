"""The door: where the pass phrase is given."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from collaudo.web.asking.pages import show
from collaudo.web.guard.door import COOKIE, ENTRY, LASTS_s, TooManyTries

router = APIRouter(include_in_schema=False)


@router.get(ENTRY)
async def asked(request: Request) -> Response:
    """The page that asks; where no phrase is asked for, the bench."""
    if not request.app.state.door.locked:
        return RedirectResponse("/", 303)
    return show(request, "enter.html", {"said": ""})


@router.post(ENTRY)
async def given(request: Request, phrase: Annotated[str, Form(max_length=200)]) -> Response:
    """In with the right phrase."""
    try:
        pass_text = await request.app.state.door.try_phrase(phrase)
    except TooManyTries as fault:
        said = f"Too many wrong phrases. Try again in {fault.wait_s:.0f} s."
        return show(request, "enter.html", {"said": said}, 429)
    if not pass_text:
        return show(request, "enter.html", {"said": "That is not the phrase."}, 403)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(COOKIE, pass_text, max_age=LASTS_s, httponly=True, samesite="strict", path="/")
    return answer
