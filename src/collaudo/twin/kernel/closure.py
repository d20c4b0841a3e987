"""Pressure from conserved mass: the one law of every vessel.

A vessel of volume ``V`` holds a mass of water, a mass of air and cell temperatures. With all water taken as
liquid the space left is ``Vg0``. Then

    gas volume      Vg = floor + max(Vg0 - floor, 0) / (1 - rho_v / rho_l)
    vapour          m_v = rho_v(T_top) Vg, but never more than the water there is (superheated when dry)
    pressure        p = p_sat(T_top) m_v / (rho_v Vg) + m_air R T_top / Vg + max(floor - Vg0, 0) / C

Pressure can thus never fall below saturation while there is liquid; a full vessel that warms shows its
expansion
through the compliance ``C``; an overfilled boiler turns hydraulic. Fixed cells keep a fixed mass, so that
their
volume follows their temperature; the top cell takes what remains.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
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
def close_cells(y: Floats, tb: Tables, wk: Work) -> None:
    """Temperatures, densities and energies of all thermal nodes."""
    cells = tb.cell.size
    for i in range(cells):
        state = tb.cell[i].state
        temperature = y[state] if state >= 0 else reservoir_temperature(i, y, tb)
        wk.temperature[i] = temperature
        wk.cell[i].rho, wk.cell[i].drho = liquid_density(temperature)
        wk.cell[i].energy, wk.cell[i].heat = liquid_energy(temperature)
    walls = tb.wall.size
    for i in range(walls):
        wk.temperature[cells + i] = y[tb.wall[i].state]
    for i in range(tb.fixed_temperature.size):
        wk.temperature[cells + walls + i] = tb.fixed_temperature[i]


@inlined
def close_vessel(z: int, y: Floats, tb: Tables, wk: Work) -> None:
    """Pressure, gas volume, vapour and their derivatives for vessel ``z``."""
    first, top = tb.zone_first[z], tb.zone_first[z + 1] - 1
    volume = tb.zone[z].volume
    floor = tb.zone[z].gas_floor * volume
    mass = tb.zone[z].mass_reference + y[tb.zone[z].mass]
    air = max(y[tb.zone[z].air], 0.0) if tb.zone[z].air >= 0 else 0.0
    shrink, dshrink = shrink_factor(mass, tb.zone[z].shrink_mass)
    fixed_mass = 0.0
    fixed_volume = 0.0
    for i in range(first, top):
        fixed_mass += tb.cell[i].mass
        fixed_volume += tb.cell[i].mass / wk.cell[i].rho
    top_mass = mass - shrink * fixed_mass
    T = wk.temperature[top]
    rho = wk.cell[top].rho
    p_sat, dp_sat = saturation_pressure(T)
    rho_v, drho_v = vapour_density(T)
    space = volume - shrink * fixed_volume - top_mass / rho
    open_space, dopen = positive_part(space - floor, tb.zone[z].corner)
    swell = 1.0 / (1.0 - rho_v / rho)
    gas = floor + swell * open_space
    full_vapour = rho_v * gas
    width = _DRY_ROUNDED * full_vapour
    missing, dmissing = positive_part(full_vapour - top_mass + 0.5 * width, width)
    vapour = max(full_vapour - missing, 1e-15)
    ratio = vapour / full_vapour
    tight, dtight = positive_part(floor - space, tb.zone[z].corner)
    compliance = tb.zone[z].compliance

    wk.zone[z].gas_volume = gas
    wk.zone[z].level = 1.0 - gas / volume
    wk.zone[z].vapour = vapour
    wk.zone[z].top_mass = top_mass
    wk.zone[z].shrink = shrink
    wk.zone[z].dshrink = dshrink
    wk.zone[z].gas_density = (vapour + air) / gas
    wk.zone[z].vapour_share = vapour / (vapour + air)
    wk.zone[z].saturation = p_sat
    wk.zone[z].dsaturation = dp_sat
    wk.zone[z].pressure = p_sat * ratio + air * R_AIR * T / gas + tight / compliance

    space_by_mass = -(1.0 - dshrink * fixed_mass) / rho - dshrink * fixed_volume
    space_by_top = top_mass * wk.cell[top].drho / (rho * rho)
    gas_by_space = swell * dopen
    dry = (1.0 - dmissing - ratio) / full_vapour * p_sat
    p_by_space = (
        -dtight / compliance - air * R_AIR * T / (gas * gas) * gas_by_space + dry * rho_v * gas_by_space
    )
    wk.zone[z].p_by_mass = p_by_space * space_by_mass + p_sat * dmissing / full_vapour * (
        1.0 - dshrink * fixed_mass
    )
    wk.zone[z].p_by_air = R_AIR * T / gas
    wk.cell[top].p_by_cell = (
        p_by_space * space_by_top + dp_sat * ratio + air * R_AIR / gas + dry * drho_v * gas
    )
    mv_by_space = (1.0 - dmissing) * rho_v * gas_by_space
    wk.zone[z].mv_by_mass = mv_by_space * space_by_mass + dmissing * (1.0 - dshrink * fixed_mass)
    wk.cell[top].mv_by_cell = mv_by_space * space_by_top + (1.0 - dmissing) * drho_v * gas
    level_by_space = -gas_by_space / volume
    wk.zone[z].level_by_mass = level_by_space * space_by_mass
    wk.cell[top].level_by_cell = level_by_space * space_by_top
    for i in range(first, top):
        space_by_cell = shrink * tb.cell[i].mass * wk.cell[i].drho / (wk.cell[i].rho * wk.cell[i].rho)
        wk.cell[i].p_by_cell = p_by_space * space_by_cell
        wk.cell[i].mv_by_cell = mv_by_space * space_by_cell
        wk.cell[i].level_by_cell = level_by_space * space_by_cell


@inlined
def close_reservoir(z: int, y: Floats, tb: Tables, wk: Work) -> None:
    """Pressure, level and gas of a reservoir: its pressure is given, its gas is room air."""
    cell = tb.zone_first[z]
    level = tb.zone[z].level
    if tb.zone[z].mass >= 0 and tb.zone[z].volume > 0.0:
        level = min(max(y[tb.zone[z].mass] / (wk.cell[cell].rho * tb.zone[z].volume), 0.0), 1.0)
    wk.zone[z].pressure = tb.zone[z].pressure
    wk.zone[z].level = level
    wk.zone[z].gas_density = tb.zone[z].pressure / (R_AIR * wk.temperature[cell])
    wk.zone[z].vapour_share = 0.0
    wk.zone[z].saturation = 0.0
    wk.zone[z].dsaturation = 0.0


@compiled
def close(y: Floats, tb: Tables, wk: Work) -> None:
    """All that follows from the state without any flow."""
    close_cells(y, tb, wk)
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 1:
            close_vessel(z, y, tb, wk)
        else:
            close_reservoir(z, y, tb, wk)
