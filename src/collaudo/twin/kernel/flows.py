"""Mass flow of every element, with its derivatives. One loop a law."""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import compiled
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


@compiled
def set_composition(e: int, z: int, cell: int, height: float, tb: Tables, wk: Work) -> float:
    """What leaves zone ``z`` at a port: mass shares of liquid, steam and air; returns the density [kg/m3]."""
    gas_by_volume, slope = unit_ramp((height - wk.level[z]) / PORT_BAND + 0.5)
    rho = wk.rho[cell]
    wk.rho_by_level[e] = 0.0
    wk.liquid_by_level[e] = 0.0
    if gas_by_volume <= 0.0:
        wk.liquid_share[e] = 1.0
        wk.steam_share[e] = 0.0
        wk.air_share[e] = 0.0
        return rho
    mixed = (1.0 - gas_by_volume) * rho + gas_by_volume * wk.gas_density[z]
    gas = gas_by_volume * wk.gas_density[z] / mixed
    wk.liquid_share[e] = 1.0 - gas
    wk.steam_share[e] = gas * wk.vapour_share[z]
    wk.air_share[e] = gas * (1.0 - wk.vapour_share[z])
    if slope > 0.0:
        by_level = -slope / PORT_BAND
        wk.rho_by_level[e] = (wk.gas_density[z] - rho) * by_level
        wk.liquid_by_level[e] = -(rho * by_level + (1.0 - gas_by_volume) * rho * wk.rho_by_level[e] / mixed) / mixed
    return mixed


@compiled
def upstream_density(e: int, forward: bool, tb: Tables, wk: Work) -> float:
    """Composition and density at the port the flow leaves from."""
    if forward:
        return set_composition(e, tb.zone_a[e], tb.cell_a[e], tb.height_a[e], tb, wk)
    return set_composition(e, tb.zone_b[e], tb.cell_b[e], tb.height_b[e], tb, wk)


@compiled
def throat_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Jets, valves, strainers, coffee: liquid throats, choked where the liquid flashes."""
    start = tb.law_start[LAW_THROAT]
    for e in range(start, tb.law_start[LAW_THROAT + 1]):
        p1, p2 = wk.pressure[tb.zone_a[e]], wk.pressure[tb.zone_b[e]]
        forward = p1 >= p2
        rho = upstream_density(e, forward, tb, wk)
        z = tb.zone_a[e] if forward else tb.zone_b[e]
        cell = tb.cell_a[e] if forward else tb.cell_b[e]
        difference = abs(p1 - p2)
        by_own, by_other, by_T = 1.0, -1.0, 0.0
        if wk.liquid_share[e] > 0.5 and tb.zone_is_vessel[z] == 1:
            limit, limit_by_T = flashing_limit(max(p1, p2), wk.saturation[z], wk.dsaturation[z])
            if limit < difference:
                difference, by_other, by_T = limit, 0.0, limit_by_T
        q, dq = throat_flow(
            difference, rho, liquid_viscosity(wk.temperature[cell]), md.throat_area[e - start], md.throat_bed[e - start]
        )
        wk.flow_by_rho[e] = (0.5 * q if md.throat_bed[e - start] == 0.0 else q) / rho * (1.0 if forward else -1.0)
        if forward:
            wk.flow[e], wk.flow_by_a[e], wk.flow_by_b[e], wk.flow_by_T[e] = q, dq * by_own, dq * by_other, dq * by_T
        else:
            wk.flow[e], wk.flow_by_b[e], wk.flow_by_a[e], wk.flow_by_T[e] = -q, -dq * by_own, -dq * by_other, -dq * by_T


@compiled
def lift_flows(tb: Tables, wk: Work) -> None:
    """Check valves and relief valves: forward through a spring-held seat, both ways through its leak."""
    start = tb.law_start[LAW_LIFT]
    for e in range(start, tb.law_start[LAW_LIFT + 1]):
        k = e - start
        difference = wk.pressure[tb.zone_a[e]] - wk.pressure[tb.zone_b[e]]
        rho = upstream_density(e, difference >= 0.0, tb, wk)
        q, dq = 0.0, 0.0
        if difference > tb.lift_cracking[k]:
            q, dq = lifted_throat_flow(difference, rho, tb.lift_area[k], tb.lift_cracking[k], tb.lift_width[k])
        wk.flow[e] = q + tb.lift_leak[k] * difference
        wk.flow_by_a[e] = dq + tb.lift_leak[k]
        wk.flow_by_b[e] = -dq - tb.lift_leak[k]
        wk.flow_by_T[e] = 0.0
        wk.flow_by_rho[e] = 0.5 * q / rho


@compiled
def tube_flows(tb: Tables, wk: Work) -> None:
    """Hoses and pipes with friction."""
    start = tb.law_start[LAW_TUBE]
    for e in range(start, tb.law_start[LAW_TUBE + 1]):
        k = e - start
        difference = wk.pressure[tb.zone_a[e]] - wk.pressure[tb.zone_b[e]]
        forward = difference >= 0.0
        rho = upstream_density(e, forward, tb, wk)
        cell = tb.cell_a[e] if forward else tb.cell_b[e]
        q, dq = tube_flow(
            difference,
            rho,
            liquid_viscosity(wk.temperature[cell]),
            tb.tube_bore[k],
            tb.tube_length[k],
            tb.tube_roughness[k],
            tb.tube_fittings[k],
        )
        wk.flow[e] = q
        wk.flow_by_a[e], wk.flow_by_b[e], wk.flow_by_T[e] = dq, -dq, 0.0
        wk.flow_by_rho[e] = 0.5 * q / rho


@compiled
def resting_pump_flow(k: int, drop_Pa: float, rho: float, tb: Tables) -> tuple[float, float]:
    """Forward through a pump that stands still, pushed by ``drop_Pa`` = inlet less outlet."""
    if drop_Pa <= tb.pump_rest_cracking[k]:
        return 0.0, 0.0
    return lifted_throat_flow(drop_Pa, rho, tb.pump_rest_area[k], tb.pump_rest_cracking[k], 2.0e4)


@compiled
def pump_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Vibration and vane pumps; what they draw is mixed when their inlet holds vapour or air."""
    first = tb.law_start[LAW_VIBRATION_PUMP]
    supply = tb.site[0] / tb.site[1]
    cycles = tb.site[2] / tb.site[3]
    for e in range(first, tb.law_start[LAW_VANE_PUMP + 1]):
        k = e - first
        rise = wk.pressure[tb.zone_b[e]] - wk.pressure[tb.zone_a[e]]
        on = md.pump_on[k]
        volume, by_rise = 0.0, 0.0
        if on > 0.0 and e < tb.law_start[LAW_VANE_PUMP]:
            volume, by_rise = vibration_pump_flow(
                rise, tb.pump_free[k] * supply * cycles, tb.pump_shutoff[k] * supply * supply, tb.pump_bend[k]
            )
        elif on > 0.0:
            volume, by_rise = vane_pump_flow(
                rise, tb.pump_free[k] * cycles, tb.pump_slip[k], tb.pump_bypass_opens[k], tb.pump_bypass_gain[k]
            )
        rho = upstream_density(e, volume >= 0.0, tb, wk)
        rest, rest_by_drop = 0.0, 0.0
        if on == 0.0:
            rest, rest_by_drop = resting_pump_flow(k, -rise, rho, tb)
        leak = tb.pump_back_leak[k]
        wk.flow[e] = rho * volume + rest - leak * rise
        by_b = rho * by_rise - rest_by_drop - leak
        wk.flow_by_b[e], wk.flow_by_a[e], wk.flow_by_T[e] = by_b, -by_b, 0.0
        wk.flow_by_rho[e] = volume


@compiled
def vapour_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Steam, air and what liquid they carry: wands, vacuum valve, safety valve."""
    start = tb.law_start[LAW_VAPOUR]
    throats = tb.law_start[LAW_THROAT + 1]
    for e in range(start, tb.law_start[LAW_VAPOUR + 1]):
        k = e - start
        p1, p2 = wk.pressure[tb.zone_a[e]], wk.pressure[tb.zone_b[e]]
        forward = p1 >= p2
        rho = upstream_density(e, forward, tb, wk)
        high, low = max(p1, p2), min(p1, p2)
        area = md.throat_area[throats + k]
        by_lift = 0.0
        if tb.vapour_cracking[k] > 0.0:
            area = tb.vapour_leak_area[k]
            if forward and p1 - p2 > tb.vapour_cracking[k]:
                lifted = min((p1 - p2 - tb.vapour_cracking[k]) / tb.vapour_width[k], 1.0)
                area += md.throat_area[throats + k] * lifted
                by_lift = md.throat_area[throats + k] / tb.vapour_width[k] if lifted < 1.0 else 0.0
        q, by_high, by_low = vapour_throat_flow(high, low, rho, area)
        if area > 0.0:
            by_high += q / area * by_lift
            by_low -= q / area * by_lift
        if wk.liquid_share[e] > 0.0:
            # Liquid does not expand: blend towards the incompressible law by the liquid's volume share.
            cell = tb.cell_a[e] if forward else tb.cell_b[e]
            wet = min(wk.liquid_share[e] * rho / wk.rho[cell], 1.0)
            quadratic = area * sqrt(2.0 * rho)
            root = sqrt(high - low + 20.0)
            q = (1.0 - wet) * q + wet * quadratic * (high - low) / root
            slope = wet * quadratic * (1.0 - 0.5 * (high - low) / (root * root)) / root
            by_high = (1.0 - wet) * by_high + slope
            by_low = (1.0 - wet) * by_low - slope
        if forward:
            wk.flow[e], wk.flow_by_a[e], wk.flow_by_b[e] = q, by_high, by_low
        else:
            wk.flow[e], wk.flow_by_a[e], wk.flow_by_b[e] = -q, -by_low, -by_high
        wk.flow_by_T[e] = 0.0
        wk.flow_by_rho[e] = 0.5 * wk.flow[e] / rho


@compiled
def all_flows(tb: Tables, md: Mode, wk: Work) -> None:
    """Every element's flow, law by law."""
    throat_flows(tb, md, wk)
    lift_flows(tb, wk)
    tube_flows(tb, wk)
    pump_flows(tb, md, wk)
    vapour_flows(tb, md, wk)
