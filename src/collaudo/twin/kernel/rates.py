"""Rates of all states, and their Jacobian when asked for: continuity, energy, loops, walls, sensors.

State vector: ``state_count`` states that matter to the dynamics (mass deviations, air masses, temperatures,
loop flows, walls, lags), then the quadratures, on which nothing depends (contents of reservoirs, heat to the
room, electric energy). The Jacobian has a row for each and a column for each state.
"""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import compiled, inlined
from collaudo.fluid.air import CP_AIR, CV_AIR, R_AIR, ZERO_CELSIUS_K
from collaudo.fluid.water import liquid_viscosity, vapour_energy, vapour_enthalpy
from collaudo.twin.kernel.closure import close
from collaudo.twin.kernel.flows import all_flows
from collaudo.twin.kernel.heat import heat_flows
from collaudo.twin.kernel.loops import GRAVITY, UPWIND_BAND, edge_drop, gas_block, loop_acceleration
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work


@inlined
def clear(derive: bool, wk: Work) -> None:
    """Empty the books."""
    for i in range(wk.cell.size):
        wk.cell[i].source = 0.0
        wk.cell[i].income = 0.0
    for z in range(wk.zone.size):
        wk.zone[z].gain = 0.0
        wk.zone[z].air_gain = 0.0
    wk.wall_gain[:] = 0.0
    if derive:
        wk.source_by[:] = 0.0
        wk.income_by[:] = 0.0
        wk.gain_by[:] = 0.0
        wk.air_by[:] = 0.0
        wk.wall_by[:] = 0.0
        wk.jacobian[:] = 0.0


@inlined
def top_of(z: int, tb: Tables) -> int:
    """Top cell of a zone."""
    return tb.zone_first[z + 1] - 1


@inlined
def collect_columns(z: int, slope: float, level_slope: float, n: int, tb: Tables, wk: Work) -> int:
    """Append how an element's flow depends on the states of vessel ``z``; returns the new length."""
    if tb.zone[z].is_vessel == 0:
        return n
    wk.column[n] = tb.zone[z].mass
    wk.dlevel[n] = level_slope * wk.zone[z].level_by_mass
    wk.dflow[n] = slope * wk.zone[z].p_by_mass
    n += 1
    if tb.zone[z].air >= 0:
        wk.column[n] = tb.zone[z].air
        wk.dlevel[n] = 0.0
        wk.dflow[n] = slope * wk.zone[z].p_by_air
        n += 1
    for i in range(tb.zone_first[z], tb.zone_first[z + 1]):
        wk.column[n] = tb.cell[i].state
        wk.dlevel[n] = level_slope * wk.cell[i].level_by_cell
        wk.dflow[n] = slope * wk.cell[i].p_by_cell
        n += 1
    return n


@inlined
def carry(e: int, derive: bool, tb: Tables, wk: Work) -> None:
    """Book what element ``e`` carries: water, air and energy, from where it leaves to where it arrives."""
    q = wk.element[e].flow
    forward = q >= 0.0
    up_zone = tb.element[e].zone_a if forward else tb.element[e].zone_b
    up = tb.element[e].cell_a if forward else tb.element[e].cell_b
    down_zone = tb.element[e].zone_b if forward else tb.element[e].zone_a
    down = tb.element[e].cell_b if forward else tb.element[e].cell_a
    up_top, down_top = top_of(up_zone, tb), top_of(down_zone, tb)
    liquid, steam, air = wk.element[e].liquid_share, wk.element[e].steam_share, wk.element[e].air_share
    size = abs(q)
    h_liquid = wk.cell[up].energy
    h_steam, dh_steam, h_air = 0.0, 0.0, 0.0
    if liquid < 1.0:
        T_top = wk.temperature[up_top]
        h_steam, dh_steam = vapour_enthalpy(T_top)
        h_air = CP_AIR * (T_top - ZERO_CELSIUS_K) + R_AIR * ZERO_CELSIUS_K
    water = liquid + steam
    wk.zone[up_zone].gain -= size * water
    wk.zone[down_zone].gain += size * water
    wk.zone[up_zone].air_gain -= size * air
    wk.zone[down_zone].air_gain += size * air
    wk.cell[up].source -= size * liquid
    wk.cell[up_top].source -= size * steam
    wk.cell[down].source += size * water
    gas_energy = steam * h_steam + air * h_air
    wk.cell[up].income -= size * liquid * h_liquid
    wk.cell[up_top].income -= size * gas_energy
    wk.cell[down].income += size * (liquid * h_liquid + steam * h_steam)
    wk.cell[down_top].income += size * air * h_air
    if not derive:
        return
    # derivative of size by the states of both zones
    sign = 1.0 if forward else -1.0
    up_slope = wk.element[e].flow_by_a if forward else wk.element[e].flow_by_b
    down_slope = wk.element[e].flow_by_b if forward else wk.element[e].flow_by_a
    n = collect_columns(up_zone, sign * up_slope, 1.0, 0, tb, wk)
    mixing = wk.element[e].rho_by_level != 0.0
    by_level = sign * (wk.element[e].flow_by_rho * wk.element[e].rho_by_level + wk.element[e].flow_by_level)
    for k in range(n):
        wk.dflow[k] += by_level * wk.dlevel[k]
    ups = n
    n = collect_columns(down_zone, sign * down_slope, 0.0, n, tb, wk)
    gas_share = steam + air
    steam_of_gas = steam / gas_share if gas_share > 0.0 else 0.0
    for k in range(n):
        col, d = wk.column[k], wk.dflow[k]
        if k < ups and tb.cell[up].state == col:
            d += sign * (wk.element[e].flow_by_T + wk.element[e].flow_by_rho * wk.cell[up].drho * liquid)
        dliquid = d * liquid
        dsteam = d * steam
        dair = d * air
        if mixing and k < ups:
            shift = size * wk.element[e].liquid_by_level * wk.dlevel[k]
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
    state = tb.cell[up].state
    if state >= 0:
        d = size * liquid * wk.cell[up].heat
        wk.income_by[up, state] -= d
        wk.income_by[down, state] += d
    state = tb.cell[up_top].state
    if state >= 0 and liquid < 1.0:
        wk.income_by[up_top, state] -= size * (steam * dh_steam + air * CP_AIR)
        wk.income_by[down, state] += size * steam * dh_steam
        wk.income_by[down_top, state] += size * air * CP_AIR


@inlined
def pass_along(f: float, i: int, parent: int, row_i: int, derive: bool, n: int, tb: Tables, wk: Work) -> None:
    """Energy carried by the flow ``f`` from cell ``i`` to ``parent``; ``row_i`` holds the flow's
    derivatives."""
    lively = sqrt(f * f + UPWIND_BAND * UPWIND_BAND)
    out, back = 0.5 * (f + lively), 0.5 * (f - lively)
    flux = out * wk.cell[i].energy + back * wk.cell[parent].energy
    wk.cell[i].income -= flux
    wk.cell[parent].income += flux
    if not derive:
        return
    lean = f / lively
    by_flow = 0.5 * (1.0 + lean) * wk.cell[i].energy + 0.5 * (1.0 - lean) * wk.cell[parent].energy
    for k in range(n):
        d = by_flow * wk.source_by[row_i, k]
        wk.income_by[i, k] -= d
        wk.income_by[parent, k] += d
    own, other = tb.cell[i].state, tb.cell[parent].state
    wk.income_by[i, own] -= out * wk.cell[i].heat
    wk.income_by[parent, own] += out * wk.cell[i].heat
    wk.income_by[i, other] -= back * wk.cell[parent].heat
    wk.income_by[parent, other] += back * wk.cell[parent].heat


@inlined
def chord_flows(derive: bool, y: Floats, tb: Tables, wk: Work) -> None:
    """Flow along each loop's chord: leaves one cell, enters another."""
    for loop in range(tb.loop.size):
        a, b = tb.loop[loop].start, tb.loop[loop].end
        f = y[tb.loop[loop].state]
        wk.cell[a].source -= f
        wk.cell[b].source += f
        lively = sqrt(f * f + UPWIND_BAND * UPWIND_BAND)
        out, back = 0.5 * (f + lively), 0.5 * (f - lively)
        flux = out * wk.cell[a].energy + back * wk.cell[b].energy
        wk.cell[a].income -= flux
        wk.cell[b].income += flux
        if derive:
            col = tb.loop[loop].state
            wk.source_by[a, col] -= 1.0
            wk.source_by[b, col] += 1.0
            lean = f / lively
            d = 0.5 * (1.0 + lean) * wk.cell[a].energy + 0.5 * (1.0 - lean) * wk.cell[b].energy
            wk.income_by[a, col] -= d
            wk.income_by[b, col] += d
            sa, sb = tb.cell[a].state, tb.cell[b].state
            wk.income_by[a, sa] -= out * wk.cell[a].heat
            wk.income_by[b, sa] += out * wk.cell[a].heat
            wk.income_by[a, sb] -= back * wk.cell[b].heat
            wk.income_by[b, sb] += back * wk.cell[b].heat


@inlined
def tree_flows(derive: bool, tb: Tables, wk: Work) -> None:
    """Flows along every vessel's tree, leaves to top, and the energy they carry."""
    n = tb.state_count[0]
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 0:
            continue
        for i in range(tb.zone_first[z], top_of(z, tb)):
            parent = tb.cell[i].parent
            stays = tb.cell[i].mass * wk.zone[z].dshrink
            f = wk.cell[i].source - stays * wk.zone[z].gain
            wk.cell[i].edge = f
            wk.cell[parent].source += f
            if derive:
                for k in range(n):
                    d = wk.source_by[i, k] - stays * wk.gain_by[z, k]
                    wk.source_by[i, k] = d
                    wk.source_by[parent, k] += d
            pass_along(f, i, parent, i, derive, n, tb, wk)


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
    if has_air:
        dy[tb.zone[z].air] = air_gain
        if derive:
            for k in range(n):
                wk.jacobian[tb.zone[z].air, k] = wk.air_by[z, k]
    fixed = 0.0
    vapour_rate = wk.zone[z].mv_by_mass * gain
    for i in range(first, top):
        state = tb.cell[i].state
        stays = tb.cell[i].mass * wk.zone[z].dshrink
        fixed += stays
        capacity = wk.zone[z].shrink * tb.cell[i].mass * wk.cell[i].heat
        dy[state] = (wk.cell[i].income - wk.cell[i].energy * stays * gain) / capacity
        vapour_rate += wk.cell[i].mv_by_cell * dy[state]
        if derive:
            for k in range(n):
                wk.jacobian[state, k] = (
                    wk.income_by[i, k] - wk.cell[i].energy * stays * wk.gain_by[z, k]
                ) / capacity
            wk.jacobian[state, state] -= wk.cell[i].heat * stays * gain / capacity
    T = wk.temperature[top]
    u_steam, du_steam = vapour_energy(T)
    evaporation = u_steam - wk.cell[top].energy
    u_air = CV_AIR * (T - ZERO_CELSIUS_K)
    air_mass = max(y[tb.zone[z].air], 0.0) if has_air else 0.0
    capacity = (
        wk.zone[z].top_mass * wk.cell[top].heat
        + air_mass * CV_AIR
        + wk.zone[z].vapour * (du_steam - wk.cell[top].heat)
        + evaporation * wk.cell[top].mv_by_cell
        + tb.zone[z].metal
    )
    wk.zone[z].top_capacity = capacity
    state = tb.cell[top].state
    mass_rate = (1.0 - fixed) * gain
    dy[state] = (
        wk.cell[top].income - wk.cell[top].energy * mass_rate - u_air * air_gain - evaporation * vapour_rate
    ) / capacity
    if not derive:
        return
    for k in range(n):
        by = (
            wk.income_by[top, k]
            - (wk.cell[top].energy * (1.0 - fixed) + evaporation * wk.zone[z].mv_by_mass) * wk.gain_by[z, k]
        )
        by -= u_air * wk.air_by[z, k]
        wk.jacobian[state, k] = by
    for i in range(first, top):
        share = evaporation * wk.cell[i].mv_by_cell
        if share != 0.0:
            row = tb.cell[i].state
            for k in range(n):
                wk.jacobian[state, k] -= share * wk.jacobian[row, k]
    wk.jacobian[state, state] -= (
        wk.cell[top].heat * mass_rate + CV_AIR * air_gain + (du_steam - wk.cell[top].heat) * vapour_rate
    )
    for k in range(n):
        wk.jacobian[state, k] /= capacity


@inlined
def reservoir_rates(z: int, derive: bool, dy: Floats, tb: Tables, wk: Work) -> None:
    """What a reservoir receives (quadratures)."""
    n = tb.state_count[0]
    cell = tb.zone_first[z]
    mass, energy, air = tb.zone[z].mass, tb.zone[z].energy, tb.zone[z].air
    dy[mass] += wk.zone[z].gain
    dy[energy] += wk.cell[cell].income
    dy[air] += wk.zone[z].air_gain
    if derive:
        for k in range(n):
            wk.jacobian[mass, k] += wk.gain_by[z, k]
            wk.jacobian[energy, k] += wk.income_by[cell, k]
            wk.jacobian[air, k] += wk.air_by[z, k]


@inlined
def loop_rates(derive: bool, y: Floats, dy: Floats, tb: Tables, wk: Work) -> None:
    """Acceleration of each circulation."""
    n = tb.state_count[0]
    for loop in range(tb.loop.size):
        row = tb.loop[loop].state
        rate, _ = loop_acceleration(loop, y, tb, wk)
        dy[row] = rate
        if not derive:
            continue
        inertia = tb.loop[loop].inertia
        for k in range(tb.loop_cell_start[loop], tb.loop_cell_start[loop + 1]):
            cell = tb.loop_cell[k].cell
            wk.jacobian[row, tb.cell[cell].state] -= (
                GRAVITY * wk.cell[cell].drho * tb.loop_cell[k].rise / inertia
            )
        chord = tb.loop[loop].end
        mu = liquid_viscosity(wk.temperature[chord])
        factor = gas_block(loop, tb, wk) / inertia
        _, slope = edge_drop(
            y[row],
            tb.loop[loop].chord_linear,
            tb.loop[loop].chord_quadratic,
            tb.cell[chord].bore,
            wk.cell[chord].rho,
            mu,
        )
        wk.jacobian[row, row] -= factor * slope
        for k in range(tb.loop_edge_start[loop], tb.loop_edge_start[loop + 1]):
            cell = tb.loop_edge[k].cell
            _, slope = edge_drop(
                wk.cell[cell].edge,
                tb.cell[cell].linear,
                tb.cell[cell].quadratic,
                tb.cell[cell].bore,
                wk.cell[cell].rho,
                mu,
            )
            weight = factor * slope * tb.loop_edge[k].sign
            for c in range(n):
                wk.jacobian[row, c] -= weight * wk.source_by[cell, c]


@inlined
def wall_rates(derive: bool, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Walls; heat that reaches fixed temperatures is booked as given to the room."""
    n = tb.state_count[0]
    walls = tb.wall.size
    for i in range(walls):
        row = tb.wall[i].state
        dy[row] = wk.wall_gain[i] / tb.wall[i].capacity
        if derive:
            for k in range(n):
                wk.jacobian[row, k] = wk.wall_by[i, k] / tb.wall[i].capacity
    room = y_room(tb)
    for i in range(walls, walls + tb.fixed_temperature.size):
        dy[room] += wk.wall_gain[i]
        if derive:
            for k in range(n):
                wk.jacobian[room, k] += wk.wall_by[i, k]
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
            wk.jacobian[row, tb.zone[source].mass] += rate * wk.zone[source].p_by_mass
            if tb.zone[source].air >= 0:
                wk.jacobian[row, tb.zone[source].air] += rate * wk.zone[source].p_by_air
            for i in range(tb.zone_first[source], tb.zone_first[source + 1]):
                wk.jacobian[row, tb.cell[i].state] += rate * wk.cell[i].p_by_cell
        else:
            cells = tb.cell.size
            state = tb.cell[source].state if source < cells else tb.wall[source - cells].state
            wk.jacobian[row, state] += rate


@compiled
def rates(y: Floats, dy: Floats, derive: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Rates ``dy`` of ``y``; with ``derive`` also ``wk.jacobian``."""
    close(y, tb, wk)
    all_flows(tb, md, wk)
    clear(derive, wk)
    dy[tb.state_count[0] :] = 0.0
    for e in range(tb.element.size):
        if wk.element[e].flow != 0.0 or derive:
            carry(e, derive, tb, wk)
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
