"""What lives as long as the server: its keepers of running machines, of signatures, of findings."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from collaudo.web.options import Options


class Upkeep:
    """Opened when the server starts, closed when it ends."""

    def __init__(self, options: Options) -> None:
        self.options = options

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        pass
