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
from collaudo.twin.kernel.rates import rates_here
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work


@inlined
def factorise(per_gamma_h: float, tb: Tables, wk: Work) -> tuple[bool, bool]:
    """Factors of the step's system: whether there are any, and whether they are the sparse ones."""
    build_system(per_gamma_h, tb, wk)
    if eliminate(tb, wk):
        return True, True
    build_system(per_gamma_h, tb, wk)
    return eliminate_pivoting(tb.state_count[0], wk.system, wk.column), False


@inlined
def solve_stage(i: int, sparse: bool, tb: Tables, wk: Work) -> None:
    """Solve for stage ``i`` from the right-hand side in ``wk.right``."""
    if sparse:
        substitute(wk.right, wk.stage[i], tb, wk)
        return
    n = tb.state_count[0]
    substitute_pivoting(n, wk.system, wk.column, wk.right)
    for k in range(n):
        wk.stage[i, k] = wk.right[k]


@inlined
def stage_right(i: int, y: Floats, h: float, method: Method, tb: Tables, md: Mode, wk: Work) -> None:
    """Right-hand side of stage ``i`` into ``wk.right``; the quadratures' rates are kept."""
    n, total = tb.state_count[0], tb.state_count[1]
    if i == 0:
        for k in range(total):
            wk.right[k] = wk.rate[k]
    else:
        for k in range(n):
            wk.stage_y[k] = y[k]
        for j in range(i):
            weight = method.a[i, j]
            if weight != 0.0:
                for k in range(n):
                    wk.stage_y[k] += weight * wk.stage[j, k]
        rates_here(wk.stage_y, wk.right, False, False, tb, md, wk)
    for r in range(n, total):
        wk.stage_quadrature[i, r - n] = wk.right[r]
    per_h = 1.0 / h
    for j in range(i):
        weight = method.c[i, j] * per_h
        if weight != 0.0:
            for k in range(n):
                wk.right[k] += weight * wk.stage[j, k]


@inlined
def add_quadratures(y: Floats, h: float, method: Method, tb: Tables, wk: Work) -> None:
    """Quadratures at the end of the step: their rates at the stages, and what the stages' increments add."""
    n, total = tb.state_count[0], tb.state_count[1]
    for k in range(n):
        wk.dense_y[k] = 0.0
    for i in range(method.m.size):
        for k in range(n):
            wk.dense_y[k] += method.weight[i] * wk.stage[i, k]
    for r in range(n, total):
        along = 0.0
        for k in range(n):
            along += wk.jacobian[r, k] * wk.dense_y[k]
        for i in range(method.m.size):
            along += method.weight[i] * wk.stage_quadrature[i, r - n]
        wk.trial[r] = y[r] + h * along


@compiled
def take_step(y: Floats, h: float, method: Method, tb: Tables, md: Mode, wk: Work) -> bool:
    """Stages and trial state for a step ``h`` from ``y``; ``wk.rate`` and ``wk.jacobian`` hold those at
    ``y``.

    False when the linear system cannot be solved or a stage is not finite.
    """
    n, total = tb.state_count[0], tb.state_count[1]
    solvable, sparse = factorise(1.0 / (method.gamma * h), tb, wk)
    if not solvable:
        return False
    for r in range(n, total):
        wk.stage_y[r] = y[r]
    for i in range(method.m.size):
        stage_right(i, y, h, method, tb, md, wk)
        solve_stage(i, sparse, tb, wk)
    for k in range(n):
        wk.trial[k] = y[k]
        wk.error[k] = 0.0
    for i in range(method.m.size):
        m, e = method.m[i], method.e[i]
        for k in range(n):
            wk.trial[k] += m * wk.stage[i, k]
        if e != 0.0:
            for k in range(n):
                wk.error[k] += e * wk.stage[i, k]
    add_quadratures(y, h, method, tb, wk)
    check = 0.0
    for k in range(total):
        check += abs(wk.trial[k])
    return isfinite(check)


@inlined
def set_scales(y: Floats, tb: Tables, wk: Work) -> None:
    """What each state may miss per unit of relative tolerance while a step is taken from ``y``, after
    `rates_here`. The mass of a full vessel may miss what makes its share of the vessel's own pressure."""
    for k in range(tb.state_count[0]):
        wk.scale[k] = tb.state[k].scale_absolute + abs(y[k]) * tb.state[k].scale_relative
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 1:
            over = max(wk.zone[z].pressure - tb.site[4], 0.0)
            wk.scale[tb.zone[z].mass] += over * tb.zone[z].scale_by_pressure


@inlined
def error_norm(y: Floats, rtol: float, tb: Tables, wk: Work) -> float:
    """Largest error over tolerance of any state: no bad state is averaged away. 1e300 when not finite."""
    worst = 0.0
    for k in range(tb.state_count[0]):
        grown = max(abs(wk.trial[k]) - abs(y[k]), 0.0)
        scale = wk.scale[k] + grown * tb.state[k].scale_relative
        worst = max(worst, abs(wk.error[k]) / (rtol * scale))
    return worst if worst < 1e300 else 1e300


@inlined
def dense_weight(i: int, theta: float, method: Method) -> float:
    """What stage ``i`` weighs at a share ``theta`` of the step."""
    inner = method.dense[0, i] + theta * (method.dense[1, i] + theta * method.dense[2, i])
    return theta * (1.0 - theta) * inner


@compiled
def interpolate(y: Floats, theta: float, method: Method, tb: Tables, wk: Work, out: Floats) -> None:
    """State at a share ``theta`` of the step just taken; quadratures run straight here."""
    n, total = tb.state_count[0], tb.state_count[1]
    for k in range(total):
        out[k] = (1.0 - theta) * y[k] + theta * wk.trial[k]
    for i in range(method.m.size):
        weight = dense_weight(i, theta, method)
        if weight != 0.0:
            for k in range(n):
                out[k] += weight * wk.stage[i, k]


@compiled
def quadrature_within(
    r: int, y: Floats, theta: float, h: float, method: Method, tb: Tables, wk: Work
) -> float:
    """Quadrature ``r`` at a share ``theta`` of the step, by the method's own dense output."""
    n = tb.state_count[0]
    value = (1.0 - theta) * y[r] + theta * wk.trial[r]
    for i in range(method.m.size):
        # wk.error serves as scratch: the increments of this quadrature at the stages
        along = wk.stage_quadrature[i, r - n] * h
        for k in range(n):
            along += wk.jacobian[r, k] * wk.stage[i, k] * h
        for j in range(i):
            along += method.c[i, j] * wk.error[j]
        wk.error[i] = method.gamma * along
        value += dense_weight(i, theta, method) * wk.error[i]
    return value


@compiled
def interpolate_quadratures(
    y: Floats, theta: float, h: float, method: Method, tb: Tables, wk: Work, out: Floats
) -> None:
    """The quadratures too by the method's own dense output, so that what a vessel lost a cup has gained."""
    for r in range(tb.state_count[0], tb.state_count[1]):
        out[r] = quadrature_within(r, y, theta, h, method, tb, wk)
