"""How long drawings take in a process that is already running, what a snapshot needs left out."""

from __future__ import annotations

import time
from dataclasses import dataclass

from collaudo.bench.explaining.drawings import DRAWN
from collaudo.drawing.draw import draw
from collaudo.machine.load import find_machine, library_ids

REPEATS = 3
ALLOWED_ms = 500.0
"""What a drawing of a machine of the library may take."""


@dataclass(frozen=True)
class Drawing:
    """One drawing of one machine, at rest (``state`` empty) or in a state."""

    machine: str
    of: str
    state: str
    best_ms: float
    """Processor time of the best of `REPEATS`."""


def measure_drawings(machine: str = "", state: str = "") -> list[Drawing]:
    """Every drawing of every machine of the library, or of one; symbols are read before.

    ``state``: drawn in this state, machines that have none such left out; empty: at rest.
    """
    names = [machine] if machine else library_ids()
    return [_drawing(name, of, state) for name in names if _has(name, state) for of in DRAWN]


def _has(machine: str, state: str) -> bool:
    if not state:
        return True
    from collaudo.bench.explaining.states import states_of

    return state in [one.state for one in states_of(machine)]


def _drawing(name: str, of: str, state: str) -> Drawing:
    machine, moment = find_machine(name), None
    if state:
        from collaudo.bench.explaining.states import snapshot_of

        moment = snapshot_of(machine, state)
    times_ms = []
    draw(machine, moment, of)
    for _ in range(REPEATS):
        begun = time.process_time()
        draw(machine, moment, of)
        times_ms.append(1000.0 * (time.process_time() - begun))
    return Drawing(name, of, state, min(times_ms))
