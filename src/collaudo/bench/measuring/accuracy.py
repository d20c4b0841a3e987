"""How far tolerance and number of cells move the readings, against how far sound machines differ."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from collaudo.bench.judging.signatures import builder
from collaudo.checks.course import Taken, course_for, take_all
from collaudo.diagnosis.cache import DRAWS, key_of
from collaudo.diagnosis.signature_set import NO_FAULT
from collaudo.diagnosis.surrogate import load_with_surrogate
from collaudo.machine.load import find_machine
from collaudo.machine.site import home_site

RTOL = 1e-6
SHARE_ALLOWED = 0.1


@dataclass(frozen=True)
class Moved:
    """How far one reading moves; infinitely far where it comes, goes or changes its word."""

    reading: str
    unit: str
    value: float
    by_tolerance: float
    """When the tolerance is halved."""
    by_cells: float
    """When the cells are doubled."""
    spread: float
    """Standard deviation of the reading between sound machines, its own noise included."""
    changed: str = ""
    """What it was, then with half the tolerance, then with twice the cells, where it comes, goes or changes
    its word."""

    @property
    def share(self) -> float:
        """The larger move as a share of the spread."""
        if self.changed:
            return math.inf
        return max(abs(self.by_tolerance), abs(self.by_cells)) / self.spread


def readings_moved(machine: str, progress: Callable[[int, int], None] | None = None) -> list[Moved]:
    """Every number of every check on a sound machine, and every word that changed; worst first."""
    with builder(machine, key_of(machine), progress, sound_only=True) as build:
        found = build(DRAWS)
    signatures, _ = load_with_surrogate(found)
    described = find_machine(machine)
    course = course_for(described)

    def taken(rtol: float, cell_factor: int) -> Taken:
        return take_all(course, described, home_site(described), rtol=rtol, cell_factor=cell_factor)

    plain, tighter, finer = taken(RTOL, 1), taken(0.5 * RTOL, 1), taken(RTOL, 2)
    sound = signatures.number[signatures.cause_index[NO_FAULT]]
    moved = []
    for r, info in enumerate(signatures.readings):
        values = [a.get(info.id) for a in (plain, tighter, finer)]
        numbers = [value for value in values if isinstance(value, float)]
        if len(numbers) < len(values):
            if len(set(values)) > 1:
                moved.append(Moved(info.id, info.unit, 0.0, 0.0, 0.0, 1.0, ", ".join(map(str, values))))
            continue
        there = np.isfinite(sound[:, r])
        middle = float(np.median(sound[there, r]))
        error = np.hypot(info.noise_sd, info.bias_sd) * (abs(middle) if info.relative else 1.0)
        spread = float(np.hypot(sound[there, r].std(), error))
        moved.append(
            Moved(info.id, info.unit, numbers[0], numbers[1] - numbers[0], numbers[2] - numbers[0], spread)
        )
    return sorted(moved, key=lambda item: -item.share)
