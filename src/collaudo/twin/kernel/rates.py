"""Rates of all states, and their Jacobian when asked for: continuity, energy, loops, walls, sensors.

State vector: ``state_count`` states that matter to the dynamics (mass deviations, air masses, temperatures,
loop flows, walls, lags), then the quadratures, on which nothing depends (contents of reservoirs, heat to the
room, electric energy). The Jacobian has a row for each and a column for each state.
"""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import compiled
from collaudo.fluid.air import CP_AIR, CV_AIR, R_AIR, ZERO_CELSIUS_K
from collaudo.fluid.water import liquid_viscosity, vapour_energy, vapour_enthalpy
from collaudo.twin.kernel.closure import close
from collaudo.twin.kernel.flows import all_flows
from collaudo.twin.kernel.heat import heat_flows
from collaudo.twin.kernel.loops import GRAVITY, UPWIND_BAND, edge_drop, gas_block, loop_acceleration
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work


@compiled
def clear(derive: bool, wk: Work) -> None:
    """Empty the books."""
    wk.source[:] = 0.0
    wk.income[:] = 0.0
    wk.zone_gain[:] = 0.0
    wk.zone_air_gain[:] = 0.0
    wk.wall_gain[:] = 0.0
    if derive:
        wk.source_by[:] = 0.0
        wk.income_by[:] = 0.0
        wk.gain_by[:] = 0.0
        wk.air_by[:] = 0.0
        wk.wall_by[:] = 0.0
        wk.jacobian[:] = 0.0


@compiled
def top_of(z: int, tb: Tables) -> int:
    """Top cell of a zone."""
    return tb.zone_first[z + 1] - 1


@compiled
def collect_columns(z: int, slope: float, level_slope: float, n: int, tb: Tables, wk: Work) -> int:
    """Append how an element's flow depends on the states of vessel ``z``; returns the new length."""
    if tb.zone_is_vessel[z] == 0:
        return n
    wk.column[n] = tb.zone_mass[z]
    wk.dlevel[n] = level_slope * wk.level_by_mass[z]
    wk.dflow[n] = slope * wk.p_by_mass[z]
    n += 1
    if tb.zone_air[z] >= 0:
        wk.column[n] = tb.zone_air[z]
        wk.dlevel[n] = 0.0
        wk.dflow[n] = slope * wk.p_by_air[z]
        n += 1
    for i in range(tb.zone_first[z], tb.zone_first[z + 1]):
        wk.column[n] = tb.cell_state[i]
        wk.dlevel[n] = level_slope * wk.level_by_cell[i]
        wk.dflow[n] = slope * wk.p_by_cell[i]
        n += 1
    return n


@compiled
def carry(e: int, derive: bool, tb: Tables, wk: Work) -> None:
    """Book what element ``e`` carries: water, air and energy, from where it leaves to where it arrives."""
    q = wk.flow[e]
    forward = q >= 0.0
    up_zone = tb.zone_a[e] if forward else tb.zone_b[e]
    up = tb.cell_a[e] if forward else tb.cell_b[e]
    down_zone = tb.zone_b[e] if forward else tb.zone_a[e]
    down = tb.cell_b[e] if forward else tb.cell_a[e]
    up_top, down_top = top_of(up_zone, tb), top_of(down_zone, tb)
    liquid, steam, air = wk.liquid_share[e], wk.steam_share[e], wk.air_share[e]
    size = abs(q)
    h_liquid = wk.energy[up]
    h_steam, dh_steam, h_air = 0.0, 0.0, 0.0
    if liquid < 1.0:
        T_top = wk.temperature[up_top]
        h_steam, dh_steam = vapour_enthalpy(T_top)
        h_air = CP_AIR * (T_top - ZERO_CELSIUS_K) + R_AIR * ZERO_CELSIUS_K
    water = liquid + steam
    wk.zone_gain[up_zone] -= size * water
    wk.zone_gain[down_zone] += size * water
    wk.zone_air_gain[up_zone] -= size * air
    wk.zone_air_gain[down_zone] += size * air
    wk.source[up] -= size * liquid
    wk.source[up_top] -= size * steam
    wk.source[down] += size * water
    gas_energy = steam * h_steam + air * h_air
    wk.income[up] -= size * liquid * h_liquid
    wk.income[up_top] -= size * gas_energy
    wk.income[down] += size * (liquid * h_liquid + steam * h_steam)
    wk.income[down_top] += size * air * h_air
    if not derive:
        return
    # derivative of size by the states of both zones
    sign = 1.0 if forward else -1.0
    up_slope = wk.flow_by_a[e] if forward else wk.flow_by_b[e]
    down_slope = wk.flow_by_b[e] if forward else wk.flow_by_a[e]
    n = collect_columns(up_zone, sign * up_slope, 1.0, 0, tb, wk)
    mixing = wk.rho_by_level[e] != 0.0
    by_level = sign * wk.flow_by_rho[e] * wk.rho_by_level[e]
    for k in range(n):
        wk.dflow[k] += by_level * wk.dlevel[k]
    ups = n
    n = collect_columns(down_zone, sign * down_slope, 0.0, n, tb, wk)
    gas_share = steam + air
    steam_of_gas = steam / gas_share if gas_share > 0.0 else 0.0
    for k in range(n):
        col, d = wk.column[k], wk.dflow[k]
        if k < ups and tb.cell_state[up] == col:
            d += sign * wk.flow_by_T[e]
        dliquid = d * liquid
        dsteam = d * steam
        dair = d * air
        if mixing and k < ups:
            shift = size * wk.liquid_by_level[e] * wk.dlevel[k]
            dliquid += shift
            dsteam -= shift * steam_of_gas
            dair -= shift * (1.0 - steam_of_gas)
        wk.gain_by[up_zone, col] -= dliquid + dsteam
        wk.gain_by[down_zone, col] += dliquid + dsteam
        wk.air_by[up_zone, col] -= dair
        wk.air_by[down_zone, col] += dair
        wk.source_by[up, col] -= dliquid
        wk.source_by[up_top, col] -= dsteam
        wk.source_by[down, col] += dliquid + dsteam
        wk.income_by[up, col] -= dliquid * h_liquid
        wk.income_by[up_top, col] -= dsteam * h_steam + dair * h_air
        wk.income_by[down, col] += dliquid * h_liquid + dsteam * h_steam
        wk.income_by[down_top, col] += dair * h_air
    state = tb.cell_state[up]
    if state >= 0:
        d = size * liquid * wk.heat[up]
        wk.income_by[up, state] -= d
        wk.income_by[down, state] += d
    state = tb.cell_state[up_top]
    if state >= 0 and liquid < 1.0:
        wk.income_by[up_top, state] -= size * (steam * dh_steam + air * CP_AIR)
        wk.income_by[down, state] += size * steam * dh_steam
        wk.income_by[down_top, state] += size * air * CP_AIR


@compiled
def pass_along(f: float, i: int, parent: int, row_i: int, derive: bool, n: int, tb: Tables, wk: Work) -> None:
    """Energy carried by the flow ``f`` from cell ``i`` to ``parent``; ``row_i`` holds the flow's derivatives."""
    lively = sqrt(f * f + UPWIND_BAND * UPWIND_BAND)
    out, back = 0.5 * (f + lively), 0.5 * (f - lively)
    flux = out * wk.energy[i] + back * wk.energy[parent]
    wk.income[i] -= flux
    wk.income[parent] += flux
    if not derive:
        return
    lean = f / lively
    by_flow = 0.5 * (1.0 + lean) * wk.energy[i] + 0.5 * (1.0 - lean) * wk.energy[parent]
    for k in range(n):
        d = by_flow * wk.source_by[row_i, k]
        wk.income_by[i, k] -= d
        wk.income_by[parent, k] += d
    own, other = tb.cell_state[i], tb.cell_state[parent]
    wk.income_by[i, own] -= out * wk.heat[i]
    wk.income_by[parent, own] += out * wk.heat[i]
    wk.income_by[i, other] -= back * wk.heat[parent]
    wk.income_by[parent, other] += back * wk.heat[parent]


@compiled
def chord_flows(derive: bool, y: Floats, tb: Tables, wk: Work) -> None:
    """Flow along each loop's chord: leaves one cell, enters another."""
    for loop in range(tb.loop_from.size):
        a, b = tb.loop_from[loop], tb.loop_to[loop]
        f = y[tb.loop_state[loop]]
        wk.source[a] -= f
        wk.source[b] += f
        lively = sqrt(f * f + UPWIND_BAND * UPWIND_BAND)
        out, back = 0.5 * (f + lively), 0.5 * (f - lively)
        flux = out * wk.energy[a] + back * wk.energy[b]
        wk.income[a] -= flux
        wk.income[b] += flux
        if derive:
            col = tb.loop_state[loop]
            wk.source_by[a, col] -= 1.0
            wk.source_by[b, col] += 1.0
            lean = f / lively
            d = 0.5 * (1.0 + lean) * wk.energy[a] + 0.5 * (1.0 - lean) * wk.energy[b]
            wk.income_by[a, col] -= d
            wk.income_by[b, col] += d
            sa, sb = tb.cell_state[a], tb.cell_state[b]
            wk.income_by[a, sa] -= out * wk.heat[a]
            wk.income_by[b, sa] += out * wk.heat[a]
            wk.income_by[a, sb] -= back * wk.heat[b]
            wk.income_by[b, sb] += back * wk.heat[b]


@compiled
def tree_flows(derive: bool, tb: Tables, wk: Work) -> None:
    """Flows along every vessel's tree, leaves to top, and the energy they carry."""
    n = tb.state_count[0]
    for z in range(tb.zone_is_vessel.size):
        if tb.zone_is_vessel[z] == 0:
            continue
        for i in range(tb.zone_first[z], top_of(z, tb)):
            parent = tb.cell_parent[i]
            stays = tb.cell_mass[i] * wk.dshrink[z]
            f = wk.source[i] - stays * wk.zone_gain[z]
            wk.edge[i] = f
            wk.source[parent] += f
            if derive:
                for k in range(n):
                    d = wk.source_by[i, k] - stays * wk.gain_by[z, k]
                    wk.source_by[i, k] = d
                    wk.source_by[parent, k] += d
            pass_along(f, i, parent, i, derive, n, tb, wk)


@compiled
def vessel_rates(z: int, derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Rates of mass, air and temperatures of vessel ``z``."""
    n = tb.state_count[0]
    first, top = tb.zone_first[z], top_of(z, tb)
    gain, air_gain = wk.zone_gain[z], wk.zone_air_gain[z]
    row = tb.zone_mass[z]
    dy[row] = gain
    if derive:
        for k in range(n):
            wk.jacobian[row, k] = wk.gain_by[z, k]
    has_air = tb.zone_air[z] >= 0
    if has_air:
        dy[tb.zone_air[z]] = air_gain
        if derive:
            for k in range(n):
                wk.jacobian[tb.zone_air[z], k] = wk.air_by[z, k]
    fixed = 0.0
    vapour_rate = wk.mv_by_mass[z] * gain
    for i in range(first, top):
        state = tb.cell_state[i]
        stays = tb.cell_mass[i] * wk.dshrink[z]
        fixed += stays
        capacity = wk.shrink[z] * tb.cell_mass[i] * wk.heat[i]
        dy[state] = (wk.income[i] - wk.energy[i] * stays * gain) / capacity
        vapour_rate += wk.mv_by_cell[i] * dy[state]
        if derive:
            for k in range(n):
                wk.jacobian[state, k] = (wk.income_by[i, k] - wk.energy[i] * stays * wk.gain_by[z, k]) / capacity
            wk.jacobian[state, state] -= wk.heat[i] * stays * gain / capacity
    T = wk.temperature[top]
    u_steam, du_steam = vapour_energy(T)
    evaporation = u_steam - wk.energy[top]
    u_air = CV_AIR * (T - ZERO_CELSIUS_K)
    air_mass = max(y[tb.zone_air[z]], 0.0) if has_air else 0.0
    capacity = (
        wk.top_mass[z] * wk.heat[top]
        + air_mass * CV_AIR
        + wk.vapour[z] * (du_steam - wk.heat[top])
        + evaporation * wk.mv_by_cell[top]
        + tb.zone_metal[z]
    )
    wk.top_capacity[z] = capacity
    state = tb.cell_state[top]
    mass_rate = (1.0 - fixed) * gain
    dy[state] = (
        wk.income[top] - wk.energy[top] * mass_rate - u_air * air_gain - evaporation * vapour_rate
    ) / capacity
    if not derive:
        return
    for k in range(n):
        by = wk.income_by[top, k] - (wk.energy[top] * (1.0 - fixed) + evaporation * wk.mv_by_mass[z]) * wk.gain_by[z, k]
        by -= u_air * wk.air_by[z, k]
        wk.jacobian[state, k] = by
    for i in range(first, top):
        share = evaporation * wk.mv_by_cell[i]
        if share != 0.0:
            row = tb.cell_state[i]
            for k in range(n):
                wk.jacobian[state, k] -= share * wk.jacobian[row, k]
    wk.jacobian[state, state] -= (
        wk.heat[top] * mass_rate + CV_AIR * air_gain + (du_steam - wk.heat[top]) * vapour_rate
    )
    for k in range(n):
        wk.jacobian[state, k] /= capacity


@compiled
def reservoir_rates(z: int, derive: bool, dy: Floats, tb: Tables, wk: Work) -> None:
    """What a reservoir receives (quadratures)."""
    n = tb.state_count[0]
    cell = tb.zone_first[z]
    mass, energy, air = tb.zone_mass[z], tb.zone_energy[z], tb.zone_air[z]
    dy[mass] += wk.zone_gain[z]
    dy[energy] += wk.income[cell]
    dy[air] += wk.zone_air_gain[z]
    if derive:
        for k in range(n):
            wk.jacobian[mass, k] += wk.gain_by[z, k]
            wk.jacobian[energy, k] += wk.income_by[cell, k]
            wk.jacobian[air, k] += wk.air_by[z, k]


@compiled
def loop_rates(derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Acceleration of each circulation."""
    n = tb.state_count[0]
    for loop in range(tb.loop_from.size):
        row = tb.loop_state[loop]
        rate, by_own = loop_acceleration(loop, y, tb, wk)
        dy[row] = rate
        if not derive:
            continue
        inertia = tb.loop_inertia[loop]
        for k in range(tb.loop_cell_start[loop], tb.loop_cell_start[loop + 1]):
            cell = tb.loop_cell[k]
            wk.jacobian[row, tb.cell_state[cell]] -= GRAVITY * wk.drho[cell] * tb.loop_cell_rise[k] / inertia
        chord = tb.loop_to[loop]
        mu = liquid_viscosity(wk.temperature[chord])
        factor = gas_block(loop, tb, wk) / inertia
        _, slope = edge_drop(
            y[row], tb.loop_chord_linear[loop], tb.loop_chord_quadratic[loop], tb.edge_bore[chord], wk.rho[chord], mu
        )
        wk.jacobian[row, row] -= factor * slope
        for k in range(tb.loop_edge_start[loop], tb.loop_edge_start[loop + 1]):
            cell = tb.loop_edge[k]
            _, slope = edge_drop(
                wk.edge[cell], tb.edge_linear[cell], tb.edge_quadratic[cell], tb.edge_bore[cell], wk.rho[cell], mu
            )
            weight = factor * slope * tb.loop_edge_sign[k]
            for c in range(n):
                wk.jacobian[row, c] -= weight * wk.source_by[cell, c]


@compiled
def wall_rates(derive: bool, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Walls; heat that reaches fixed temperatures is booked as given to the room."""
    n = tb.state_count[0]
    walls = tb.wall_state.size
    for i in range(walls):
        row = tb.wall_state[i]
        dy[row] = wk.wall_gain[i] / tb.wall_capacity[i]
        if derive:
            for k in range(n):
                wk.jacobian[row, k] = wk.wall_by[i, k] / tb.wall_capacity[i]
    room = y_room(tb)
    for i in range(walls, walls + tb.fixed_temperature.size):
        dy[room] += wk.wall_gain[i]
        if derive:
            for k in range(n):
                wk.jacobian[room, k] += wk.wall_by[i, k]
    for k in range(tb.heater_node.size):
        dy[room + 1] += md.heater_W[k]


@compiled
def y_room(tb: Tables) -> int:
    """Quadrature of the heat given to the room; the next one is the electric energy."""
    return tb.state_count[1] - 2


@compiled
def lag_rates(derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Sensors follow what they feel with a lag: gauge pressure [Pa] of a zone or temperature [K] of a node."""
    for k in range(tb.lag_state.size):
        row, source = tb.lag_state[k], tb.lag_index[k]
        rate = 1.0 / tb.lag_time[k]
        if tb.lag_watch[k] == 1:
            dy[row] = (wk.pressure[source] - tb.site[4] - y[row]) * rate
        else:
            dy[row] = (wk.temperature[source] - y[row]) * rate
        if not derive:
            continue
        wk.jacobian[row, row] -= rate
        if tb.lag_watch[k] == 1:
            wk.jacobian[row, tb.zone_mass[source]] += rate * wk.p_by_mass[source]
            if tb.zone_air[source] >= 0:
                wk.jacobian[row, tb.zone_air[source]] += rate * wk.p_by_air[source]
            for i in range(tb.zone_first[source], tb.zone_first[source + 1]):
                wk.jacobian[row, tb.cell_state[i]] += rate * wk.p_by_cell[i]
        else:
            cells = tb.cell_zone.size
            state = tb.cell_state[source] if source < cells else tb.wall_state[source - cells]
            wk.jacobian[row, state] += rate


@compiled
def rates(y: Floats, dy: Floats, derive: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Rates ``dy`` of ``y``; with ``derive`` also ``wk.jacobian``."""
    close(y, tb, wk)
    all_flows(tb, md, wk)
    clear(derive, wk)
    dy[tb.state_count[0] :] = 0.0
    for e in range(tb.zone_a.size):
        if wk.flow[e] != 0.0 or derive:
            carry(e, derive, tb, wk)
    chord_flows(derive, y, tb, wk)
    tree_flows(derive, tb, wk)
    heat_flows(derive, tb, md, wk)
    for z in range(tb.zone_is_vessel.size):
        if tb.zone_is_vessel[z] == 1:
            vessel_rates(z, derive, y, dy, tb, wk)
        else:
            reservoir_rates(z, derive, dy, tb, wk)
    loop_rates(derive, y, dy, tb, wk)
    wall_rates(derive, dy, tb, md, wk)
    lag_rates(derive, y, dy, tb, wk)
