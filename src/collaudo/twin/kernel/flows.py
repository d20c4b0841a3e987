"""Mass flows through every element, each way, with their derivatives. One loop a law.

An element is two streams, one each way. A stream takes from its port upstream liquid through the share of the
opening that is covered and gas through the rest, each with its own density (separated flow). Liquid also feels
the head of what stands over the port's lower lip, so that it can run out while air comes in over it. Near rest,
within `REST_BAND_PA`, both ways run at once, so that what is carried passes from one side's contents to the
other's without a jump; what one side loses the other gains in any case.
"""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.fluid.water import liquid_viscosity_and_slope
from collaudo.laws.closing import forward_part, unit_ramp
from collaudo.laws.pump import vane_pump_flow, vibration_pump_flow
from collaudo.laws.throat import flashing_limit, lifted_throat_flow, throat_flow
from collaudo.laws.tube import tube_flow
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

# A port sees liquid and gas while the level is within this share of the volume around it.
PORT_BAND = 0.04
# Pressure difference below which both ways run; for pumps the volume flow.
REST_BAND_PA = 0.2
REST_BAND_M3_PER_S = 1.0e-9
GRAVITY = 9.80665
# A seat's leak is declared as a mass flow of cold water.
COLD_WATER = 1000.0


@inlined
def gas_share(s: int, tb: Tables, wk: Work) -> tuple[float, float]:
    """Share of a stream's port that gas takes, and how it follows the level."""
    share, slope = unit_ramp((tb.stream[s].height - wk.zone[tb.stream[s].up_zone].level) / PORT_BAND + 0.5)
    return share, -slope / PORT_BAND


@inlined
def standing_head(z: int, height: float, rho: float, tb: Tables, wk: Work) -> tuple[float, float]:
    """Pressure [Pa] of the liquid that stands over the lower lip of a port, and its slope by the level; drains a
    group by gravity."""
    over = wk.zone[z].level - height + 0.5 * PORT_BAND
    weight = GRAVITY * rho * tb.zone[z].height
    return (weight * over, weight) if over > 0.0 else (0.0, 0.0)


@inlined
def stop(s: int, wk: Work) -> None:
    """Nothing flows in stream ``s``."""
    wk.stream[s].running = 0.0
    wk.stream[s].liquid = 0.0
    wk.stream[s].gas = 0.0


@inlined
def liquid_stream(
    s: int, covered: float, by_level: float, q: float, dq: float, by_p: float, by_T: float, wk: Work
) -> None:
    """Book ``q`` [kg/s] that all of the opening would pass, were it covered, and its slopes."""
    wk.stream[s].liquid = covered * q
    wk.stream[s].liquid_d = covered * dq
    wk.stream[s].liquid_p = covered * by_p
    wk.stream[s].liquid_T = covered * by_T
    wk.stream[s].liquid_level = -by_level * q
    wk.stream[s].liquid_top = 0.0


@inlined
def gas_stream(
    s: int, free: float, by_level: float, q: float, dq: float, by_p: float, by_T: float, by_rho: float, wk: Work
) -> None:
    """The same for gas through the free share of the opening."""
    wk.stream[s].gas = free * q
    wk.stream[s].gas_d = free * dq
    wk.stream[s].gas_p = free * by_p
    wk.stream[s].gas_T = free * by_T
    wk.stream[s].gas_density = free * by_rho
    wk.stream[s].gas_level = by_level * q


@inlined
def start(s: int, wk: Work) -> None:
    """A stream that runs, with nothing in it yet, its ports without liquid over them."""
    wk.stream[s].running = 1.0
    wk.stream[s].head = 0.0
    wk.stream[s].down_head = 0.0
    liquid_stream(s, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, wk)
    gas_stream(s, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, wk)


@inlined
def throat_stream(s: int, d: float, head: float, area: float, bed: float, tb: Tables, wk: Work) -> None:
    """A liquid throat or coffee bed one way, liquid driven by ``d + head``; choked where it flashes."""
    wet, dwet = forward_part(d + head, REST_BAND_PA)
    dry, ddry = forward_part(d, REST_BAND_PA)
    if wet + dry <= 0.0 or area <= 0.0:
        stop(s, wk)
        return
    start(s, wk)
    z, cell = tb.stream[s].up_zone, tb.stream[s].up_cell
    free, by_level = gas_share(s, tb, wk)
    mu, dmu = 0.0, 0.0
    if bed > 0.0:
        mu, dmu = liquid_viscosity_and_slope(wk.temperature[cell])
    if free < 1.0 and wet > 0.0:
        rho = wk.rho[cell]
        by_p, by_top = 0.0, 0.0
        if tb.zone[z].is_vessel == 1:
            limit, limit_by_T = flashing_limit(
                wk.zone[z].pressure, wk.zone[z].saturation, wk.zone[z].dsaturation
            )
            if limit < wet:
                wet, dwet, by_p, by_top = limit, 0.0, 1.0, limit_by_T
        q, dq = throat_flow(wet, rho, mu, area, bed)
        by_rho = dq * wet / rho if bed > 0.0 else 0.5 * q / rho
        by_T = by_rho * wk.drho[cell] - q * dq * bed / rho * dmu
        liquid_stream(s, 1.0 - free, by_level, q, dq * dwet, dq * by_p, by_T, wk)
        wk.stream[s].liquid_top = (1.0 - free) * dq * by_top
    if free > 0.0 and dry > 0.0:
        rho = wk.zone[z].gas_density
        q, dq = throat_flow(dry, rho, mu, area, bed)
        by_rho = dq * dry / rho if bed > 0.0 else 0.5 * q / rho
        gas_stream(s, free, by_level, q, dq * ddry, 0.0, -q * dq * bed / rho * dmu, by_rho, wk)


@inlined
def throat_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Jets, valves, strainers, coffee."""
    begin = tb.law_start[LAW_THROAT]
    for e in range(begin, tb.law_start[LAW_THROAT + 1]):
        zone_a, zone_b = tb.element[e].zone_a, tb.element[e].zone_b
        rho_a, rho_b = wk.rho[tb.element[e].cell_a], wk.rho[tb.element[e].cell_b]
        head_a, slope_a = standing_head(zone_a, tb.element[e].height_a, rho_a, tb, wk)
        head_b, slope_b = standing_head(zone_b, tb.element[e].height_b, rho_b, tb, wk)
        d, head = wk.zone[zone_a].pressure - wk.zone[zone_b].pressure, head_a - head_b
        area, bed = md.throat[e - begin].area, md.throat[e - begin].bed
        throat_stream(2 * e, d, head, area, bed, tb, wk)
        throat_stream(2 * e + 1, -d, -head, area, bed, tb, wk)
        wk.stream[2 * e].head, wk.stream[2 * e].down_head = slope_a, slope_b
        wk.stream[2 * e + 1].head, wk.stream[2 * e + 1].down_head = slope_b, slope_a


@inlined
def lift_stream(s: int, k: int, d: float, tb: Tables, wk: Work) -> None:
    """A spring-held seat one way (``s`` even: forward, where it lifts), and its leak."""
    x, dx = forward_part(d, REST_BAND_PA)
    if x <= 0.0:
        stop(s, wk)
        return
    start(s, wk)
    z, cell = tb.stream[s].up_zone, tb.stream[s].up_cell
    free, by_level = gas_share(s, tb, wk)
    lifted = s % 2 == 0 and x > tb.lift[k].cracking
    area, cracking, width, leak = tb.lift[k].area, tb.lift[k].cracking, tb.lift[k].width, tb.lift[k].leak
    if free < 1.0:
        rho = wk.rho[cell]
        q, dq = 0.0, 0.0
        if lifted:
            q, dq = lifted_throat_flow(x, rho, area, cracking, width)
        by_T = 0.5 * q / rho * wk.drho[cell]
        liquid_stream(s, 1.0 - free, by_level, q + leak * x, (dq + leak) * dx, 0.0, by_T, wk)
    if free > 0.0:
        rho = wk.zone[z].gas_density
        thin = leak / COLD_WATER
        q, dq = 0.0, 0.0
        if lifted:
            q, dq = lifted_throat_flow(x, rho, area, cracking, width)
        by_rho = 0.5 * q / rho + thin * x
        gas_stream(s, free, by_level, q + thin * rho * x, (dq + thin * rho) * dx, 0.0, 0.0, by_rho, wk)


@inlined
def lift_flows(tb: Tables, wk: Work) -> None:
    """Check valves and relief valves."""
    begin = tb.law_start[LAW_LIFT]
    for e in range(begin, tb.law_start[LAW_LIFT + 1]):
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        lift_stream(2 * e, e - begin, d, tb, wk)
        lift_stream(2 * e + 1, e - begin, -d, tb, wk)


@inlined
def tube_stream(s: int, k: int, d: float, tb: Tables, wk: Work) -> None:
    """A hose or pipe with friction one way."""
    x, dx = forward_part(d, REST_BAND_PA)
    if x <= 0.0:
        stop(s, wk)
        return
    start(s, wk)
    z, cell = tb.stream[s].up_zone, tb.stream[s].up_cell
    free, by_level = gas_share(s, tb, wk)
    mu, dmu = liquid_viscosity_and_slope(wk.temperature[cell])
    bore, length = tb.tube[k].bore, tb.tube[k].length
    roughness, fittings = tb.tube[k].roughness, tb.tube[k].fittings
    if free < 1.0:
        rho = wk.rho[cell]
        q, dq = tube_flow(x, rho, mu, bore, length, roughness, fittings)
        # q = mu Re(rho dp / mu^2): the viscosity acts as the pressure does, twice and the other way
        by_T = (q - 2.0 * dq * x) / mu * dmu + dq * x / rho * wk.drho[cell]
        liquid_stream(s, 1.0 - free, by_level, q, dq * dx, 0.0, by_T, wk)
    if free > 0.0:
        rho = wk.zone[z].gas_density
        q, dq = tube_flow(x, rho, mu, bore, length, roughness, fittings)
        by_T = (q - 2.0 * dq * x) / mu * dmu
        gas_stream(s, free, by_level, q, dq * dx, 0.0, by_T, dq * x / rho, wk)


@inlined
def tube_flows(tb: Tables, wk: Work) -> None:
    """Hoses and pipes."""
    begin = tb.law_start[LAW_TUBE]
    for e in range(begin, tb.law_start[LAW_TUBE + 1]):
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        tube_stream(2 * e, e - begin, d, tb, wk)
        tube_stream(2 * e + 1, e - begin, -d, tb, wk)


@inlined
def pump_stream(s: int, k: int, d: float, volume: float, by_d: float, on: bool, tb: Tables, wk: Work) -> None:
    """A pump one way: the volume it moves that way, what a resting one lets forward, its leak."""
    v, dv = forward_part(volume, REST_BAND_M3_PER_S) if on else (0.0, 0.0)
    x, dx = forward_part(d, REST_BAND_PA)
    if v <= 0.0 and x <= 0.0:
        stop(s, wk)
        return
    start(s, wk)
    z, cell = tb.stream[s].up_zone, tb.stream[s].up_cell
    free, by_level = gas_share(s, tb, wk)
    cracking, leak = tb.pump[k].rest_cracking, tb.pump[k].back_leak
    rests = s % 2 == 0 and not on and x > cracking
    if free < 1.0:
        rho = wk.rho[cell]
        q, dq = 0.0, 0.0
        if rests:
            q, dq = lifted_throat_flow(x, rho, tb.pump[k].rest_area, cracking, 2.0e4)
        by_T = (v + 0.5 * q / rho) * wk.drho[cell]
        slope = rho * dv * by_d + (dq + leak) * dx
        liquid_stream(s, 1.0 - free, by_level, rho * v + q + leak * x, slope, 0.0, by_T, wk)
    if free > 0.0:
        rho = wk.zone[z].gas_density
        thin = leak / COLD_WATER
        q, dq = 0.0, 0.0
        if rests:
            q, dq = lifted_throat_flow(x, rho, tb.pump[k].rest_area, cracking, 2.0e4)
        slope = rho * dv * by_d + (dq + thin * rho) * dx
        by_rho = v + 0.5 * q / rho + thin * x
        gas_stream(s, free, by_level, rho * (v + thin * x) + q, slope, 0.0, 0.0, by_rho, wk)


@inlined
def pump_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Vibration and vane pumps; what they draw is mixed when their inlet holds vapour or air."""
    first = tb.law_start[LAW_VIBRATION_PUMP]
    supply = tb.site[0] / tb.site[1]
    cycles = tb.site[2] / tb.site[3]
    for e in range(first, tb.law_start[LAW_VANE_PUMP + 1]):
        k = e - first
        rise = wk.zone[tb.element[e].zone_b].pressure - wk.zone[tb.element[e].zone_a].pressure
        on = md.pump_on[k] > 0.0
        volume, by_rise = 0.0, 0.0
        if on and e < tb.law_start[LAW_VANE_PUMP]:
            volume, by_rise = vibration_pump_flow(
                rise, tb.pump[k].free * supply * cycles, tb.pump[k].shutoff * supply * supply, tb.pump[k].bend
            )
        elif on:
            volume, by_rise = vane_pump_flow(
                rise,
                tb.pump[k].free * cycles,
                tb.pump[k].slip,
                tb.pump[k].bypass_opens,
                tb.pump[k].bypass_gain,
            )
        pump_stream(2 * e, k, -rise, volume, -by_rise, on, tb, wk)
        pump_stream(2 * e + 1, k, rise, -volume, -by_rise, on, tb, wk)


@inlined
def vapour_stream(s: int, d: float, area: float, by_lift: float, tb: Tables, wk: Work) -> None:
    """A steam throat one way; ``by_lift``: how its area follows the difference."""
    x, dx = forward_part(d, REST_BAND_PA)
    if x <= 0.0 or area <= 0.0:
        stop(s, wk)
        return
    start(s, wk)
    z, cell = tb.stream[s].up_zone, tb.stream[s].up_cell
    free, by_level = gas_share(s, tb, wk)
    if free < 1.0:
        rho = wk.rho[cell]
        q, dq = throat_flow(x, rho, 0.0, area, 0.0)
        slope = dq * dx + q / area * by_lift
        liquid_stream(s, 1.0 - free, by_level, q, slope, 0.0, 0.5 * q / rho * wk.drho[cell], wk)
    if free > 0.0:
        rho, p = wk.zone[z].gas_density, wk.zone[z].pressure
        q, by_high, by_low = vapour_throat_flow(p, p - x, rho, area)
        slope = -by_low * dx + q / area * by_lift
        gas_stream(s, free, by_level, q, slope, by_high + by_low, 0.0, 0.5 * q / rho, wk)


@inlined
def vapour_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Steam, air and what liquid they carry: wands, vacuum valve, safety valve."""
    begin = tb.law_start[LAW_VAPOUR]
    throats = tb.law_start[LAW_THROAT + 1]
    for e in range(begin, tb.law_start[LAW_VAPOUR + 1]):
        k = e - begin
        d = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        area = md.throat[throats + k].area
        leak_area, by_lift = area, 0.0
        if tb.vapour[k].cracking > 0.0:
            leak_area = tb.vapour[k].leak_area
            lifted = min(max((d - tb.vapour[k].cracking) / tb.vapour[k].width, 0.0), 1.0)
            by_lift = area / tb.vapour[k].width if 0.0 < lifted < 1.0 else 0.0
            area = leak_area + area * lifted
        vapour_stream(2 * e, d, area, by_lift, tb, wk)
        vapour_stream(2 * e + 1, -d, leak_area, 0.0, tb, wk)


@inlined
def all_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Every element's flow, law by law."""
    throat_flows(tb, md, wk)
    lift_flows(tb, wk)
    tube_flows(tb, wk)
    pump_flows(tb, md, wk)
    vapour_flows(tb, md, wk)
