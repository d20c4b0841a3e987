"""Mass flow of every element, with its derivatives. One loop a law."""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import inlined
from collaudo.fluid.water import liquid_viscosity
from collaudo.laws.closing import unit_ramp
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

# A port sees liquid and gas mixed while the level is within this share of the volume around it.
PORT_BAND = 0.04
GRAVITY = 9.80665


@inlined
def set_composition(e: int, z: int, cell: int, height: float, wk: Work) -> float:
    """What leaves zone ``z`` at a port: mass shares of liquid, steam and air; returns the density [kg/m3]."""
    gas_by_volume, slope = unit_ramp((height - wk.zone[z].level) / PORT_BAND + 0.5)
    rho = wk.cell[cell].rho
    wk.element[e].rho_by_level = 0.0
    wk.element[e].liquid_by_level = 0.0
    if gas_by_volume <= 0.0:
        wk.element[e].liquid_share = 1.0
        wk.element[e].steam_share = 0.0
        wk.element[e].air_share = 0.0
        return rho
    mixed = (1.0 - gas_by_volume) * rho + gas_by_volume * wk.zone[z].gas_density
    gas = gas_by_volume * wk.zone[z].gas_density / mixed
    wk.element[e].liquid_share = 1.0 - gas
    wk.element[e].steam_share = gas * wk.zone[z].vapour_share
    wk.element[e].air_share = gas * (1.0 - wk.zone[z].vapour_share)
    if slope > 0.0:
        by_level = -slope / PORT_BAND
        wk.element[e].rho_by_level = (wk.zone[z].gas_density - rho) * by_level
        wk.element[e].liquid_by_level = (
            -(rho * by_level + (1.0 - gas_by_volume) * rho * wk.element[e].rho_by_level / mixed) / mixed
        )
    return mixed


@inlined
def upstream_density(e: int, forward: bool, tb: Tables, wk: Work) -> float:
    """Composition and density at the port the flow leaves from."""
    if forward:
        return set_composition(e, tb.element[e].zone_a, tb.element[e].cell_a, tb.element[e].height_a, wk)
    return set_composition(e, tb.element[e].zone_b, tb.element[e].cell_b, tb.element[e].height_b, wk)


@inlined
def viscosity_and_slope(temperature_K: float) -> tuple[float, float]:
    """Viscosity [Pa s] of water and its slope [Pa s/K]: thin hot water is felt at once by every pressure."""
    slope = liquid_viscosity(temperature_K + 0.5) - liquid_viscosity(temperature_K - 0.5)
    return liquid_viscosity(temperature_K), slope


@inlined
def standing_head(z: int, height: float, rho: float, tb: Tables, wk: Work) -> float:
    """Pressure [Pa] of the liquid that stands over a port at share ``height``; drains a group by gravity."""
    over = wk.zone[z].level - height
    return GRAVITY * rho * tb.zone[z].height * over if over > 0.0 else 0.0


@inlined
def throat_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Jets, valves, strainers, coffee: liquid throats, choked where the liquid flashes."""
    start = tb.law_start[LAW_THROAT]
    for e in range(start, tb.law_start[LAW_THROAT + 1]):
        zone_a, zone_b = tb.element[e].zone_a, tb.element[e].zone_b
        p1 = wk.zone[zone_a].pressure + standing_head(
            zone_a, tb.element[e].height_a, wk.cell[tb.element[e].cell_a].rho, tb, wk
        )
        p2 = wk.zone[zone_b].pressure + standing_head(
            zone_b, tb.element[e].height_b, wk.cell[tb.element[e].cell_b].rho, tb, wk
        )
        forward = p1 >= p2
        rho = upstream_density(e, forward, tb, wk)
        z = tb.element[e].zone_a if forward else tb.element[e].zone_b
        cell = tb.element[e].cell_a if forward else tb.element[e].cell_b
        difference = abs(p1 - p2)
        by_own, by_other, by_T = 1.0, -1.0, 0.0
        if wk.element[e].liquid_share > 0.5 and tb.zone[z].is_vessel == 1:
            limit, limit_by_T = flashing_limit(max(p1, p2), wk.zone[z].saturation, wk.zone[z].dsaturation)
            if limit < difference:
                difference, by_other, by_T = limit, 0.0, limit_by_T
        bed = md.throat[e - start].bed
        mu, dmu = 0.0, 0.0
        if bed > 0.0:
            mu, dmu = viscosity_and_slope(wk.temperature[cell])
        q, dq = throat_flow(difference, rho, mu, md.throat[e - start].area, bed)
        by_T = dq * by_T - q * dq * bed / rho * dmu
        port = tb.element[e].height_a if forward else tb.element[e].height_b
        lifted = GRAVITY * wk.cell[cell].rho * tb.zone[z].height if wk.zone[z].level > port else 0.0
        wk.element[e].flow_by_level = dq * lifted * by_own * (1.0 if forward else -1.0)
        wk.element[e].flow_by_rho = (0.5 * q if bed == 0.0 else q) / rho * (1.0 if forward else -1.0)
        if forward:
            wk.element[e].flow, wk.element[e].flow_by_a, wk.element[e].flow_by_b, wk.element[e].flow_by_T = (
                q,
                dq * by_own,
                dq * by_other,
                by_T,
            )
        else:
            wk.element[e].flow, wk.element[e].flow_by_b, wk.element[e].flow_by_a, wk.element[e].flow_by_T = (
                -q,
                -dq * by_own,
                -dq * by_other,
                -by_T,
            )


@inlined
def lift_flows(tb: Tables, wk: Work) -> None:
    """Check valves and relief valves: forward through a spring-held seat, both ways through its leak."""
    start = tb.law_start[LAW_LIFT]
    for e in range(start, tb.law_start[LAW_LIFT + 1]):
        k = e - start
        difference = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        rho = upstream_density(e, difference >= 0.0, tb, wk)
        q, dq = 0.0, 0.0
        if difference > tb.lift[k].cracking:
            q, dq = lifted_throat_flow(
                difference, rho, tb.lift[k].area, tb.lift[k].cracking, tb.lift[k].width
            )
        wk.element[e].flow = q + tb.lift[k].leak * difference
        wk.element[e].flow_by_a = dq + tb.lift[k].leak
        wk.element[e].flow_by_b = -dq - tb.lift[k].leak
        wk.element[e].flow_by_T = 0.0
        wk.element[e].flow_by_rho = 0.5 * q / rho


@inlined
def tube_flows(tb: Tables, wk: Work) -> None:
    """Hoses and pipes with friction."""
    start = tb.law_start[LAW_TUBE]
    for e in range(start, tb.law_start[LAW_TUBE + 1]):
        k = e - start
        difference = wk.zone[tb.element[e].zone_a].pressure - wk.zone[tb.element[e].zone_b].pressure
        forward = difference >= 0.0
        rho = upstream_density(e, forward, tb, wk)
        cell = tb.element[e].cell_a if forward else tb.element[e].cell_b
        mu, dmu = viscosity_and_slope(wk.temperature[cell])
        tube = tb.tube[k]
        q, dq = tube_flow(difference, rho, mu, tube.bore, tube.length, tube.roughness, tube.fittings)
        wk.element[e].flow = q
        wk.element[e].flow_by_a, wk.element[e].flow_by_b = dq, -dq
        # q = mu Re(dp / mu^2): the viscosity acts as the pressure does, twice and the other way
        wk.element[e].flow_by_T = (q - 2.0 * dq * difference) / mu * dmu
        wk.element[e].flow_by_rho = dq * difference / rho
        wk.element[e].flow_by_level = 0.0


@inlined
def resting_pump_flow(k: int, drop_Pa: float, rho: float, tb: Tables) -> tuple[float, float]:
    """Forward through a pump that stands still, pushed by ``drop_Pa`` = inlet less outlet."""
    if drop_Pa <= tb.pump[k].rest_cracking:
        return 0.0, 0.0
    return lifted_throat_flow(drop_Pa, rho, tb.pump[k].rest_area, tb.pump[k].rest_cracking, 2.0e4)


@inlined
def pump_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Vibration and vane pumps; what they draw is mixed when their inlet holds vapour or air."""
    first = tb.law_start[LAW_VIBRATION_PUMP]
    supply = tb.site[0] / tb.site[1]
    cycles = tb.site[2] / tb.site[3]
    for e in range(first, tb.law_start[LAW_VANE_PUMP + 1]):
        k = e - first
        rise = wk.zone[tb.element[e].zone_b].pressure - wk.zone[tb.element[e].zone_a].pressure
        on = md.pump_on[k]
        volume, by_rise = 0.0, 0.0
        if on > 0.0 and e < tb.law_start[LAW_VANE_PUMP]:
            volume, by_rise = vibration_pump_flow(
                rise, tb.pump[k].free * supply * cycles, tb.pump[k].shutoff * supply * supply, tb.pump[k].bend
            )
        elif on > 0.0:
            volume, by_rise = vane_pump_flow(
                rise,
                tb.pump[k].free * cycles,
                tb.pump[k].slip,
                tb.pump[k].bypass_opens,
                tb.pump[k].bypass_gain,
            )
        rho = upstream_density(e, volume >= 0.0, tb, wk)
        rest, rest_by_drop = 0.0, 0.0
        if on == 0.0:
            rest, rest_by_drop = resting_pump_flow(k, -rise, rho, tb)
        leak = tb.pump[k].back_leak
        wk.element[e].flow = rho * volume + rest - leak * rise
        by_b = rho * by_rise - rest_by_drop - leak
        wk.element[e].flow_by_b, wk.element[e].flow_by_a, wk.element[e].flow_by_T = by_b, -by_b, 0.0
        wk.element[e].flow_by_rho = volume


@inlined
def vapour_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Steam, air and what liquid they carry: wands, vacuum valve, safety valve."""
    start = tb.law_start[LAW_VAPOUR]
    throats = tb.law_start[LAW_THROAT + 1]
    for e in range(start, tb.law_start[LAW_VAPOUR + 1]):
        k = e - start
        p1, p2 = wk.zone[tb.element[e].zone_a].pressure, wk.zone[tb.element[e].zone_b].pressure
        forward = p1 >= p2
        rho = upstream_density(e, forward, tb, wk)
        high, low = max(p1, p2), min(p1, p2)
        area = md.throat[throats + k].area
        by_lift = 0.0
        if tb.vapour[k].cracking > 0.0:
            area = tb.vapour[k].leak_area
            if forward and p1 - p2 > tb.vapour[k].cracking:
                lifted = min((p1 - p2 - tb.vapour[k].cracking) / tb.vapour[k].width, 1.0)
                area += md.throat[throats + k].area * lifted
                by_lift = md.throat[throats + k].area / tb.vapour[k].width if lifted < 1.0 else 0.0
        q, by_high, by_low = vapour_throat_flow(high, low, rho, area)
        if area > 0.0:
            by_high += q / area * by_lift
            by_low -= q / area * by_lift
        if wk.element[e].liquid_share > 0.0:
            # Liquid does not expand: blend towards the incompressible law by the liquid's volume share.
            cell = tb.element[e].cell_a if forward else tb.element[e].cell_b
            wet = min(wk.element[e].liquid_share * rho / wk.cell[cell].rho, 1.0)
            quadratic = area * sqrt(2.0 * rho)
            root = sqrt(high - low + 20.0)
            q = (1.0 - wet) * q + wet * quadratic * (high - low) / root
            slope = wet * quadratic * (1.0 - 0.5 * (high - low) / (root * root)) / root
            by_high = (1.0 - wet) * by_high + slope
            by_low = (1.0 - wet) * by_low - slope
        if forward:
            wk.element[e].flow, wk.element[e].flow_by_a, wk.element[e].flow_by_b = q, by_high, by_low
        else:
            wk.element[e].flow, wk.element[e].flow_by_a, wk.element[e].flow_by_b = -q, -by_low, -by_high
        wk.element[e].flow_by_T = 0.0
        wk.element[e].flow_by_rho = 0.5 * wk.element[e].flow / rho


@inlined
def all_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Every element's flow, law by law."""
    throat_flows(tb, md, wk)
    lift_flows(tb, wk)
    tube_flows(tb, wk)
    pump_flows(tb, md, wk)
    vapour_flows(tb, md, wk)
