"""Rates of all states, and their Jacobian when asked for: continuity, energy, walls, sensors.

State vector: ``state_count`` states that matter to the dynamics (mass deviations, air masses, temperatures,
loop flows, walls, lags), then the quadratures, on which nothing depends (contents of reservoirs, heat to the
room, electric energy). The Jacobian has a row for each and a column for each state.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.fluid.air import CV_AIR, ZERO_CELSIUS_K
from collaudo.fluid.water import vapour_energy
from collaudo.twin.kernel.carry import carry_all, sum_up, top_of
from collaudo.twin.kernel.closure import close
from collaudo.twin.kernel.flows import all_flows
from collaudo.twin.kernel.heat import heat_flows
from collaudo.twin.kernel.loops import chord_flows, loop_rates, tree_flows
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work


@inlined
def clear(derive: bool, tb: Tables, wk: Work) -> None:
    """Empty the books."""
    for i in range(tb.cell.size):
        wk.cell[i].source = 0.0
    for i in range(wk.income.size):
        wk.income[i] = 0.0
    for z in range(tb.zone.size):
        wk.zone[z].gain = 0.0
        wk.zone[z].air_gain = 0.0
    if derive:
        wk.source_by[:] = 0.0
        wk.income_by[:] = 0.0
        wk.gain_by[:] = 0.0
        wk.air_by[:] = 0.0
        wk.jacobian[:] = 0.0


@inlined
def vessel_rates(z: int, derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Rates of mass, air and temperatures of vessel ``z``."""
    n = tb.state_count[0]
    first, top = tb.zone_first[z], top_of(z, tb)
    gain, air_gain = wk.zone[z].gain, wk.zone[z].air_gain
    row = tb.zone[z].mass
    dy[row] = gain
    if derive:
        for k in range(n):
            wk.jacobian[row, k] = wk.gain_by[z, k]
    has_air = tb.zone[z].air >= 0
    at = tb.zone_column_start[z]
    cells = at + 1
    if has_air:
        cells += 1
        dy[tb.zone[z].air] = air_gain
        if derive:
            for k in range(n):
                wk.jacobian[tb.zone[z].air, k] = wk.air_by[z, k]
    fixed = 0.0
    vapour_rate = wk.vapour_by[at] * gain
    for i in range(first, top):
        state = tb.cell[i].state
        stays = tb.cell[i].mass * wk.zone[z].dshrink
        fixed += stays
        per_capacity = 1.0 / (wk.zone[z].shrink * tb.cell[i].mass * wk.heat[i])
        rate = (wk.income[i] - wk.energy[i] * stays * gain) * per_capacity
        dy[state] = rate
        vapour_rate += wk.vapour_by[cells + i - first] * rate
        if derive:
            held = wk.energy[i] * stays * per_capacity
            for k in range(n):
                wk.jacobian[state, k] = wk.income_by[i, k] * per_capacity - held * wk.gain_by[z, k]
            wk.jacobian[state, state] -= wk.heat[i] * stays * gain * per_capacity
    last = cells + top - first
    T = wk.temperature[top]
    u_steam, du_steam = vapour_energy(T)
    evaporation = u_steam - wk.energy[top]
    u_air = CV_AIR * (T - ZERO_CELSIUS_K)
    air_mass = max(y[tb.zone[z].air], 0.0) if has_air else 0.0
    capacity = (
        wk.zone[z].top_mass * wk.heat[top]
        + air_mass * CV_AIR
        + wk.zone[z].vapour * (du_steam - wk.heat[top])
        + evaporation * wk.vapour_by[last]
        + tb.zone[z].metal
    )
    wk.zone[z].top_capacity = capacity
    state = tb.cell[top].state
    mass_rate = (1.0 - fixed) * gain
    per_capacity = 1.0 / capacity
    dy[state] = (
        wk.income[top] - wk.energy[top] * mass_rate - u_air * air_gain - evaporation * vapour_rate
    ) * per_capacity
    if not derive:
        return
    by_gain = wk.energy[top] * (1.0 - fixed) + evaporation * wk.vapour_by[at]
    for k in range(n):
        wk.jacobian[state, k] = (
            wk.income_by[top, k] - by_gain * wk.gain_by[z, k] - u_air * wk.air_by[z, k]
        )
    for i in range(first, top):
        share = evaporation * wk.vapour_by[cells + i - first]
        if share != 0.0:
            row = tb.cell[i].state
            for k in range(n):
                wk.jacobian[state, k] -= share * wk.jacobian[row, k]
    wk.jacobian[state, state] -= (
        wk.heat[top] * mass_rate + CV_AIR * air_gain + (du_steam - wk.heat[top]) * vapour_rate
    )
    for k in range(n):
        wk.jacobian[state, k] *= per_capacity


@inlined
def reservoir_rates(z: int, derive: bool, dy: Floats, tb: Tables, wk: Work) -> None:
    """What a reservoir receives (quadratures)."""
    n = tb.state_count[0]
    cell = tb.zone_first[z]
    mass, energy, air = tb.zone[z].mass, tb.zone[z].energy, tb.zone[z].air
    dy[mass] += wk.zone[z].gain
    dy[energy] += wk.income[cell]
    dy[air] += wk.zone[z].air_gain
    if derive:
        for k in range(n):
            wk.jacobian[mass, k] += wk.gain_by[z, k]
            wk.jacobian[energy, k] += wk.income_by[cell, k]
            wk.jacobian[air, k] += wk.air_by[z, k]


@inlined
def wall_rates(derive: bool, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Walls; heat that reaches fixed temperatures is booked as given to the room."""
    n = tb.state_count[0]
    cells, walls = tb.cell.size, tb.wall.size
    for i in range(walls):
        row = tb.wall[i].state
        per_capacity = 1.0 / tb.wall[i].capacity
        dy[row] = wk.income[cells + i] * per_capacity
        if derive:
            for k in range(n):
                wk.jacobian[row, k] = wk.income_by[cells + i, k] * per_capacity
    room = y_room(tb)
    for i in range(cells + walls, cells + walls + tb.fixed_temperature.size):
        dy[room] += wk.income[i]
        if derive:
            for k in range(n):
                wk.jacobian[room, k] += wk.income_by[i, k]
    for k in range(tb.heater.size):
        dy[room + 1] += md.heater_W[k]


@inlined
def y_room(tb: Tables) -> int:
    """Quadrature of the heat given to the room; the next one is the electric energy."""
    return tb.state_count[1] - 2


@inlined
def lag_rates(derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Sensors follow what they feel with a lag: gauge pressure [Pa] of a zone or temperature [K] of a
    node."""
    for k in range(tb.lag.size):
        row, source = tb.lag[k].state, tb.lag[k].index
        rate = 1.0 / tb.lag[k].time
        if tb.lag[k].watch == 1:
            dy[row] = (wk.zone[source].pressure - tb.site[4] - y[row]) * rate
        else:
            dy[row] = (wk.temperature[source] - y[row]) * rate
        if not derive:
            continue
        wk.jacobian[row, row] -= rate
        if tb.lag[k].watch == 1:
            for i in range(tb.zone_column_start[source], tb.zone_column_start[source + 1]):
                wk.jacobian[row, tb.zone_column[i]] += rate * wk.p_by[i]
        elif tb.node_state[source] >= 0:
            wk.jacobian[row, tb.node_state[source]] += rate


@compiled
def rates(y: Floats, dy: Floats, derive: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Rates ``dy`` of ``y``; with ``derive`` also ``wk.jacobian``, and the ways of all flows are fixed anew,
    which hold until the next such call."""
    close(y, derive, tb, wk)
    all_flows(derive, tb, md, wk)
    clear(derive, tb, wk)
    dy[tb.state_count[0] :] = 0.0
    carry_all(derive, tb, wk)
    chord_flows(derive, y, tb, wk)
    tree_flows(derive, tb, wk)
    heat_flows(derive, tb, md, wk)
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 1:
            vessel_rates(z, derive, y, dy, tb, wk)
        else:
            reservoir_rates(z, derive, dy, tb, wk)
    loop_rates(derive, y, dy, tb, wk)
    wall_rates(derive, dy, tb, md, wk)
    lag_rates(derive, y, dy, tb, wk)
    if derive:
        sum_up(tb, wk)
