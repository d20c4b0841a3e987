"""An order of the states with little fill, and the elimination program that follows from it."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from collaudo.twin.kernel.tables import LANES

Ints = NDArray[np.int64]

# What one multiplication costs, in units of one among scattered entries: in a block, where a register holds
# `LANES`, and how often a factor is used to solve for each time it is worked out.
BLOCK_COST = 0.1
SOLVES = 6
# A row is worked through as a whole where its list holds at least this share of the stretch it spans.
WHOLE_FROM = 0.4


class Program(NamedTuple):
    """States up to ``tail`` are eliminated one by one: ``lower_row`` lists the rows that hold fill below
    each, ``upper_column`` the columns right of it; where they leave few gaps ``whole_end`` is the end of the
    stretch they span, else 0. The rest, nearly full by then, is inverted as a block."""

    lower_start: Ints
    lower_row: Ints
    upper_start: Ints
    upper_column: Ints
    whole_end: Ints
    tail: int


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


def ordered_program(pattern: NDArray[np.bool_]) -> tuple[list[int], Program]:
    """Order and elimination program of a pattern; worked out once for each pattern."""
    return _ordered_program(pattern.shape[0], np.packbits(pattern).tobytes())


@lru_cache(maxsize=64)
def _ordered_program(n: int, bits: bytes) -> tuple[list[int], Program]:
    pattern = np.unpackbits(np.frombuffer(bits, np.uint8), count=n * n).reshape(n, n).astype(bool)
    order = least_fill_order(pattern)
    order = _tail_sorted(order, elimination_program(pattern[np.ix_(order, order)]))
    return order, elimination_program(pattern[np.ix_(order, order)])


def _tail_sorted(order: list[int], program: Program) -> list[int]:
    """The same order but for the tail, where it is free: what most rows before it reach comes first, so that
    those rows have few gaps."""
    reached = np.zeros(len(order))
    for k in range(program.tail):
        rows = program.lower_start[k + 1] - program.lower_start[k]
        reached[program.upper_column[program.upper_start[k] : program.upper_start[k + 1]]] += rows
    tail = sorted(range(program.tail, len(order)), key=lambda k: -reached[k])
    return order[: program.tail] + [order[k] for k in tail]


def _whole_end(k: int, columns: Ints) -> int:
    """End of the stretch of row ``k`` from its pivot on, 0 where it is mostly gaps."""
    if len(columns) < LANES:
        return 0
    end = int(columns[-1]) + 1
    return end if len(columns) >= WHOLE_FROM * (end - k - 1) else 0


def padded(count: int) -> int:
    """``count`` rounded up to whole registers."""
    return -(-count // LANES) * LANES


def elimination_program(pattern: NDArray[np.bool_]) -> Program:
    """The program for a pattern already in order, with its tail where work is least."""
    n = pattern.shape[0]
    fill = pattern | np.eye(n, dtype=bool)
    rows, columns = [], []
    for k in range(n):
        below = np.flatnonzero(fill[k + 1 :, k]) + k + 1
        right = np.flatnonzero(fill[k, k + 1 :]) + k + 1
        fill[np.ix_(below, right)] = True
        rows.append(below)
        columns.append(right)
    scattered = [len(r) * len(c) + SOLVES * (len(r) + len(c)) for r, c in zip(rows, columns, strict=True)]
    spent = np.concatenate([[0.0], np.cumsum(scattered)])
    sizes = np.array([padded(n - k) for k in range(n + 1)], float)
    tail = int(np.argmin(spent + BLOCK_COST * (sizes**3 + SOLVES * sizes**2)))
    return Program(
        np.cumsum([0, *(len(r) for r in rows[:tail])]),
        np.concatenate([*rows[:tail], np.zeros(0, np.int64)]).astype(np.int64),
        np.cumsum([0, *(len(c) for c in columns[:tail])]),
        np.concatenate([*columns[:tail], np.zeros(0, np.int64)]).astype(np.int64),
        np.array([_whole_end(k, columns[k]) for k in range(tail)], np.int64),
        tail,
    )
