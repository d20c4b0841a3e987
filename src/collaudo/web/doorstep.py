"""The doorstep: the first page stands at once, while all that is behind it is still being loaded.

Loading the twin with its compiler, the catalogues and the diagnosis takes longer than everything else a
start needs. It goes on in a thread; what is asked for meanwhile, but for the first page and the files of
the pages, waits until it is done.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable

from fastapi import FastAPI
from starlette.types import ASGIApp, Receive, Scope, Send

from collaudo.web.application import make_application, make_front
from collaudo.web.options import Options


class Doorstep:
    """The whole application, as soon as it is there. ``ended`` is called where it cannot be loaded."""

    def __init__(
        self,
        options: Options,
        ended: Callable[[], None],
        make: Callable[[Options], FastAPI] = make_application,
    ) -> None:
        self.fault: BaseException | None = None
        """Why it could not be loaded."""
        self._options, self._ended, self._make = options, ended, make
        self._front: ASGIApp = make_front(options)
        self._whole: FastAPI | None = None
        self._there = asyncio.Event()
        self._open = contextlib.AsyncExitStack()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer from the front where that is enough, else when the whole is there."""
        if scope["type"] == "lifespan":
            await self._live(receive, send)
            return
        if self._whole is None and not _stands_in_front(scope):
            await self._there.wait()
        await (self._whole or self._front)(scope, receive, send)

    async def _live(self, receive: Receive, send: Send) -> None:
        await receive()
        loading = asyncio.create_task(self._load())
        await send({"type": "lifespan.startup.complete"})
        await receive()
        loading.cancel()
        await asyncio.gather(loading, return_exceptions=True)
        await self._open.aclose()
        await send({"type": "lifespan.shutdown.complete"})

    async def _load(self) -> None:
        try:
            whole = await asyncio.to_thread(self._make, self._options)
            await self._open.enter_async_context(whole.router.lifespan_context(whole))
            self._whole = whole
        except Exception as fault:
            self.fault = fault
            self._ended()
        finally:
            self._there.set()


def _stands_in_front(scope: Scope) -> bool:
    reading = scope["type"] == "http" and scope["method"] in ("GET", "HEAD")
    return reading and (scope["path"] == "/" or scope["path"].startswith("/static/"))
