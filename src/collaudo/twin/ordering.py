"""An order of the states with little fill, and the elimination program that follows from it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from collaudo.twin.kernel.tables import LANES


def least_fill_order(pattern: NDArray[np.bool_]) -> list[int]:
    """Greedy minimum-degree order of a structurally symmetrised pattern (n, n)."""
    n = pattern.shape[0]
    near = [set(np.flatnonzero(pattern[i] | pattern[:, i])) - {i} for i in range(n)]
    left, order = set(range(n)), []
    while left:
        pick = min(left, key=lambda i: (len(near[i]), i))
        order.append(pick)
        left.remove(pick)
        for i in near[pick]:
            near[i] |= near[pick]
            near[i] -= {i, pick}
    return order


def elimination_program(
    pattern: NDArray[np.bool_],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """For a pattern already in order: ``fill_start``, ``fill_row``, ``fill_end`` as the kernel reads them."""
    n = pattern.shape[0]
    fill = pattern | np.eye(n, dtype=bool)
    for k in range(n):
        below = np.flatnonzero(fill[k + 1 :, k]) + k + 1
        fill[below, k + 1 :] |= fill[k, k + 1 :]
    start: list[int] = [0]
    rows: list[int] = []
    ends = np.empty(n, np.int64)
    for k in range(n):
        rows.extend(np.flatnonzero(fill[k + 1 :, k]) + k + 1)
        start.append(len(rows))
        ends[k] = -(-(np.flatnonzero(fill[k]).max() + 1) // LANES) * LANES
    return np.array(start, np.int64), np.array(rows, np.int64), ends
