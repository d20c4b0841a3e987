"""Rates of all states, and their Jacobian when asked for: continuity, energy, walls, sensors.

State vector: ``state_count`` states that matter to the dynamics (mass deviations, air masses, temperatures,
loop flows, walls, lags, integrals of controllers, hands on pistons), then the quadratures, on which nothing
depends (contents of reservoirs, counts of meters, heat to the room, electric energy). The Jacobian has a row
for each and a column for each state.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.fluid.air import CV_AIR, ZERO_CELSIUS_K
from collaudo.fluid.water import vapour_energy
from collaudo.twin.kernel.carry import carry_all, sum_up, top_of
from collaudo.twin.kernel.closure import close_here
from collaudo.twin.kernel.flows import all_flows
from collaudo.twin.kernel.heat import heat_flows
from collaudo.twin.kernel.loops import chord_flows, loop_rates, tree_flows
from collaudo.twin.kernel.meters import count_volumes
from collaudo.twin.kernel.piston import hand_rates
from collaudo.twin.kernel.regulate import heaters, regulators
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
        wk.jacobian[:] = 0.0


@inlined
def scale_row(row: int, factor: float, n: int, wk: Work) -> None:
    """A row of the Jacobian times ``factor``."""
    values = wk.jacobian[row]
    for k in range(n):
        values[k] *= factor


@inlined
def add_row(target: int, source: int, factor: float, n: int, wk: Work) -> None:
    """A row of the Jacobian plus ``factor`` times another."""
    values, other = wk.jacobian[target], wk.jacobian[source]
    for k in range(n):
        values[k] += factor * other[k]


@inlined
def vessel_rates(z: int, derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Rates of mass, air and temperatures of vessel ``z``; rows of temperatures turn from energies into
    rates."""
    n = tb.state_count[0]
    first, top = tb.zone_first[z], top_of(z, tb)
    gain, air_gain = wk.zone[z].gain, wk.zone[z].air_gain
    mass, air = tb.zone[z].mass, tb.zone[z].air
    dy[mass], dy[air] = gain, air_gain
    at = tb.zone_column_start[z]
    fixed = 0.0
    vapour_rate = wk.vapour_by[at] * gain + wk.vapour_by[at + 1] * air_gain
    for i in range(first, top):
        state = tb.cell[i].state
        stays = tb.cell[i].mass * wk.zone[z].dshrink
        fixed += stays
        per_capacity = 1.0 / (wk.zone[z].shrink * tb.cell[i].mass * wk.heat[i])
        rate = (wk.income[i] - wk.energy[i] * stays * gain) * per_capacity
        dy[state] = rate
        vapour_rate += wk.vapour_by[at + 2 + i - first] * rate
        if derive:
            scale_row(state, per_capacity, n, wk)
            if stays != 0.0:
                add_row(state, mass, -wk.energy[i] * stays * per_capacity, n, wk)
                wk.jacobian[state, state] -= wk.heat[i] * stays * gain * per_capacity
    piston = tb.zone[z].piston
    if piston >= 0:
        vapour_rate += wk.vapour_by[at + 3 + top - first] * dy[tb.piston[piston].state]
    T = wk.temperature[top]
    u_steam, du_steam = vapour_energy(T)
    evaporation = u_steam - wk.energy[top]
    u_air = CV_AIR * (T - ZERO_CELSIUS_K)
    capacity = (
        wk.zone[z].top_mass * wk.heat[top]
        + max(y[air], 0.0) * CV_AIR
        + wk.zone[z].vapour * (du_steam - wk.heat[top])
        + evaporation * wk.vapour_by[at + 2 + top - first]
        + tb.zone[z].metal
    )
    state = tb.cell[top].state
    mass_rate = (1.0 - fixed) * gain
    per_capacity = 1.0 / capacity
    dy[state] = (
        wk.income[top] - wk.energy[top] * mass_rate - u_air * air_gain - evaporation * vapour_rate
    ) * per_capacity
    if not derive:
        return
    by_gain = wk.energy[top] * (1.0 - fixed) + evaporation * wk.vapour_by[at]
    by_air = u_air + evaporation * wk.vapour_by[at + 1]
    row, gain_by, air_by = wk.jacobian[state], wk.jacobian[mass], wk.jacobian[air]
    for k in range(n):
        row[k] = (row[k] - by_gain * gain_by[k] - by_air * air_by[k]) * per_capacity
    if piston >= 0:
        hand = tb.piston[piston].state
        by_hand = evaporation * wk.vapour_by[at + 3 + top - first]
        row[hand] -= by_hand * wk.jacobian[hand, hand] * per_capacity
    for i in range(first, top):
        share = evaporation * wk.vapour_by[at + 2 + i - first] * per_capacity
        if share != 0.0:
            add_row(state, tb.cell[i].state, -share, n, wk)
    # What the capacity follows; warmer there is more vapour in whatever the vapour follows (``denser``, the
    # slope of its density's logarithm), and that slope falls as 1 / T^2 (``bend``).
    own, last = at + 2 + top - first, tb.zone_column_start[z + 1]
    steam_heat = du_steam - wk.heat[top]
    denser, bend = 0.0, 0.0
    if wk.vapour_by[own] > 0.0:
        saturation = wk.zone[z].saturation
        per_both = 1.0 / (saturation * T)
        denser = (wk.zone[z].dsaturation * T - saturation) * per_both
        bend = -2.0 * denser * saturation * per_both * wk.zone[z].vapour
    warming = dy[state] * per_capacity
    row[mass] -= warming * (1.0 - fixed) * wk.heat[top]
    row[air] -= warming * CV_AIR
    for k in range(at, last):
        row[tb.zone_column[k]] -= warming * (steam_heat + evaporation * denser) * wk.vapour_by[k]
    by_T = wk.heat[top] * mass_rate + CV_AIR * air_gain + (steam_heat + evaporation * denser) * vapour_rate
    by_T += dy[state] * (steam_heat * wk.vapour_by[own] + evaporation * bend)
    row[state] -= by_T * per_capacity


@inlined
def reservoir_rates(z: int, dy: Floats, tb: Tables, wk: Work) -> None:
    """What a reservoir receives (quadratures)."""
    dy[tb.zone[z].mass] += wk.zone[z].gain
    dy[tb.zone[z].energy] += wk.income[tb.zone_first[z]]
    dy[tb.zone[z].air] += wk.zone[z].air_gain


@inlined
def wall_rates(derive: bool, dy: Floats, tb: Tables, wk: Work) -> None:
    """Walls; heat that reaches fixed temperatures is booked as given to the room."""
    n = tb.state_count[0]
    cells, walls = tb.cell.size, tb.wall.size
    for i in range(walls):
        row = tb.wall[i].state
        per_capacity = 1.0 / tb.wall[i].capacity
        dy[row] = wk.income[cells + i] * per_capacity
        if derive:
            scale_row(row, per_capacity, n, wk)
    room = y_room(tb)
    for i in range(cells + walls, cells + walls + tb.fixed_temperature.size):
        dy[room] += wk.income[i]


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


@inlined
def rates_here(
    y: Floats, dy: Floats, derive: bool, turning: bool, tb: Tables, md: Mode, wk: Work
) -> None:
    """Rates ``dy`` of ``y``; with ``derive`` also ``wk.jacobian``; with ``turning`` the ways of all flows are
    fixed anew, which hold until they are next."""
    close_here(y, derive, tb, wk)
    all_flows(turning, tb, md, wk)
    clear(derive, tb, wk)
    dy[tb.state_count[0] :] = 0.0
    carry_all(derive, tb, wk)
    chord_flows(derive, y, tb, wk)
    tree_flows(derive, turning, tb, wk)
    heat_flows(derive, tb, wk)
    regulators(derive, y, dy, tb, md, wk)
    heaters(derive, dy, tb, md, wk)
    count_volumes(derive, dy, tb, wk)
    hand_rates(derive, y, dy, tb, md, wk)
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 1:
            vessel_rates(z, derive, y, dy, tb, wk)
        else:
            reservoir_rates(z, dy, tb, wk)
    loop_rates(derive, y, dy, tb, wk)
    wall_rates(derive, dy, tb, wk)
    lag_rates(derive, y, dy, tb, wk)
    if derive:
        sum_up(tb, wk)


@compiled
def rates(y: Floats, dy: Floats, derive: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """`rates_here` as a function of its own, ways fixed with ``derive``. (To call it hands over a hundred
    tables, which takes as long as a tenth of it.)"""
    rates_here(y, dy, derive, derive, tb, md, wk)


@compiled
def free_rates(y: Floats, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Rates with the ways all flows take at ``y``, for integrators that know nothing of ways."""
    rates_here(y, dy, False, True, tb, md, wk)
