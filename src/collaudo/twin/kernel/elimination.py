"""Sparse elimination of the step's linear system, by a program worked out once for each machine.

States are numbered in an order of low fill (``twin.ordering``). For each pivot the program lists the rows
that
hold fill, and each row's last column of fill; rows themselves are contiguous, so the compiler vectorises the
inner loop. There is no pivoting: a pivot that shrinks too far is reported and the step falls back on a dense
solve with partial pivoting.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.tables import Floats, Ints, Tables, Work

# A multiplier beyond this, with every state counted in its own tolerance (kilograms and kelvins do not
# compare), would cost six of sixteen digits.
LARGEST_MULTIPLIER = 1.0e6


@inlined
def build_system(per_gamma_h: float, tb: Tables, wk: Work) -> None:
    """``I / (gamma h) - J`` over the states."""
    n = tb.state_count[0]
    for i in range(n):
        for j in range(n):
            wk.system[i, j] = -wk.jacobian[i, j]
        wk.system[i, i] += per_gamma_h


@inlined
def eliminate(tb: Tables, wk: Work) -> bool:
    """LU factors in place; False when a multiplier grows too large or a pivot is not finite."""
    n = tb.state_count[0]
    a = wk.system
    for k in range(n):
        pivot = a[k, k]
        if not abs(pivot) > 1e-300:
            return False
        inverse = 1.0 / pivot
        end = tb.fill_end[k]
        for t in range(tb.fill_start[k], tb.fill_start[k + 1]):
            i = tb.fill_row[t]
            m = a[i, k] * inverse
            if not abs(m) * tb.state[k].scale_absolute < LARGEST_MULTIPLIER * tb.state[i].scale_absolute:
                return False
            a[i, k] = m
            if m != 0.0:
                for j in range(k + 1, end):
                    a[i, j] -= m * a[k, j]
    return True


@inlined
def substitute(x: Floats, tb: Tables, wk: Work) -> None:
    """Solve with the factors of `eliminate`, in place."""
    n = tb.state_count[0]
    a = wk.system
    for k in range(n):
        xk = x[k]
        if xk != 0.0:
            for t in range(tb.fill_start[k], tb.fill_start[k + 1]):
                i = tb.fill_row[t]
                x[i] -= a[i, k] * xk
    for k in range(n - 1, -1, -1):
        total = x[k]
        for j in range(k + 1, tb.fill_end[k]):
            total -= a[k, j] * x[j]
        x[k] = total / a[k, k]


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
