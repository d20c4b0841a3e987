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
def edge_drop(
    f: float, linear: float, quadratic: float, bore: float, per_rho: float, mu: float
) -> tuple[float, float]:
    """Pressure lost [Pa] by a mass flow ``f`` [kg/s] along an edge, and its derivative.

    Friction over its laminar value is 1 below, ``(Re / 1187)^0.75`` above (Blasius 0.316 Re^-0.25).
    """
    size = abs(f)
    straight, fitting = linear * mu * per_rho, quadratic * per_rho
    reach = size * (4.0 / (pi * _CROSSING_REYNOLDS)) / mu
    if reach < 0.5 * bore or bore <= 0.0:
        return straight * f + fitting * f * size, straight + 2.0 * fitting * size
    x = reach / bore
    x3 = x * x * x
    x12 = x3 * x3 * x3 * x3
    straight *= sqrt(sqrt(sqrt(sqrt(1.0 + x12))))
    turbulent = 0.75 * x12 / (1.0 + x12)
    return straight * f + fitting * f * size, straight * (1.0 + turbulent) + 2.0 * fitting * size


@inlined
def gas_block(loop: int, tb: Tables, wk: Work) -> float:
    """Factor on the loop's friction by gas gathered in its top cell: an air lock stalls it."""
    z = tb.cell[tb.loop[loop].start].zone
    free = wk.zone[z].gas_volume - tb.zone[z].gas_floor * tb.zone[z].volume
    share = min(max(free / tb.loop[loop].top_volume, 0.0), 0.98)
    ratio = share / (1.0 - share)
    return 1.0 + tb.loop[loop].gas_block * ratio * ratio


@inlined
def book_warmth(a: int, b: int, f: float, up: int, tb: Tables, wk: Work) -> None:
    """How the energy that ``f`` carries from ``a`` to ``b`` follows the temperature of the cell ``up`` it is
    taken from."""
    col, d = tb.cell[up].state, f * wk.heat[up]
    wk.jacobian[tb.node_row[a], col] -= d
    wk.jacobian[tb.node_row[b], col] += d


@inlined
def chord_flows(derive: bool, y: Floats, tb: Tables, wk: Work) -> None:
    """Flow along each loop's chord: leaves one cell, enters another."""
    for loop in range(tb.loop.size):
        a, b, col = tb.loop[loop].start, tb.loop[loop].end, tb.loop[loop].state
        f = y[col]
        wk.cell[a].source -= f
        wk.cell[b].source += f
        lively = sqrt(f * f + UPWIND_BAND * UPWIND_BAND)
        out, back = 0.5 * (f + lively), 0.5 * (f - lively)
        flux = out * wk.energy[a] + back * wk.energy[b]
        wk.income[a] -= flux
        wk.income[b] += flux
        if derive:
            lean = f / lively
            slope = 0.5 * (1.0 + lean) * wk.energy[a] + 0.5 * (1.0 - lean) * wk.energy[b]
            wk.source_by[a, col] -= 1.0
            wk.source_by[b, col] += 1.0
            wk.jacobian[tb.node_row[a], col] -= slope
            wk.jacobian[tb.node_row[b], col] += slope
            book_warmth(a, b, out, a, tb, wk)
            book_warmth(a, b, back, b, tb, wk)


@inlined
def tree_flows(derive: bool, turning: bool, tb: Tables, wk: Work) -> None:
    """Flows along every vessel's tree, leaves to top, and the energy they carry; with ``turning`` their ways
    are fixed anew."""
    n = tb.state_count[0]
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 0:
            continue
        for i in range(tb.zone_first[z], tb.zone_first[z + 1] - 1):
            parent = tb.cell[i].parent
            stays = tb.cell[i].mass * wk.zone[z].dshrink
            f = wk.cell[i].source - stays * wk.zone[z].gain
            wk.cell[i].edge = f
            wk.cell[parent].source += f
            if turning:
                wk.cell[i].way = 0 if f >= 0.0 else 1
            up = i if wk.cell[i].way == 0 else parent
            flux = f * wk.energy[up]
            wk.income[i] -= flux
            wk.income[parent] += flux
            if not derive:
                continue
            e, row, upper = wk.energy[up], tb.node_row[i], tb.node_row[parent]
            flow_by, passed_by = wk.source_by[i], wk.source_by[parent]
            lost_by, gained_by, gain_by = wk.jacobian[row], wk.jacobian[upper], wk.jacobian[tb.zone[z].mass]
            if stays != 0.0:
                for k in range(n):
                    flow_by[k] -= stays * gain_by[k]
            for k in range(n):
                passed_by[k] += flow_by[k]
            for k in range(n):
                lost_by[k] -= e * flow_by[k]
            for k in range(n):
                gained_by[k] += e * flow_by[k]
            book_warmth(i, parent, f, up, tb, wk)


@inlined
def loop_rates(derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Acceleration of each circulation [kg/s2]: buoyancy less friction over inertia."""
    n = tb.state_count[0]
    for loop in range(tb.loop.size):
        row, chord = tb.loop[loop].state, tb.loop[loop].end
        per_inertia = 1.0 / tb.loop[loop].inertia
        head = 0.0
        for k in range(tb.loop_cell_start[loop], tb.loop_cell_start[loop + 1]):
            cell, rise = tb.loop_cell[k].cell, tb.loop_cell[k].rise
            head -= GRAVITY * wk.rho[cell] * rise
            if derive:
                wk.jacobian[row, tb.cell[cell].state] -= GRAVITY * wk.drho[cell] * rise * per_inertia
        factor = gas_block(loop, tb, wk)
        mu = liquid_viscosity(wk.temperature[chord])
        linear, quadratic = tb.loop[loop].chord_linear, tb.loop[loop].chord_quadratic
        lost, slope = edge_drop(y[row], linear, quadratic, tb.cell[chord].bore, wk.per_rho[chord], mu)
        if derive:
            wk.jacobian[row, row] -= factor * slope * per_inertia
        for k in range(tb.loop_edge_start[loop], tb.loop_edge_start[loop + 1]):
            cell, sign = tb.loop_edge[k].cell, tb.loop_edge[k].sign
            linear, quadratic = tb.cell[cell].linear, tb.cell[cell].quadratic
            drop, slope = edge_drop(
                wk.cell[cell].edge, linear, quadratic, tb.cell[cell].bore, wk.per_rho[cell], mu
            )
            lost += sign * drop
            if derive:
                weight = factor * slope * sign * per_inertia
                row_by, flow_by = wk.jacobian[row], wk.source_by[cell]
                for c in range(n):
                    row_by[c] -= weight * flow_by[c]
        dy[row] = (head - factor * lost) * per_inertia
