"""Elimination of the step's linear system, by a program worked out once for each machine.

States are numbered in an order of low fill (``twin.ordering``). The first of them have few neighbours and
are eliminated one by one along lists, or along whole stretches of a row where those lists have few gaps.
What remains is nearly full and is inverted as one block of whole
registers: its solutions are then mere products, of which each step needs many. There is no pivoting: a pivot
that shrinks too far is reported and the step falls back on a dense solve with partial pivoting.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.tables import Floats, Ints, Tables, Work

# A multiplier beyond this, with every state counted in its own tolerance (kilograms and kelvins do not
# compare), would cost six of sixteen digits.
LARGEST_MULTIPLIER = 1.0e6
# So would a pivot of which elimination has left less than this share.
SMALLEST_PIVOT_LEFT = 1.0e-8


@inlined
def build_system(per_gamma_h: float, tb: Tables, wk: Work) -> None:
    """``I / (gamma h) - J`` over the states."""
    n = tb.state_count[0]
    for i in range(n):
        row, slopes = wk.system[i], wk.jacobian[i]
        for j in range(n):
            row[j] = -slopes[j]
        row[i] += per_gamma_h


@inlined
def eliminate_scattered(tb: Tables, wk: Work) -> bool:
    """Eliminate the states before the tail; False when a multiplier grows too large or is not finite."""
    a = wk.system
    for k in range(tb.tail[0]):
        pivot = a[k, k]
        if not abs(pivot) > 1e-300:
            return False
        inverse = 1.0 / pivot
        wk.pivot[k] = inverse
        end, pivot_row = tb.whole_end[k], a[k]
        for u in range(tb.upper_start[k], tb.upper_start[k + 1]):
            wk.upper[u] = pivot_row[tb.upper_column[u]]
        largest = LARGEST_MULTIPLIER / tb.state[k].scale_absolute
        for t in range(tb.lower_start[k], tb.lower_start[k + 1]):
            i = tb.lower_row[t]
            m = a[i, k] * inverse
            if not abs(m) <= largest * tb.state[i].scale_absolute:
                return False
            wk.lower[t] = m
            if m == 0.0:
                continue
            row = a[i]
            if end > 0:
                for j in range(k + 1, end):
                    row[j] -= m * pivot_row[j]
            else:
                for u in range(tb.upper_start[k], tb.upper_start[k + 1]):
                    row[tb.upper_column[u]] -= m * wk.upper[u]
    return True


@inlined
def invert_tail(tb: Tables, wk: Work) -> bool:
    """Invert what is left, by Gauss and Jordan; False when a pivot shrinks too far.

    Row and column of the pivot are set aside: a register's worth of numbers cannot be read soon after one of
    them has been written.
    """
    n, begin, size = tb.state_count[0], tb.tail[0], tb.tail[1]
    rest = n - begin
    for i in range(size):
        row = wk.block[i]
        for j in range(rest, size):
            row[j] = 0.0
        if i < rest:
            left = wk.system[begin + i]
            for j in range(rest):
                row[j] = left[begin + j]
        else:
            for j in range(rest):
                row[j] = 0.0
            row[i] = 1.0
    aside, beside = wk.block_row, wk.block_column
    for k in range(size):
        pivot_row = wk.block[k]
        pivot = pivot_row[k]
        whole = wk.system[begin + k, begin + k] if k < rest else 1.0
        if not abs(pivot) > SMALLEST_PIVOT_LEFT * abs(whole):
            return False
        inverse = 1.0 / pivot
        for j in range(size):
            aside[j] = pivot_row[j] * inverse
        aside[k] = inverse
        for i in range(size):
            beside[i] = wk.block[i, k]
        for i in range(size):
            row, m = wk.block[i], beside[i]
            for j in range(size):
                row[j] -= m * aside[j]
        for i in range(size):
            wk.block[i, k] = -beside[i] * inverse
        for j in range(size):
            pivot_row[j] = aside[j]
    return True


@inlined
def eliminate(tb: Tables, wk: Work) -> bool:
    """Work out the factors; False when they would lose digits."""
    return eliminate_scattered(tb, wk) and invert_tail(tb, wk)


@inlined
def substitute(x: Floats, z: Floats, tb: Tables, wk: Work) -> None:
    """Solve with the factors of `eliminate` for the right-hand side ``x`` (spoilt), into ``z``."""
    begin = tb.tail[0]
    for k in range(begin):
        xk = x[k]
        for t in range(tb.lower_start[k], tb.lower_start[k + 1]):
            x[tb.lower_row[t]] -= wk.lower[t] * xk
    rest = tb.state_count[0] - begin
    tail = x[begin : begin + rest]
    for i in range(rest):
        row, total = wk.block[i], 0.0
        for j in range(rest):
            total += row[j] * tail[j]
        z[begin + i] = total
    for k in range(begin - 1, -1, -1):
        total = x[k]
        if tb.whole_end[k] > 0:
            row = wk.system[k]
            for j in range(k + 1, tb.whole_end[k]):
                total -= row[j] * z[j]
        else:
            for u in range(tb.upper_start[k], tb.upper_start[k + 1]):
                total -= wk.upper[u] * z[tb.upper_column[u]]
        z[k] = total * wk.pivot[k]


@compiled
def eliminate_pivoting(n: int, a: Floats, pivots: Ints) -> bool:
    """Dense LU with partial pivoting in place; False for a singular matrix."""
    for k in range(n):
        best = k
        for i in range(k + 1, n):
            if abs(a[i, k]) > abs(a[best, k]):
                best = i
        pivots[k] = best
        if not abs(a[best, k]) > 0.0:
            return False
        if best != k:
            for j in range(n):
                a[k, j], a[best, j] = a[best, j], a[k, j]
        for i in range(k + 1, n):
            m = a[i, k] / a[k, k]
            a[i, k] = m
            for j in range(k + 1, n):
                a[i, j] -= m * a[k, j]
    return True


@compiled
def substitute_pivoting(n: int, a: Floats, pivots: Ints, x: Floats) -> None:
    """Solve with the factors of `eliminate_pivoting`, in place."""
    for k in range(n):
        best = pivots[k]
        if best != k:
            x[k], x[best] = x[best], x[k]
    for k in range(n):
        for i in range(k + 1, n):
            x[i] -= a[i, k] * x[k]
    for k in range(n - 1, -1, -1):
        total = x[k]
        for j in range(k + 1, n):
            total -= a[k, j] * x[j]
        x[k] = total / a[k, k]
