"""Flow meters: a wheel counts the volume that passes, whichever way and whether water or air."""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.twin.kernel.tables import Floats, Tables, Work


@inlined
def liquid_slopes(m: int, e: int, tb: Tables, wk: Work) -> None:
    """How the volume of liquid counted by meter ``m`` follows the states."""
    s = 2 * e + wk.liquid[e].way
    up_zone, down_zone, up = tb.stream[s].up_zone, tb.stream[s].down_zone, tb.stream[s].up_cell
    row, share = tb.meter[m].state, tb.meter[m].share * wk.per_rho[up]
    by_d = wk.liquid[e].by_d
    by_p = by_d + wk.liquid[e].by_p
    by_level = by_d * wk.liquid[e].head + wk.liquid[e].by_level
    for k in range(tb.zone_column_start[up_zone], tb.zone_column_start[up_zone + 1]):
        d = by_p * wk.p_by[k] + by_level * wk.level_by[k]
        wk.jacobian[row, tb.zone_column[k]] += share * d
    by_level = by_d * wk.liquid[e].down_head
    for k in range(tb.zone_column_start[down_zone], tb.zone_column_start[down_zone + 1]):
        d = by_d * wk.p_by[k] + by_level * wk.level_by[k]
        wk.jacobian[row, tb.zone_column[k]] -= share * d
    if tb.cell[up].state >= 0:
        thinner = wk.liquid[e].by_T - wk.liquid[e].flow * wk.per_rho[up] * wk.drho[up]
        wk.jacobian[row, tb.cell[up].state] += share * thinner
    if wk.liquid[e].by_own != 0.0:
        wk.jacobian[row, tb.cell[tb.zone_first[up_zone + 1] - 1].state] += share * wk.liquid[e].by_own


@inlined
def gas_slopes(m: int, e: int, tb: Tables, wk: Work) -> None:
    """The same for gas."""
    s = 2 * e + wk.gas[e].way
    up_zone, down_zone, up = tb.stream[s].up_zone, tb.stream[s].down_zone, tb.stream[s].up_cell
    per_density = 1.0 / wk.zone[up_zone].gas_density
    row, share = tb.meter[m].state, tb.meter[m].share * per_density
    by_p = wk.gas[e].by_d + wk.gas[e].by_p
    by_density = wk.gas[e].by_own - wk.gas[e].flow * per_density
    for k in range(tb.zone_column_start[up_zone], tb.zone_column_start[up_zone + 1]):
        d = by_p * wk.p_by[k] + wk.gas[e].by_level * wk.level_by[k] + by_density * wk.gas_by[k]
        wk.jacobian[row, tb.zone_column[k]] += share * d
    for k in range(tb.zone_column_start[down_zone], tb.zone_column_start[down_zone + 1]):
        wk.jacobian[row, tb.zone_column[k]] -= share * wk.gas[e].by_d * wk.p_by[k]
    if tb.cell[up].state >= 0:
        wk.jacobian[row, tb.cell[up].state] += share * wk.gas[e].by_T


@inlined
def count_volumes(derive: bool, dy: Floats, tb: Tables, wk: Work) -> None:
    """What every meter counts [m3/s], after `all_flows` (quadratures)."""
    for m in range(tb.meter.size):
        e = tb.meter[m].element
        volume = wk.liquid[e].flow * wk.per_rho[tb.stream[2 * e + wk.liquid[e].way].up_cell]
        gas = wk.gas[e].flow
        if gas != 0.0:
            volume += gas / wk.zone[tb.stream[2 * e + wk.gas[e].way].up_zone].gas_density
        dy[tb.meter[m].state] += tb.meter[m].share * volume
        if derive:
            liquid_slopes(m, e, tb, wk)
            if gas != 0.0:
                gas_slopes(m, e, tb, wk)
