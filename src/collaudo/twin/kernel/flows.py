"""Mass flows through every element, liquid and gas apart, with their derivatives. One loop a law.

A port passes liquid through the share of the opening that is covered and gas through the rest, each with its
own density (separated flow). Liquid also feels the head of what stands over the port's lower lip, so that it
can run out while air comes in over it.

Which way a phase goes decides what it carries, and with it the slopes. That way is fixed where a step begins
(``turn``) and holds for its inner stages, where a flow may turn negative for a moment: between stages nothing
jumps. `turned_too_far` tells whether it mattered.
"""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.fluid.water import liquid_viscosity_and_slope
from collaudo.laws.closing import linear_share, unit_ramp
from collaudo.laws.pump import vane_pump_flow, vibration_pump_flow
from collaudo.laws.throat import flashing_limit, lifted_throat_flow, throat_flow
from collaudo.laws.tube import rounded_tube_flow
from collaudo.laws.vapour_throat import vapour_throat_flow
from collaudo.twin.kernel.tables import (
    LAW_LIFT,
    LAW_THROAT,
    LAW_TUBE,
    LAW_VANE_PUMP,
    LAW_VAPOUR,
    LAW_VIBRATION_PUMP,
    Mode,
    Tables,
    Work,
)

# A port of a vessel sees liquid and gas while the level is within this share of its volume around the port.
PORT_BAND = 0.04
# The same for tanks and cups, which are wide.
RESERVOIR_BAND = 0.004
GRAVITY = 9.80665
# Share of a pressure regulator's range over which its opening is rounded at either end.
REGULATOR_ROUNDED = 0.1
# A seat's leak is declared as a mass flow of cold water.
COLD_WATER = 1000.0


@inlined
def gas_share(s: int, tb: Tables, wk: Work) -> tuple[float, float]:
    """Share of the port upstream of stream ``s`` that gas takes, and how it follows the level."""
    band = tb.stream[s].band
    share, slope = unit_ramp((tb.stream[s].height - wk.zone[tb.stream[s].up_zone].level) / band + 0.5)
    return share, -slope / band


@inlined
def standing_head(z: int, height: float, rho: float, tb: Tables, wk: Work) -> tuple[float, float]:
    """Pressure [Pa] of the liquid that stands over the lower lip of a port, and its slope by the level;
    drains a group by gravity."""
    over = wk.zone[z].level - height + 0.5 * PORT_BAND
    weight = GRAVITY * rho * tb.zone[z].height
    return (weight * over, weight) if over > 0.0 else (0.0, 0.0)


@inlined
def turn(e: int, liquid_d: float, gas_d: float, wk: Work) -> None:
    """Fix the ways of element ``e`` by the differences that drive its phases from a to b."""
    wk.liquid[e].way = 0 if liquid_d >= 0.0 else 1
    wk.gas[e].way = 0 if gas_d >= 0.0 else 1


@inlined
def set_liquid(e: int, free: float, by_level: float, q: float, dq: float, by_T: float, wk: Work) -> None:
    """Book ``q`` [kg/s] that all of the opening would pass, were it covered, and its slopes."""
    covered = 1.0 - free
    wk.liquid[e].flow = covered * q
    wk.liquid[e].by_d = covered * dq
    wk.liquid[e].by_p = 0.0
    wk.liquid[e].by_T = covered * by_T
    wk.liquid[e].by_level = -by_level * q
    wk.liquid[e].by_own = 0.0
    wk.liquid[e].head = 0.0
    wk.liquid[e].down_head = 0.0


@inlined
def set_gas(e: int, free: float, by_level: float, q: float, dq: float, by_rho: float, wk: Work) -> None:
    """The same for gas through the free share of the opening."""
    wk.gas[e].flow = free * q
    wk.gas[e].by_d = free * dq
    wk.gas[e].by_p = 0.0
    wk.gas[e].by_T = 0.0
    wk.gas[e].by_level = by_level * q
    wk.gas[e].by_own = free * by_rho
    wk.gas[e].head = 0.0
    wk.gas[e].down_head = 0.0


@inlined
def throat_liquid(e: int, d: float, area: float, bed: float, tb: Tables, wk: Work) -> None:
    """Liquid through a throat or coffee bed, driven by ``d`` its way; choked where it flashes."""
    s = 2 * e + wk.liquid[e].way
    free, by_level = gas_share(s, tb, wk)
    if free >= 1.0:
        set_liquid(e, 1.0, 0.0, 0.0, 0.0, 0.0, wk)
        return
    z, cell = tb.stream[s].up_zone, tb.stream[s].up_cell
    rho = wk.rho[cell]
    mu, dmu = 0.0, 0.0
    if bed > 0.0:
        mu, dmu = liquid_viscosity_and_slope(wk.temperature[cell])
    choked, limit_by_T = False, 0.0
    if tb.zone[z].is_vessel == 1:
        limit, limit_by_T = flashing_limit(
            wk.zone[z].pressure, wk.zone[z].saturation, wk.zone[z].dsaturation
        )
        if limit < d:
            d, choked = limit, True
    q, dq = throat_flow(d, rho, mu, area, bed)
    by_rho = dq * d / rho if bed > 0.0 else 0.5 * q / rho
    by_T = by_rho * wk.drho[cell] - q * dq * bed / rho * dmu
    set_liquid(e, free, by_level, q, 0.0 if choked else dq, by_T, wk)
    if choked:
        wk.liquid[e].by_p = (1.0 - free) * dq
        wk.liquid[e].by_own = (1.0 - free) * dq * limit_by_T


@inlined
def throat_gas(e: int, d: float, area: float, bed: float, tb: Tables, wk: Work) -> None:
    """Gas through the same opening; in a bed it meets wet pores and flows as thinly as water does."""
    s = 2 * e + wk.gas[e].way
    free, by_level = gas_share(s, tb, wk)
    if free <= 0.0:
        set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)
        return
    rho = wk.zone[tb.stream[s].up_zone].gas_density
    mu, dmu = 0.0, 0.0
    if bed > 0.0:
        mu, dmu = liquid_viscosity_and_slope(wk.temperature[tb.stream[s].up_cell])
    q, dq = throat_flow(d, rho, mu, area, bed)
    by_rho = dq * d / rho if bed > 0.0 else 0.5 * q / rho
    set_gas(e, free, by_level, q, dq, by_rho, wk)
    wk.gas[e].by_T = -free * q * dq * bed / rho * dmu


@inlined
def throat_flows(turning: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Jets, valves, strainers, coffee."""
    begin = tb.law_start[LAW_THROAT]
    for e in range(begin, tb.law_start[LAW_THROAT + 1]):
        area, bed = md.throat[e - begin].area, md.throat[e - begin].bed
        if area <= 0.0:
            set_liquid(e, 1.0, 0.0, 0.0, 0.0, 0.0, wk)
            set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)
            continue
        zone_a, zone_b = tb.element[e].zone_a, tb.element[e].zone_b
        rho_a, rho_b = wk.rho[tb.element[e].cell_a], wk.rho[tb.element[e].cell_b]
        head_a, slope_a = standing_head(zone_a, tb.element[e].height_a, rho_a, tb, wk)
        head_b, slope_b = standing_head(zone_b, tb.element[e].height_b, rho_b, tb, wk)
        d = wk.zone[zone_a].pressure - wk.zone[zone_b].pressure
        wet = d + head_a - head_b
        if turning:
            turn(e, wet, d, wk)
        forward = wk.liquid[e].way == 0
        throat_liquid(e, wet if forward else -wet, area, bed, tb, wk)
        wk.liquid[e].head = slope_a if forward else slope_b
        wk.liquid[e].down_head = slope_b if forward else slope_a
        throat_gas(e, d if wk.gas[e].way == 0 else -d, area, bed, tb, wk)


@inlined
def lift_flow(k: int, way: int, d: float, rho: float, tb: Tables) -> tuple[float, float, float]:
    """A spring-held seat one way, and its leak: flow, slope, and slope by the density."""
    leak = tb.lift[k].leak * rho / COLD_WATER
    q, dq = 0.0, 0.0
    if way == 0 and d > tb.lift[k].cracking:
        q, dq = lifted_throat_flow(d, rho, tb.lift[k].area, tb.lift[k].cracking, tb.lift[k].width)
    return q + leak * d, dq + leak, (0.5 * q + leak * d) / rho


@inlined
def regulator_flow(
    k: int, way: int, d: float, outlet: float, rho: float, tb: Tables
) -> tuple[float, float, float, float]:
    """A seat that a fall of the gauge pressure ``outlet`` behind it opens, one way, and its leak: flow,
    slopes by the difference, by the pressure upstream at the same difference, and by the density."""
    leak = tb.lift[k].leak * rho / COLD_WATER
    below = (tb.lift[k].cracking - outlet) / tb.lift[k].width
    share, slope = linear_share(below, REGULATOR_ROUNDED)
    q, dq = throat_flow(d, rho, 0.0, tb.lift[k].area, 0.0)
    by_outlet = -slope / tb.lift[k].width * q
    # behind it is downstream, upstream less the difference, or, when water comes back, upstream
    by_d = share * dq + leak
    if way == 0:
        by_d -= by_outlet
    q *= share
    return q + leak * d, by_d, by_outlet, (0.5 * q + leak * d) / rho


@inlined
def regulate_pressure(e: int, k: int, d: float, tb: Tables, wk: Work) -> None:
    """A pressure regulator, driven by ``d`` its way."""
    way = wk.liquid[e].way
    s = 2 * e + way
    outlet = wk.zone[tb.element[e].zone_b].pressure - tb.site[4]
    free, by_level = gas_share(s, tb, wk)
    cell = tb.stream[s].up_cell
    q, dq, by_p, by_rho = regulator_flow(k, way, d, outlet, wk.rho[cell], tb)
    set_liquid(e, free, by_level, q, dq, by_rho * wk.drho[cell], wk)
    wk.liquid[e].by_p = (1.0 - free) * by_p
    set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)
    if free > 0.0:
        rho = wk.zone[tb.stream[s].up_zone].gas_density
        q, dq, by_p, by_rho = regulator_flow(k, way, d, outlet, rho, tb)
        set_gas(e, free, by_level, q, dq, by_rho, wk)
        wk.gas[e].by_p = free * by_p


@inlined
def lift_flows(turning: bool, tb: Tables, wk: Work) -> None:
    """Check valves, relief valves and pressure regulators."""
    begin = tb.law_start[LAW_LIFT]
    for e in range(begin, tb.law_start[LAW_LIFT + 1]):
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        if turning:
            turn(e, d, d, wk)
        way = wk.liquid[e].way
        x, s = d if way == 0 else -d, 2 * e + way
        if tb.lift[e - begin].below == 1:
            regulate_pressure(e, e - begin, x, tb, wk)
            continue
        free, by_level = gas_share(s, tb, wk)
        cell = tb.stream[s].up_cell
        q, dq, by_rho = lift_flow(e - begin, way, x, wk.rho[cell], tb)
        set_liquid(e, free, by_level, q, dq, by_rho * wk.drho[cell], wk)
        if free > 0.0:
            q, dq, by_rho = lift_flow(e - begin, way, x, wk.zone[tb.stream[s].up_zone].gas_density, tb)
            set_gas(e, free, by_level, q, dq, by_rho, wk)
        else:
            set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)


@inlined
def tube_flows(turning: bool, tb: Tables, wk: Work) -> None:
    """Hoses and pipes with friction."""
    begin = tb.law_start[LAW_TUBE]
    for e in range(begin, tb.law_start[LAW_TUBE + 1]):
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        if turning:
            turn(e, d, d, wk)
        way = wk.liquid[e].way
        x, s, k = d if way == 0 else -d, 2 * e + way, e - begin
        free, by_level = gas_share(s, tb, wk)
        cell = tb.stream[s].up_cell
        mu, dmu = liquid_viscosity_and_slope(wk.temperature[cell])
        bore, length = tb.tube[k].bore, tb.tube[k].length
        roughness, fittings = tb.tube[k].roughness, tb.tube[k].fittings
        turbulent = tb.tube[k].turbulent_from
        set_liquid(e, 1.0, 0.0, 0.0, 0.0, 0.0, wk)
        set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)
        if free < 1.0:
            rho = wk.rho[cell]
            q, dq, by_mu, by_rho = rounded_tube_flow(x, rho, mu, bore, length, roughness, fittings, turbulent)
            set_liquid(e, free, by_level, q, dq, by_mu * dmu + by_rho * wk.drho[cell], wk)
        if free > 0.0:
            rho = wk.zone[tb.stream[s].up_zone].gas_density
            q, dq, by_mu, by_rho = rounded_tube_flow(x, rho, mu, bore, length, roughness, fittings, turbulent)
            set_gas(e, free, by_level, q, dq, by_rho, wk)
            wk.gas[e].by_T = free * by_mu * dmu


@inlined
def pumped_volume(e: int, k: int, rise: float, tb: Tables) -> tuple[float, float]:
    """Volume flow [m3/s] of a running pump from a to b, and its slope by the rise."""
    cycles = tb.site[2] / tb.site[3]
    if e < tb.law_start[LAW_VANE_PUMP]:
        supply = tb.site[0] / tb.site[1]
        return vibration_pump_flow(
            rise, tb.pump[k].free * supply * cycles, tb.pump[k].shutoff * supply * supply, tb.pump[k].bend
        )
    return vane_pump_flow(
        rise, tb.pump[k].free * cycles, tb.pump[k].slip, tb.pump[k].bypass_opens, tb.pump[k].bypass_gain
    )


@inlined
def pump_flow(
    k: int, way: int, d: float, volume: float, by_d: float, on: bool, rho: float, tb: Tables
) -> tuple[float, float, float]:
    """A pump one way: the volume it moves, what a resting one lets forward, its leak; flow, slopes by the
    difference and by the density."""
    leak = tb.pump[k].back_leak * rho / COLD_WATER
    q, dq = 0.0, 0.0
    if way == 0 and not on and d > tb.pump[k].rest_cracking:
        q, dq = lifted_throat_flow(d, rho, tb.pump[k].rest_area, tb.pump[k].rest_cracking, 2.0e4)
    return rho * volume + q + leak * d, rho * by_d + dq + leak, volume + (0.5 * q + leak * d) / rho


@inlined
def pump_flows(turning: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Vibration and vane pumps; what they draw is mixed when their inlet holds vapour or air."""
    first = tb.law_start[LAW_VIBRATION_PUMP]
    for e in range(first, tb.law_start[LAW_VANE_PUMP + 1]):
        k = e - first
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        on = md.pump_on[k] > 0.0
        volume, by_rise = 0.0, 0.0
        if on:
            volume, by_rise = pumped_volume(e, k, -d, tb)
        if turning:
            drive = volume if on else d
            turn(e, drive, drive, wk)
        way = wk.liquid[e].way
        s = 2 * e + way
        if way == 1:
            d, volume = -d, -volume
        free, by_level = gas_share(s, tb, wk)
        cell = tb.stream[s].up_cell
        q, dq, by_rho = pump_flow(k, way, d, volume, -by_rise, on, wk.rho[cell], tb)
        set_liquid(e, free, by_level, q, dq, by_rho * wk.drho[cell], wk)
        if free > 0.0:
            rho = wk.zone[tb.stream[s].up_zone].gas_density
            q, dq, by_rho = pump_flow(k, way, d, volume, -by_rise, on, rho, tb)
            set_gas(e, free, by_level, q, dq, by_rho, wk)
        else:
            set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)


@inlined
def vapour_flow(d: float, p: float, rho: float, area: float) -> tuple[float, float, float]:
    """Gas from pressure ``p`` through a throat for a difference ``d`` of either sign: flow, slopes by ``d``
    and by ``p``."""
    size = abs(d)
    q, by_high, by_low = vapour_throat_flow(p, p - size, rho, area)
    return (q, -by_low, by_high + by_low) if d >= 0.0 else (-q, -by_low, -by_high - by_low)


@inlined
def vapour_flows(turning: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Steam, air and what liquid they carry: wands, vacuum valve, safety valve."""
    begin = tb.law_start[LAW_VAPOUR]
    throats = tb.law_start[LAW_THROAT + 1]
    for e in range(begin, tb.law_start[LAW_VAPOUR + 1]):
        k = e - begin
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        if turning:
            turn(e, d, d, wk)
        way = wk.liquid[e].way
        x, s = d if way == 0 else -d, 2 * e + way
        area, by_lift = md.throat[throats + k].area, 0.0
        if tb.vapour[k].cracking > 0.0:
            lifted = min(max((d - tb.vapour[k].cracking) / tb.vapour[k].width, 0.0), 1.0)
            by_lift = area / tb.vapour[k].width if 0.0 < lifted < 1.0 else 0.0
            area = tb.vapour[k].leak_area + area * lifted
        set_liquid(e, 1.0, 0.0, 0.0, 0.0, 0.0, wk)
        set_gas(e, 0.0, 0.0, 0.0, 0.0, 0.0, wk)
        if area <= 0.0:
            continue
        free, by_level = gas_share(s, tb, wk)
        cell, z = tb.stream[s].up_cell, tb.stream[s].up_zone
        if free < 1.0:
            rho = wk.rho[cell]
            q, dq = throat_flow(x, rho, 0.0, area, 0.0)
            set_liquid(e, free, by_level, q, dq + q / area * by_lift, 0.5 * q / rho * wk.drho[cell], wk)
        if free > 0.0:
            rho = wk.zone[z].gas_density
            q, dq, by_p = vapour_flow(x, wk.zone[z].pressure, rho, area)
            set_gas(e, free, by_level, q, dq + q / area * by_lift, 0.5 * q / rho, wk)
            wk.gas[e].by_p = free * by_p


@inlined
def all_flows(turning: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """Every element's flow, law by law; with ``turning`` the ways are fixed anew."""
    throat_flows(turning, tb, md, wk)
    lift_flows(turning, tb, wk)
    tube_flows(turning, tb, wk)
    pump_flows(turning, tb, md, wk)
    vapour_flows(turning, tb, md, wk)
