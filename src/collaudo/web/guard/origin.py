"""Only requests to this server's own names pass, and what changes something must come from its own pages.

A page of another site that finds this server by its address, or by a name of its own that it lets point here,
is refused at the Host; a form or script of another site at the Origin.
"""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

READING = ("GET", "HEAD", "OPTIONS")
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
        host = headers.get("host", "")
        if host_name(host) not in self.hosts:
            return "This server is not asked under that name.", 400
        origin = headers.get("origin")
        if scope["type"] == "websocket":
            return ("", 0) if origin and urlsplit(origin).netloc == host else ("foreign page", 403)
        if scope["method"] in READING:
            return "", 0
        foreign = origin is not None and urlsplit(origin).netloc != host
        if foreign or headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return "Only pages of this server may change something on it.", 403
        return "", 0


def host_name(host: str) -> str:
    """The name in a Host header, without the port."""
    name = host.lower()
    if name.startswith("["):
        return name.partition("]")[0] + "]"
    return name.rpartition(":")[0] if ":" in name else name
