"""Sparse elimination of the step's linear system, by a program worked out once for each machine.

States are numbered in an order of low fill (``twin.ordering``). For each pivot the program lists the rows that
hold fill, and each row's last column of fill. Rows are worked on in whole blocks of `LANES` columns; the
multipliers are kept apart, so that a block may begin left of the pivot. There is no pivoting: a pivot that
shrinks too far is reported and the step falls back on a dense solve with partial pivoting.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.tables import LANES, Floats, Ints, Tables, Work

# A multiplier beyond this, with every state counted in its own tolerance (kilograms and kelvins do not
# compare), would cost six of sixteen digits.
LARGEST_MULTIPLIER = 1.0e6


@inlined
def build_system(per_gamma_h: float, a: Floats, tb: Tables, wk: Work) -> None:
    """``I / (gamma h) - J`` over the states, into ``a``."""
    n = tb.state_count[0]
    for i in range(n):
        for j in range(n):
            a[i, j] = -wk.jacobian[i, j]
        a[i, i] += per_gamma_h


@inlined
def subtract_row(a: Floats, target: int, source: int, factor: float, begin: int, end: int) -> None:
    """Row ``target`` less ``factor`` times row ``source``, in whole blocks from ``begin`` to ``end``."""
    for j in range(begin, end, LANES):
        b0, b1, b2, b3 = a[source, j], a[source, j + 1], a[source, j + 2], a[source, j + 3]
        c0, c1, c2, c3 = a[target, j], a[target, j + 1], a[target, j + 2], a[target, j + 3]
        a[target, j] = c0 - factor * b0
        a[target, j + 1] = c1 - factor * b1
        a[target, j + 2] = c2 - factor * b2
        a[target, j + 3] = c3 - factor * b3


@inlined
def eliminate(tb: Tables, wk: Work) -> bool:
    """Factors in place; False when a multiplier grows too large or a pivot is not finite."""
    n = tb.state_count[0]
    a = wk.system
    for k in range(n):
        pivot = a[k, k]
        if not abs(pivot) > 1e-300:
            return False
        inverse = 1.0 / pivot
        wk.pivot[k] = inverse
        largest = LARGEST_MULTIPLIER / tb.state[k].scale_absolute
        begin, end = (k + 1) // LANES * LANES, tb.fill_end[k]
        for t in range(tb.fill_start[k], tb.fill_start[k + 1]):
            i = tb.fill_row[t]
            m = a[i, k] * inverse
            if not abs(m) <= largest * tb.state[i].scale_absolute:
                return False
            wk.lower[t] = m
            if m != 0.0:
                subtract_row(a, i, k, m, begin, end)
    return True


@inlined
def substitute(x: Floats, z: Floats, tb: Tables, wk: Work) -> None:
    """Solve with the factors of `eliminate` for the right-hand side ``x`` (spoilt), into ``z``."""
    n = tb.state_count[0]
    a = wk.system
    for k in range(n):
        xk = x[k]
        for t in range(tb.fill_start[k], tb.fill_start[k + 1]):
            x[tb.fill_row[t]] -= wk.lower[t] * xk
    # Blocks that begin left of the diagonal meet noughts there.
    for k in range(z.size):
        z[k] = 0.0
    for k in range(n - 1, -1, -1):
        s0, s1, s2, s3 = 0.0, 0.0, 0.0, 0.0
        for j in range((k + 1) // LANES * LANES, tb.fill_end[k], LANES):
            s0 += a[k, j] * z[j]
            s1 += a[k, j + 1] * z[j + 1]
            s2 += a[k, j + 2] * z[j + 2]
            s3 += a[k, j + 3] * z[j + 3]
        z[k] = (x[k] - ((s0 + s1) + (s2 + s3))) * wk.pivot[k]


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
