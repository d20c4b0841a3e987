"""What a running machine has shown: the last minutes finely, the last hours coarsely, never more memory."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
TIERS_s = (0.2, 2.4, 24.0)
"""Least time between two kept moments: five minutes, an hour, ten hours at `KEPT` moments each."""
ROUNDING_s = 1e-6
KEPT = 1500
"""Moments of each tier; a screen has no more points across."""


@dataclass(frozen=True)
class Strip:
    """Some values over time; all are equally long."""

    t: list[float]
    values: dict[str, list[float]]


class _Ring:
    """The latest moments, at least ``apart_s`` apart."""

    def __init__(self, apart_s: float, width: int) -> None:
        self.apart_s = apart_s
        self._time_s = np.zeros(KEPT)
        self._rows = np.zeros((KEPT, width), np.float32)
        self._next = self._count = 0

    def add(self, time_s: float, values: Floats) -> None:
        """Keep a moment, the oldest making room."""
        self._time_s[self._next], self._rows[self._next] = time_s, values
        self._next = (self._next + 1) % KEPT
        self._count = min(self._count + 1, KEPT)

    def order(self) -> NDArray[np.int64]:
        """Places of all that is kept, the oldest first."""
        return (np.arange(self._count) + self._next - self._count) % KEPT

    @property
    def last_s(self) -> float:
        """Time of the latest moment; minus infinity where none is kept."""
        return float(self._time_s[(self._next - 1) % KEPT]) if self._count else -np.inf

    def after(self, time_s: float) -> NDArray[np.int64]:
        """Places of what is younger."""
        order = self.order()
        return order[self._time_s[order] > time_s]

    def forget_after(self, time_s: float) -> None:
        """Forget what is younger."""
        gone = int(self.after(time_s).size)
        self._next = (self._next - gone) % KEPT
        self._count -= gone

    def read(self, places: NDArray[np.int64], column: int) -> NDArray[np.float32]:
        """One value at some places."""
        found: NDArray[np.float32] = self._rows[places, column]
        return found

    def times(self, places: NDArray[np.int64]) -> Floats:
        """Times at some places."""
        found: Floats = self._time_s[places]
        return found


class History:
    """All values of one machine over its own time."""

    def __init__(self, names: list[str]) -> None:
        self._column = {name: n for n, name in enumerate(names)}
        self._rings = [_Ring(apart_s, len(names)) for apart_s in TIERS_s]

    @property
    def names(self) -> list[str]:
        """What is kept."""
        return list(self._column)

    def due(self, times_s: Floats) -> NDArray[np.int64]:
        """Which of some moments, in order of time, would be kept in the finest tier."""
        found, last = [], self._rings[0].last_s
        for n, time_s in enumerate(times_s.tolist()):
            if time_s >= last + TIERS_s[0] - ROUNDING_s:
                found.append(n)
                last = time_s
        return np.array(found, np.int64)

    def add(self, time_s: float, values: Floats) -> None:
        """Keep a moment where it is far enough from the last one."""
        for ring in self._rings:
            if time_s >= ring.last_s + ring.apart_s - ROUNDING_s:
                ring.add(time_s, values)

    def forget_after(self, time_s: float) -> None:
        """Forget what is younger than a moment gone back to."""
        for ring in self._rings:
            ring.forget_after(time_s)

    def read(self, names: list[str], since_s: float) -> Strip:
        """Values since a time, at most `KEPT` moments: as fine as what is kept reaches back."""
        begins = [
            float(ring.times(ring.order()[:1])[0]) if ring.order().size else np.inf for ring in self._rings
        ]
        pieces: list[tuple[_Ring, NDArray[np.int64]]] = []
        until = np.inf
        for ring, begin in zip(self._rings, begins, strict=True):
            places = ring.after(since_s)
            places = places[ring.times(places) < until]
            pieces.insert(0, (ring, places))
            until = min(until, begin)
            if until <= since_s:
                break
        times = np.concatenate([ring.times(places) for ring, places in pieces])
        step = max(-(-times.size // KEPT), 1)
        kept = slice((times.size - 1) % step, None, step) if times.size else slice(0)
        found = {
            name: np.concatenate([ring.read(places, self._column[name]) for ring, places in pieces])[kept]
            for name in names
        }
        return Strip(
            [round(t, 3) for t in times[kept].tolist()],
            {name: [round(float(x), 4) + 0.0 for x in values] for name, values in found.items()},
        )
