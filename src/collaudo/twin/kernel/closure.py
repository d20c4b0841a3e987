"""Pressure from conserved mass: the one law of every vessel.

A vessel of volume ``V`` holds a mass of water, a mass of air and cell temperatures. With all water taken as
liquid the space left is ``Vg0``. Then

    gas volume      Vg = floor + max(Vg0 - floor, 0) / (1 - rho_v / rho_l)
    vapour          m_v = rho_v(T_top) Vg, but never more than the water there is (superheated when dry)
    pressure        p = p_sat(T_top) m_v / (rho_v Vg) + m_air R T_top / Vg + max(floor - Vg0, 0) / C

Pressure can thus never fall below saturation while there is liquid; a full vessel that warms shows its expansion
through the compliance ``C``; an overfilled boiler turns hydraulic. Fixed cells keep a fixed mass, so that their
volume follows their temperature; the top cell takes what remains.
"""

from __future__ import annotations

from collaudo.compiled import compiled
from collaudo.fluid.air import R_AIR
from collaudo.fluid.water import liquid_density, liquid_energy, saturation_pressure, vapour_density
from collaudo.laws.closing import positive_part
from collaudo.twin.kernel.tables import Floats, Tables, Work

# Width, as a share of the mass at which fixed cells begin to shrink, over which the beginning is rounded.
_SHRINK_ROUNDED = 0.1
# Share of the vapour mass over which drying out is rounded.
_DRY_ROUNDED = 0.02


@compiled
def shrink_factor(mass_kg: float, full_kg: float) -> tuple[float, float]:
    """Share of their mass the fixed cells keep (1 above ``full_kg``, towards 0 when dry), and its derivative."""
    if full_kg <= 0.0:
        return 1.0, 0.0
    x = max(mass_kg, 0.0) / full_kg
    over, dover = positive_part(x - 1.0 + 0.5 * _SHRINK_ROUNDED, _SHRINK_ROUNDED)
    return max(x - over, 1e-9), (1.0 - dover) / full_kg


@compiled
def reservoir_temperature(cell: int, y: Floats, tb: Tables) -> float:
    """Temperature [K] of a reservoir: its given one, or that of its mixed contents where it keeps count of them."""
    z = tb.cell_zone[cell]
    if tb.zone_heat[z] > 0.0 and y[tb.zone_mass[z]] > 1e-3:
        return 273.15 + y[tb.zone_energy[z]] / (tb.zone_heat[z] * y[tb.zone_mass[z]])
    return tb.cell_temperature[cell]


@compiled
def close_cells(y: Floats, tb: Tables, wk: Work) -> None:
    """Temperatures, densities and energies of all thermal nodes."""
    cells = tb.cell_zone.size
    for i in range(cells):
        state = tb.cell_state[i]
        temperature = y[state] if state >= 0 else reservoir_temperature(i, y, tb)
        wk.temperature[i] = temperature
        wk.rho[i], wk.drho[i] = liquid_density(temperature)
        wk.energy[i], wk.heat[i] = liquid_energy(temperature)
    walls = tb.wall_state.size
    for i in range(walls):
        wk.temperature[cells + i] = y[tb.wall_state[i]]
    for i in range(tb.fixed_temperature.size):
        wk.temperature[cells + walls + i] = tb.fixed_temperature[i]


@compiled
def close_vessel(z: int, y: Floats, tb: Tables, wk: Work) -> None:
    """Pressure, gas volume, vapour and their derivatives for vessel ``z``."""
    first, top = tb.zone_first[z], tb.zone_first[z + 1] - 1
    volume = tb.zone_volume[z]
    floor = tb.zone_gas_floor[z] * volume
    mass = tb.zone_mass_reference[z] + y[tb.zone_mass[z]]
    air = max(y[tb.zone_air[z]], 0.0) if tb.zone_air[z] >= 0 else 0.0
    shrink, dshrink = shrink_factor(mass, tb.zone_shrink_mass[z])
    fixed_mass = 0.0
    fixed_volume = 0.0
    for i in range(first, top):
        fixed_mass += tb.cell_mass[i]
        fixed_volume += tb.cell_mass[i] / wk.rho[i]
    top_mass = mass - shrink * fixed_mass
    T = wk.temperature[top]
    rho = wk.rho[top]
    p_sat, dp_sat = saturation_pressure(T)
    rho_v, drho_v = vapour_density(T)
    space = volume - shrink * fixed_volume - top_mass / rho
    open_space, dopen = positive_part(space - floor, tb.zone_corner[z])
    swell = 1.0 / (1.0 - rho_v / rho)
    gas = floor + swell * open_space
    full_vapour = rho_v * gas
    width = _DRY_ROUNDED * full_vapour
    missing, dmissing = positive_part(full_vapour - top_mass + 0.5 * width, width)
    vapour = max(full_vapour - missing, 1e-15)
    ratio = vapour / full_vapour
    tight, dtight = positive_part(floor - space, tb.zone_corner[z])
    compliance = tb.zone_compliance[z]

    wk.gas_volume[z] = gas
    wk.level[z] = 1.0 - gas / volume
    wk.vapour[z] = vapour
    wk.top_mass[z] = top_mass
    wk.shrink[z] = shrink
    wk.dshrink[z] = dshrink
    wk.gas_density[z] = (vapour + air) / gas
    wk.vapour_share[z] = vapour / (vapour + air)
    wk.saturation[z] = p_sat
    wk.dsaturation[z] = dp_sat
    wk.pressure[z] = p_sat * ratio + air * R_AIR * T / gas + tight / compliance

    space_by_mass = -(1.0 - dshrink * fixed_mass) / rho - dshrink * fixed_volume
    space_by_top = top_mass * wk.drho[top] / (rho * rho)
    gas_by_space = swell * dopen
    dry = (1.0 - dmissing - ratio) / full_vapour * p_sat
    p_by_space = -dtight / compliance - air * R_AIR * T / (gas * gas) * gas_by_space + dry * rho_v * gas_by_space
    wk.p_by_mass[z] = p_by_space * space_by_mass + p_sat * dmissing / full_vapour * (1.0 - dshrink * fixed_mass)
    wk.p_by_air[z] = R_AIR * T / gas
    wk.p_by_cell[top] = (
        p_by_space * space_by_top + dp_sat * ratio + air * R_AIR / gas + dry * drho_v * gas
    )
    mv_by_space = (1.0 - dmissing) * rho_v * gas_by_space
    wk.mv_by_mass[z] = mv_by_space * space_by_mass + dmissing * (1.0 - dshrink * fixed_mass)
    wk.mv_by_cell[top] = mv_by_space * space_by_top + (1.0 - dmissing) * drho_v * gas
    level_by_space = -gas_by_space / volume
    wk.level_by_mass[z] = level_by_space * space_by_mass
    wk.level_by_cell[top] = level_by_space * space_by_top
    for i in range(first, top):
        space_by_cell = shrink * tb.cell_mass[i] * wk.drho[i] / (wk.rho[i] * wk.rho[i])
        wk.p_by_cell[i] = p_by_space * space_by_cell
        wk.mv_by_cell[i] = mv_by_space * space_by_cell
        wk.level_by_cell[i] = level_by_space * space_by_cell


@compiled
def close_reservoir(z: int, y: Floats, tb: Tables, wk: Work) -> None:
    """Pressure, level and gas of a reservoir: its pressure is given, its gas is room air."""
    cell = tb.zone_first[z]
    level = tb.zone_level[z]
    if tb.zone_mass[z] >= 0 and tb.zone_volume[z] > 0.0:
        level = min(max(y[tb.zone_mass[z]] / (wk.rho[cell] * tb.zone_volume[z]), 0.0), 1.0)
    wk.pressure[z] = tb.zone_pressure[z]
    wk.level[z] = level
    wk.gas_density[z] = tb.zone_pressure[z] / (R_AIR * wk.temperature[cell])
    wk.vapour_share[z] = 0.0
    wk.saturation[z] = 0.0
    wk.dsaturation[z] = 0.0


@compiled
def close(y: Floats, tb: Tables, wk: Work) -> None:
    """All that follows from the state without any flow."""
    close_cells(y, tb, wk)
    for z in range(tb.zone_is_vessel.size):
        if tb.zone_is_vessel[z] == 1:
            close_vessel(z, y, tb, wk)
        else:
            close_reservoir(z, y, tb, wk)
