"""The pass phrase that is asked for where other computers may ask: nothing is shown before it was given."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import secrets
import time
from collections import deque

from starlette.requests import HTTPConnection
from starlette.responses import JSONResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

COOKIE = "bench_pass"
ENTRY = "/enter"
FREE = (ENTRY, "/static/")
"""What is shown to everybody: the page that asks, and how it looks."""
CLOSED = 4401
LASTS_s = 30 * 24 * 3600
TRIES, WITHIN_s = 8, 60.0
"""So many wrong phrases in so long, then nobody is let in for a while."""


class Door:
    """Knows the phrase, and who has given it. A pass is signed with the phrase: a new one ends all passes."""

    def __init__(self, phrase: str) -> None:
        self._phrase = phrase
        self._key = hashlib.scrypt(phrase.encode(), salt=b"bench pass", n=2**14, r=8, p=1) if phrase else b""
        self._wrong: deque[float] = deque(maxlen=TRIES)

    @property
    def locked(self) -> bool:
        """Whether a phrase is asked for at all."""
        return bool(self._phrase)

    async def try_phrase(self, phrase: str) -> str:
        """A pass for the right phrase, else nothing; after many wrong ones it takes no more for a while."""
        now = time.monotonic()
        if len(self._wrong) == TRIES and now - self._wrong[0] < WITHIN_s:
            raise TooManyTries(WITHIN_s - (now - self._wrong[0]))
        if hmac.compare_digest(phrase.strip().encode(), self._phrase.encode()):
            return self._pass(int(time.time()) + LASTS_s, secrets.token_hex(8))
        self._wrong.append(now)
        await asyncio.sleep(0.3)
        return ""

    def is_pass(self, text: str) -> bool:
        """Whether a pass was given here and still holds."""
        until, _, rest = text.partition(".")
        number, _, _ = rest.partition(".")
        if not until.isascii() or not until.isdigit() or len(until) > 12:
            return False
        return hmac.compare_digest(text.encode(), self._pass(int(until), number).encode()) and (
            int(until) > time.time()
        )

    def _pass(self, until_s: int, number: str) -> str:
        said = f"{until_s}.{number}"
        return f"{said}.{hmac.new(self._key, said.encode(), hashlib.sha256).hexdigest()}"


class TooManyTries(Exception):
    """Wrong phrases came too fast."""

    def __init__(self, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__(f"wait {wait_s:.0f} s")


class DoorGuard:
    """Lets only those through who have a pass."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app, self.door = app, door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or send whoever asks to the door."""
        if scope["type"] not in ("http", "websocket") or not self.door.locked or self._may(scope):
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": CLOSED})
        elif scope["path"].startswith("/api/"):
            told = {"problems": [{"message": "the pass phrase was not given", "remedy": f"see {ENTRY}"}]}
            await JSONResponse(told, 401)(scope, receive, send)
        else:
            await RedirectResponse(ENTRY, 303)(scope, receive, send)

    def _may(self, scope: Scope) -> bool:
        path = str(scope["path"])
        if path == ENTRY or path.startswith(FREE[1]):
            return True
        return self.door.is_pass(HTTPConnection(scope).cookies.get(COOKIE, ""))
