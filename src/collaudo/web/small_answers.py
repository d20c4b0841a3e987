"""Answers of the API packed, for tablets on the shop's wireless line: a sheet's answer of 100 kB goes as 20.

Pages are not packed: they hold the form token, and what is packed together with something an outsider chose
can be guessed from its length. The socket has its own way.
"""

from __future__ import annotations

from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send

LEAST_BYTES = 2000
LEVEL = 4
"""Of nine; higher ones take longer than they save."""
SECRET = "/api/token"


class SmallAnswers:
    """Packs what the API answers, where whoever asks can unpack it."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self.packing = GZipMiddleware(app, minimum_size=LEAST_BYTES, compresslevel=LEVEL)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Through the packing for the API, straight on for everything else."""
        path = scope.get("path", "")
        is_api = scope["type"] == "http" and path.startswith("/api/") and path != SECRET
        await (self.packing if is_api else self.app)(scope, receive, send)
