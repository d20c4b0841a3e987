"""What lives as long as the server: its keepers of running machines, of signatures, of findings."""

from __future__ import annotations

import asyncio
import contextlib
from types import TracebackType
from typing import Self

from collaudo.bench.findings.book import FindingsBook
from collaudo.errors import CollaudoError
from collaudo.web.options import Options
from collaudo.web.readiness import Readiness
from collaudo.web.running.keeper import Keeper
from collaudo.web.sound_readiness import SoundReadiness


class Upkeep:
    """Opened when the server starts, closed when it ends."""

    def __init__(self, options: Options) -> None:
        self.options = options
        self.findings = FindingsBook(options.data)
        self.readiness = Readiness(self.findings.words)
        self.running = Keeper(options.data)
        self.sound = SoundReadiness(self.findings.words)

    async def __aenter__(self) -> Self:
        self.findings.warm(self.options.begin_with)
        if self.options.begin_with:
            # Beside everything else: its words take a second to load.
            self._beginning = asyncio.create_task(asyncio.to_thread(self._begin_with))
        return self

    def _begin_with(self) -> None:
        with contextlib.suppress(CollaudoError):  # told when it is asked for
            self.readiness.want(self.options.begin_with)

    async def __aexit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        # At once: each may take a second.
        closing = (self.running.close, self.readiness.close, self.sound.close)
        await asyncio.gather(*(asyncio.to_thread(close) for close in closing))
