"""Only requests to this server's own names pass, and what changes something must come from its own pages.

A page of another site that finds this server by its address, or by a name of its own that it lets point here,
is refused at the Host; a form or script of another site at the Origin.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

READING = ("GET", "HEAD", "OPTIONS")
OWN_SITE = ("same-origin", "none")
FOREIGN_READER = "Other sites may not use what this server shows."
FOREIGN_WRITER = "Only pages of this server may change something on it."
REFUSED = 4403
"""Code with which a socket of a foreign page is closed."""


class OriginGuard:
    """Refuses foreign hosts and foreign origins, for requests and for sockets."""

    def __init__(self, app: ASGIApp, hosts: Sequence[str]) -> None:
        self.app = app
        self.hosts = frozenset(host.lower() for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        fault, status = self._fault(scope)
        if not fault:
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": REFUSED})
        else:
            await PlainTextResponse(fault, status)(scope, receive, send)

    def _fault(self, scope: Scope) -> tuple[str, int]:
        headers = Headers(scope=scope)
        asked = headers.getlist("host")
        if len(asked) != 1 or host_name(asked[0]) not in self.hosts:
            return "This server is not asked under that name.", 400
        origins = headers.getlist("origin")
        own = len(origins) == 1 and _host_of(origins[0]) == asked[0].lower()
        if scope["type"] == "websocket":
            return ("", 0) if own else ("foreign page", 403)
        site = headers.get("sec-fetch-site", "same-origin")
        if scope["method"] in READING:
            # A link from elsewhere may lead here; nothing of here may be built into a page of elsewhere.
            followed = headers.get("sec-fetch-mode", "navigate") == "navigate"
            return ("", 0) if site in OWN_SITE or followed else (FOREIGN_READER, 403)
        if (origins and not own) or site not in OWN_SITE:
            return FOREIGN_WRITER, 403
        return "", 0


def host_name(host: str) -> str:
    """The name in a Host header, without the port; nothing for what is no host and port."""
    found = re.fullmatch(r"(\[[0-9a-f:.]+\]|[^:@/\[\]\s]+)(:\d{1,5})?", host.lower(), re.ASCII)
    return found[1] if found else ""


def _host_of(origin: str) -> str:
    scheme, _, host = origin.lower().partition("://")
    return host if scheme in ("http", "https") else ""
