"""One Rosenbrock step, its error and its dense output."""

from __future__ import annotations

from math import isfinite

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.elimination import (
    build_system,
    eliminate,
    eliminate_pivoting,
    substitute,
    substitute_pivoting,
)
from collaudo.twin.kernel.methods import Method
from collaudo.twin.kernel.rates import rates
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work


@inlined
def solve_stage(i: int, h: float, gamma: float, direct: bool, tb: Tables, wk: Work) -> None:
    """Solve for stage ``i`` from the right-hand side in ``wk.right``; quadratures follow from their rows."""
    n, total = tb.state_count[0], tb.state_count[1]
    if direct:
        substitute(wk.right, tb, wk)
    else:
        substitute_pivoting(n, wk.system, wk.column, wk.right)
    for k in range(n):
        wk.stage[i, k] = wk.right[k]
    for r in range(n, total):
        along = wk.right[r]
        for k in range(n):
            along += wk.jacobian[r, k] * wk.right[k]
        wk.stage[i, r] = along * gamma * h


@compiled
def take_step(y: Floats, h: float, method: Method, tb: Tables, md: Mode, wk: Work) -> bool:
    """Stages and trial state for a step ``h`` from ``y``; ``wk.rate`` and ``wk.jacobian`` hold those at
    ``y``.

    False when the linear system cannot be solved or a stage is not finite.
    """
    n, total = tb.state_count[0], tb.state_count[1]
    build_system(1.0 / (method.gamma * h), tb, wk)
    direct = eliminate(tb, wk)
    if not direct:
        build_system(1.0 / (method.gamma * h), tb, wk)
        if not eliminate_pivoting(n, wk.system, wk.column):
            return False
    per_h = 1.0 / h
    for i in range(method.m.size):
        if i > 0:
            for k in range(total):
                wk.stage_y[k] = y[k]
            for j in range(i):
                weight = method.a[i, j]
                if weight != 0.0:
                    for k in range(total):
                        wk.stage_y[k] += weight * wk.stage[j, k]
            rates(wk.stage_y, wk.right, False, tb, md, wk)
            for j in range(i):
                weight = method.c[i, j] * per_h
                if weight != 0.0:
                    for k in range(total):
                        wk.right[k] += weight * wk.stage[j, k]
        else:
            for k in range(total):
                wk.right[k] = wk.rate[k]
        solve_stage(i, h, method.gamma, direct, tb, wk)
    for k in range(total):
        wk.trial[k] = y[k]
        wk.error[k] = 0.0
    for i in range(method.m.size):
        m, e = method.m[i], method.e[i]
        for k in range(total):
            wk.trial[k] += m * wk.stage[i, k]
        if e != 0.0:
            for k in range(n):
                wk.error[k] += e * wk.stage[i, k]
    check = 0.0
    for k in range(total):
        check += abs(wk.trial[k])
    return isfinite(check)


@inlined
def error_norm(y: Floats, rtol: float, tb: Tables, wk: Work) -> float:
    """Largest error over tolerance of any state: no bad state is averaged away. 1e300 when not finite."""
    worst = 0.0
    for k in range(tb.state_count[0]):
        scale = rtol * (
            tb.state[k].scale_absolute + max(abs(y[k]), abs(wk.trial[k])) * tb.state[k].scale_relative
        )
        worst = max(worst, abs(wk.error[k]) / scale)
    return worst if worst < 1e300 else 1e300


@compiled
def interpolate(y: Floats, theta: float, method: Method, total: int, wk: Work, out: Floats) -> None:
    """State at a share ``theta`` of the step just taken."""
    rest = 1.0 - theta
    for k in range(total):
        out[k] = rest * y[k] + theta * wk.trial[k]
    for i in range(method.m.size):
        weight = (
            theta * rest * (method.dense[0, i] + theta * (method.dense[1, i] + theta * method.dense[2, i]))
        )
        if weight != 0.0:
            for k in range(total):
                out[k] += weight * wk.stage[i, k]
