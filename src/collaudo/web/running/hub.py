"""What goes out to those who watch a stand: each frame is made once, and only the latest counts; a slow line
skips frames and holds up nobody."""

from __future__ import annotations

import asyncio
import threading
from collections import deque
from collections.abc import Sequence

MOST_NOTES = 200
"""Notes kept for one line; the oldest of more are lost to it."""


class Viewer:
    """One open line. Belongs to the event loop it was made in."""

    def __init__(self) -> None:
        self.loop = asyncio.get_running_loop()
        self._notes: deque[str] = deque(maxlen=MOST_NOTES)
        self._frame = ""
        self._wake = asyncio.Event()

    def put(self, notes: Sequence[str], frame: str = "") -> None:
        """Have notes sent, and this frame unless a later one comes before. In the viewer's own loop."""
        self._notes.extend(notes)
        self._frame = frame or self._frame
        self._wake.set()

    def tell(self, note: str) -> None:
        """Have a note sent, from any thread."""
        _in_loop(self.loop, self.put, [note])

    async def next(self) -> list[str]:
        """What is to be sent next: notes in their order, then the latest frame."""
        await self._wake.wait()
        self._wake.clear()
        found = [*self._notes, *filter(None, [self._frame])]
        self._notes.clear()
        self._frame = ""
        return found


class Hub:
    """Everybody who watches one stand."""

    def __init__(self) -> None:
        self._viewers: dict[asyncio.AbstractEventLoop, list[Viewer]] = {}
        self._lock = threading.Lock()

    @property
    def count(self) -> int:
        """How many watch."""
        with self._lock:
            return sum(map(len, self._viewers.values()))

    def join(self, viewer: Viewer) -> None:
        """Watch from now on."""
        with self._lock:
            self._viewers.setdefault(viewer.loop, []).append(viewer)

    def leave(self, viewer: Viewer) -> None:
        """Watch no longer."""
        with self._lock:
            here = self._viewers.get(viewer.loop, [])
            if viewer in here:
                here.remove(viewer)
            if not here:
                self._viewers.pop(viewer.loop, None)

    def publish(self, notes: Sequence[str], frame: str = "") -> None:
        """Send to all, from any thread: one call into each loop, however many watch."""
        with self._lock:
            loops = list(self._viewers)
        for loop in loops:
            _in_loop(loop, self._deliver, loop, list(notes), frame)

    def _deliver(self, loop: asyncio.AbstractEventLoop, notes: Sequence[str], frame: str) -> None:
        with self._lock:
            viewers = list(self._viewers.get(loop, ()))
        for viewer in viewers:
            viewer.put(notes, frame)


def _in_loop(loop: asyncio.AbstractEventLoop, do: object, *told: object) -> None:
    """Call in a loop; one that is closed has nobody left to tell."""
    try:
        loop.call_soon_threadsafe(do, *told)  # type: ignore[arg-type]
    except RuntimeError:
        if not loop.is_closed():
            raise
