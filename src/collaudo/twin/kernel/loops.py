"""Natural circulation: flows inside a vessel by continuity along its tree, one flow state for each loop."""

from __future__ import annotations

from math import pi, sqrt

from collaudo.compiled import inlined
from collaudo.fluid.water import liquid_viscosity
from collaudo.twin.kernel.tables import Floats, Tables, Work

GRAVITY = 9.80665
# Smooth switch of the upwind side [kg/s]: a hundredth of a slow circulation.
UPWIND_BAND = 1.0e-5
# Reynolds number at which 64/Re meets 0.316 Re^-0.25.
_CROSSING_REYNOLDS = 1187.4


@inlined
def friction_factor_ratio(reynolds: float) -> float:
    """Friction over its laminar value: 1 below, ``(Re / 1187)^0.75`` above (Blasius 0.316 Re^-0.25)."""
    x = reynolds / _CROSSING_REYNOLDS
    if x < 0.5:
        return 1.0
    x3 = x * x * x
    x12 = x3 * x3 * x3 * x3
    return sqrt(sqrt(sqrt(sqrt(1.0 + x12))))


@inlined
def edge_drop(
    f: float, linear: float, quadratic: float, bore: float, rho: float, mu: float
) -> tuple[float, float]:
    """Pressure lost [Pa] by a mass flow ``f`` [kg/s] along an edge, and its derivative."""
    ratio = 1.0
    if bore > 0.0:
        ratio = friction_factor_ratio(4.0 * abs(f) / (pi * bore * mu))
    straight = linear * mu / rho * ratio
    fitting = quadratic / rho
    r2 = ratio * ratio
    turbulent = 0.75 * (1.0 - 1.0 / (r2 * r2 * r2 * r2 * r2 * r2 * r2 * r2))
    return straight * f + fitting * f * abs(f), straight * (1.0 + turbulent) + 2.0 * fitting * abs(f)


@inlined
def gas_block(loop: int, tb: Tables, wk: Work) -> float:
    """Factor on the loop's friction by gas gathered in its top cell: an air lock stalls it."""
    z = tb.cell[tb.loop[loop].start].zone
    free = wk.zone[z].gas_volume - tb.zone[z].gas_floor * tb.zone[z].volume
    share = min(max(free / tb.loop[loop].top_volume, 0.0), 0.98)
    ratio = share / (1.0 - share)
    return 1.0 + tb.loop[loop].gas_block * ratio * ratio


@inlined
def loop_acceleration(loop: int, y: Floats, tb: Tables, wk: Work) -> tuple[float, float]:
    """Rate of a loop's flow [kg/s2] and its derivative by that flow: buoyancy less friction over inertia."""
    head = 0.0
    for k in range(tb.loop_cell_start[loop], tb.loop_cell_start[loop + 1]):
        head -= GRAVITY * wk.cell[tb.loop_cell[k].cell].rho * tb.loop_cell[k].rise
    chord = tb.loop[loop].end
    mu = liquid_viscosity(wk.temperature[chord])
    lost, by_flow = edge_drop(
        y[tb.loop[loop].state],
        tb.loop[loop].chord_linear,
        tb.loop[loop].chord_quadratic,
        tb.cell[chord].bore,
        wk.cell[chord].rho,
        mu,
    )
    for k in range(tb.loop_edge_start[loop], tb.loop_edge_start[loop + 1]):
        cell = tb.loop_edge[k].cell
        sign = tb.loop_edge[k].sign
        drop, slope = edge_drop(
            wk.cell[cell].edge,
            tb.cell[cell].linear,
            tb.cell[cell].quadratic,
            tb.cell[cell].bore,
            wk.cell[cell].rho,
            mu,
        )
        lost += sign * drop
        by_flow += slope
    factor = gas_block(loop, tb, wk)
    return (head - factor * lost) / tb.loop[loop].inertia, -factor * by_flow / tb.loop[loop].inertia
