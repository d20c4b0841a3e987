"""Pressure from conserved mass: the one law of every vessel.

A vessel of volume ``V`` holds a mass of water, a mass of air and cell temperatures. With all water taken as
liquid the space left is ``Vg0``. Then

    gas volume      Vg = floor + max(Vg0 - floor, 0) / (1 - rho_v / rho_l)
    vapour          m_v = rho_v(T_top) Vg, but never more than the water there is (superheated when dry)
    pressure        p = p_sat(T_top) m_v / (rho_v Vg) + m_air R T_top / Vg + max(floor - Vg0, 0) / C

Pressure can thus never fall below saturation while there is liquid; a full vessel that warms shows its
expansion through the compliance ``C``; an overfilled boiler turns hydraulic. Fixed cells keep a fixed mass,
so that their volume follows their temperature; the top cell takes what remains.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.fluid.air import R_AIR
from collaudo.fluid.water import liquid_density, liquid_energy, saturation_pressure, vapour_density_at
from collaudo.laws.closing import positive_part
from collaudo.twin.kernel.contents import contents, space_slopes
from collaudo.twin.kernel.piston import follow_rise, resting_on, rise_that_fits
from collaudo.twin.kernel.tables import Floats, Tables, Work

# Width, as a share of the mass at which fixed cells begin to shrink, over which the beginning is rounded.
_SHRINK_ROUNDED = 0.1


@compiled
def shrink_factor(mass_kg: float, full_kg: float) -> tuple[float, float]:
    """Share of their mass the fixed cells keep (1 above ``full_kg``, towards 0 when dry), and its
    derivative."""
    if full_kg <= 0.0:
        return 1.0, 0.0
    x = max(mass_kg, 0.0) / full_kg
    over, dover = positive_part(x - 1.0 + 0.5 * _SHRINK_ROUNDED, _SHRINK_ROUNDED)
    return max(x - over, 1e-9), (1.0 - dover) / full_kg


@inlined
def reservoir_temperature(cell: int, y: Floats, tb: Tables) -> float:
    """Temperature [K] of a reservoir: its given one, or that of its mixed contents where it keeps count of
    them."""
    z = tb.cell[cell].zone
    if tb.zone[z].heat > 0.0 and y[tb.zone[z].mass] > 1e-3:
        return 273.15 + y[tb.zone[z].energy] / (tb.zone[z].heat * y[tb.zone[z].mass])
    return tb.cell[cell].temperature


@inlined
def close_cells(first: int, end: int, wk: Work) -> None:
    """Densities and energies of the cells ``first`` to ``end``, from their temperatures."""
    for i in range(first, end):
        wk.rho[i], wk.drho[i] = liquid_density(wk.temperature[i])
        wk.per_rho[i] = 1.0 / wk.rho[i]
    for i in range(first, end):
        wk.energy[i], wk.heat[i] = liquid_energy(wk.temperature[i])


@inlined
def space_by_cell(i: int, shrink: float, tb: Tables, wk: Work) -> float:
    """How the space left in a vessel follows the temperature of its fixed cell ``i`` [m3/K]."""
    return shrink * tb.cell[i].mass * wk.drho[i] * wk.per_rho[i] * wk.per_rho[i]


@inlined
def close_vessel(z: int, derive: bool, y: Floats, tb: Tables, wk: Work) -> None:
    """Pressure, gas volume and vapour of vessel ``z``; with ``derive`` how they follow its states."""
    first, top = tb.zone_first[z], tb.zone_first[z + 1] - 1
    volume, compliance, corner = tb.zone[z].volume, tb.zone[z].compliance, tb.zone[z].corner
    floor = tb.zone[z].gas_floor * volume
    mass = tb.zone[z].mass_reference + y[tb.zone[z].mass]
    air, dair = y[tb.zone[z].air], 1.0
    if air < 0.0:
        air, dair = 0.0, 0.0
    shrink, dshrink = shrink_factor(mass, tb.zone[z].shrink_mass)
    fixed_mass, fixed_volume = 0.0, 0.0
    for i in range(first, top):
        fixed_mass += tb.cell[i].mass
        fixed_volume += tb.cell[i].mass * wk.per_rho[i]
    top_mass = mass - shrink * fixed_mass
    T = wk.temperature[top]
    p_sat, dp_sat = saturation_pressure(T)
    rho_v, drho_v = vapour_density_at(T, p_sat, dp_sat)
    per_rho = wk.per_rho[top]
    space = volume - shrink * fixed_volume - top_mass * per_rho
    swell = 1.0 / (1.0 - rho_v * per_rho)
    per_compliance, air_J = 1.0 / compliance, air * R_AIR * T
    piston = tb.zone[z].piston
    rise, rise_by_p, rise_by_hand = 0.0, 0.0, 0.0
    if piston >= 0:
        rest, rest_by_hand = resting_on(piston, y, tb)
        rise, rise_by_p, rise_by_hand = rise_that_fits(
            space, floor, corner, per_compliance, swell, rho_v, p_sat, top_mass, air_J, rest,
            tb.piston[piston].stroke, tb.piston[piston].compliance, tb.site[4] + tb.piston[piston].preload
        )  # fmt: skip
        rise_by_hand *= rest_by_hand
        space += rise
        volume += rise
    pressure, gas, per_gas, vapour, per_full, ratio, open_space, dopen, dmissing, dtight = contents(
        space, floor, corner, per_compliance, swell, rho_v, p_sat, top_mass, air_J
    )
    per_volume, per_all = 1.0 / volume, 1.0 / (vapour + air)
    share = vapour * per_all
    air_pressure = air_J * per_gas

    wk.zone[z].gas_volume = gas
    wk.zone[z].level = 1.0 - gas * per_volume
    wk.zone[z].vapour = vapour
    wk.zone[z].top_mass = top_mass
    wk.zone[z].shrink = shrink
    wk.zone[z].dshrink = dshrink
    wk.zone[z].fixed_mass = fixed_mass
    wk.zone[z].gas_density = (vapour + air) * per_gas
    wk.zone[z].vapour_share = share
    wk.zone[z].saturation = p_sat
    wk.zone[z].dsaturation = dp_sat
    wk.zone[z].pressure = pressure
    wk.zone[z].rise = rise

    at = tb.zone_column_start[z]
    cells = at + 2
    top_by_mass = 1.0 - dshrink * fixed_mass
    gas_by_space = swell * dopen
    vapour_by_space = (1.0 - dmissing) * rho_v * gas_by_space
    space_by_mass = -top_by_mass * per_rho - dshrink * fixed_volume
    space_by_top = top_mass * wk.drho[top] * per_rho * per_rho
    # the vapour's density alters the swelling of what is open
    gas_by_top = open_space * swell * swell * per_rho * (drho_v - rho_v * per_rho * wk.drho[top])
    vapour_by_top = (1.0 - dmissing) * (drho_v * gas + rho_v * gas_by_top)
    wk.vapour_by[at] = vapour_by_space * space_by_mass + dmissing * top_by_mass
    wk.vapour_by[at + 1] = 0.0
    for i in range(first, top):
        wk.vapour_by[cells + i - first] = vapour_by_space * space_by_cell(i, shrink, tb, wk)
    last = cells + top - first
    wk.vapour_by[last] = vapour_by_space * space_by_top + vapour_by_top
    if not derive and piston < 0:
        return
    # full vapour by space and top temperature; ratio = vapour / full
    dry_by_vapour = p_sat * per_full
    p_by_gas = -air_pressure * per_gas - dry_by_vapour * ratio * rho_v
    density = wk.zone[z].gas_density
    for k in range(at, last + 1):
        space_by, gas_by, straight = 0.0, 0.0, 0.0
        if k == at:
            space_by = space_by_mass
        elif k == last:
            space_by = space_by_top
            gas_by = gas_by_top
            straight = dp_sat * ratio + air_pressure / T - dry_by_vapour * ratio * drho_v * gas
        elif k >= cells:
            space_by = space_by_cell(first + k - cells, shrink, tb, wk)
        gas_by += gas_by_space * space_by
        dvapour = wk.vapour_by[k]
        wk.p_by[k] = (
            straight + p_by_gas * gas_by + dry_by_vapour * dvapour - dtight * per_compliance * space_by
        )
        wk.level_by[k] = -gas_by * per_volume
        wk.gas_by[k] = (dvapour - density * gas_by) * per_gas
        wk.share_by[k] = (1.0 - share) * dvapour * per_all
    wk.p_by[at + 1] = R_AIR * T * per_gas * dair
    wk.gas_by[at + 1] = per_gas * dair
    wk.share_by[at + 1] = -share * per_all * dair
    if piston >= 0:
        p_by, gas_by, vapour_by = space_slopes(
            per_gas, per_compliance, swell, rho_v, p_sat, air_J, ratio, dopen, dmissing, dtight
        )
        by_space = (
            p_by,
            (gas * per_volume - gas_by) * per_volume,
            (vapour_by - density * gas_by) * per_gas,
            (1.0 - share) * vapour_by * per_all,
            vapour_by,
        )
        follow_rise(
            at, last + 2, rise_by_p, rise_by_hand, by_space,
            wk.p_by, wk.level_by, wk.gas_by, wk.share_by, wk.vapour_by
        )  # fmt: skip


@inlined
def close_reservoir(z: int, y: Floats, tb: Tables, wk: Work) -> None:
    """Pressure, level and gas of a reservoir: its pressure is given, its gas is room air."""
    cell = tb.zone_first[z]
    level = tb.zone[z].level
    if tb.zone[z].mass >= 0 and tb.zone[z].volume > 0.0:
        level = min(max(y[tb.zone[z].mass] / (wk.rho[cell] * tb.zone[z].volume), 0.0), 1.0)
    wk.zone[z].pressure = tb.zone[z].pressure
    wk.zone[z].level = level
    wk.zone[z].gas_density = tb.zone[z].pressure / (R_AIR * wk.temperature[cell])
    wk.zone[z].vapour_share = 0.0
    wk.zone[z].saturation = 0.0
    wk.zone[z].dsaturation = 0.0


@inlined
def take_temperatures(y: Floats, tb: Tables, wk: Work) -> None:
    """Temperatures of all thermal nodes that are states or reservoirs."""
    cells, walls = tb.cell.size, tb.wall.size
    for i in range(cells + walls):
        state = tb.node_state[i]
        wk.temperature[i] = y[state] if state >= 0 else reservoir_temperature(i, y, tb)
    for i in range(tb.fixed_temperature.size):
        wk.temperature[cells + walls + i] = tb.fixed_temperature[i]


@inlined
def close_here(y: Floats, derive: bool, tb: Tables, wk: Work) -> None:
    """All that follows from the state without any flow."""
    take_temperatures(y, tb, wk)
    close_cells(0, tb.cell.size, wk)
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 1:
            close_vessel(z, derive, y, tb, wk)
        else:
            close_reservoir(z, y, tb, wk)


@compiled
def close(y: Floats, derive: bool, tb: Tables, wk: Work) -> None:
    """`close_here` as a function of its own."""
    close_here(y, derive, tb, wk)


@compiled
def close_watched(y: Floats, tb: Tables, wk: Work) -> None:
    """As `close`, of what devices watch alone."""
    for n in range(tb.watched_zone.size):
        z = tb.watched_zone[n]
        first, end = tb.zone_first[z], tb.zone_first[z + 1]
        for i in range(first, end):
            state = tb.node_state[i]
            wk.temperature[i] = y[state] if state >= 0 else reservoir_temperature(i, y, tb)
        close_cells(first, end, wk)
        if tb.zone[z].is_vessel == 1:
            close_vessel(z, False, y, tb, wk)
        else:
            close_reservoir(z, y, tb, wk)
