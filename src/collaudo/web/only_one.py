"""One server for one data folder: two would write over each other's findings."""

from __future__ import annotations

import contextlib
from pathlib import Path
from types import TracebackType
from typing import Self

from filelock import FileLock, Timeout

LOCK, ADDRESS = "bench.lock", "bench.address"


class InUse(Exception):
    """Another server has the folder."""

    def __init__(self, address: str) -> None:
        self.address = address
        """Where it listens, as far as it has said so."""
        super().__init__(address)


class OnlyOne:
    """Holds a data folder while the server runs. The lock is the operating system's, so that it is free again
    however the server ended."""

    def __init__(self, folder: Path) -> None:
        self._address = folder / ADDRESS
        self._lock = FileLock(folder / LOCK)

    def __enter__(self) -> Self:
        self._address.parent.mkdir(parents=True, exist_ok=True)
        try:
            self._lock.acquire(timeout=0)
        except Timeout:
            raise InUse(self._there()) from None
        self._forget()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._forget()
        self._lock.release()

    def tell(self, address: str) -> None:
        """Leave word for whoever comes second."""
        with contextlib.suppress(OSError):  # it is a courtesy
            self._address.write_text(address, encoding="ascii")

    def _there(self) -> str:
        try:
            text = self._address.read_text(encoding="ascii").strip()
        except (OSError, UnicodeDecodeError):
            return ""
        port = text.removeprefix("http://localhost:")
        return text if port != text and port.isdigit() else ""

    def _forget(self) -> None:
        with contextlib.suppress(OSError):
            self._address.unlink(missing_ok=True)
