"""Form tokens: what changes something must show a token that only pages of this server could read.

The token lies in a cookie that no script can read, and in every page; a request brings it back in the header
``X-Form-Token`` or the field ``form_token``, and the two must be the same. Other programs ask
``/api/token`` for one.
"""

from __future__ import annotations

import secrets

from fastapi import HTTPException, Request
from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collaudo.web.guard.origin import READING

COOKIE = "form_token"
HEADER = "X-Form-Token"
FIELD = "form_token"
FORM = "application/x-www-form-urlencoded"


class FormTokens:
    """Gives every visitor a token."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with ``request.state.form_token``, and set the cookie where there was none."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        there = Request(scope).cookies.get(COOKIE, "")
        token = there if _is_token(there) else secrets.token_urlsafe(24)
        scope.setdefault("state", {})["form_token"] = token

        async def send_with(message: Message) -> None:
            if message["type"] == "http.response.start" and token != there:
                cookie = f"{COOKIE}={token}; Path=/; HttpOnly; SameSite=Strict"
                MutableHeaders(scope=message).append("Set-Cookie", cookie)
            await send(message)

        await self.app(scope, receive, send_with)


async def own_form(connection: HTTPConnection) -> None:
    """A dependency of the whole application: refuses what changes something without the token.

    Sockets have no token: their origin was looked at, and a page of another site cannot make that up.
    """
    if not isinstance(connection, Request) or connection.method in READING:
        return
    request = connection
    shown = request.headers.get(HEADER, "")
    if not shown and request.headers.get("content-type", "").startswith(FORM):
        shown = str((await request.form()).get(FIELD, ""))
    there = request.cookies.get(COOKIE, "")
    if not there or not secrets.compare_digest(shown.encode(), there.encode()):
        raise HTTPException(403, "The form token is missing or old: load the page again, then repeat.")


def _is_token(text: str) -> bool:
    return len(text) == 32 and text.replace("-", "").replace("_", "").isalnum() and text.isascii()
