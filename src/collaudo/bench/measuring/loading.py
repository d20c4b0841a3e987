"""How long machine files take to load in a process that is already running."""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass

from collaudo.machine.load import find_machine, library_ids

REPEATS = 9
ALLOWED_ms = 50.0
"""What loading a machine of the library may take."""


@dataclass(frozen=True)
class Loading:
    """Loading of one machine, files it is like included."""

    machine: str
    parts: int
    best_ms: float
    median_ms: float


def measure_loading(machine: str = "") -> list[Loading]:
    """Every machine of the library, or one, loaded again and again; the kinds of part are read before."""
    names = [machine] if machine else library_ids()
    find_machine(names[0])
    return [_loading(name) for name in names]


def _loading(name: str) -> Loading:
    times_ms = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        found = find_machine(name)
        times_ms.append(1000.0 * (time.perf_counter() - begun))
    return Loading(name, len(found.parts), min(times_ms), statistics.median(times_ms))
