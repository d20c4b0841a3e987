"""Gas, vapour and pressure in the space that liquid leaves in a vessel (see `closure`)."""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.laws.closing import positive_part

# Share of the vapour mass over which drying out is rounded.
_DRY_ROUNDED = 0.02


@inlined
def contents(
    space: float,
    floor: float,
    corner: float,
    per_compliance: float,
    swell: float,
    rho_v: float,
    p_sat: float,
    top_mass: float,
    air_J: float,
) -> tuple[float, float, float, float, float, float, float, float, float, float]:
    """Pressure [Pa abs], gas volume [m3] and its inverse, vapour [kg], the inverse of a full load of it and
    its share of that; the open space, its slope by ``space`` [m3], that of what is missing to a full load,
    and that of the tight space.

    ``air_J``: mass, gas constant and temperature of the air, multiplied.
    """
    open_space, dopen = positive_part(space - floor, corner)
    gas = floor + swell * open_space
    full_vapour = rho_v * gas
    width = _DRY_ROUNDED * full_vapour
    missing, dmissing = positive_part(full_vapour - top_mass + 0.5 * width, width)
    vapour = max(full_vapour - missing, 1e-15)
    per_gas, per_full = 1.0 / gas, 1.0 / full_vapour
    ratio = vapour * per_full
    tight, dtight = positive_part(floor - space, corner)
    pressure = p_sat * ratio + air_J * per_gas + tight * per_compliance
    return pressure, gas, per_gas, vapour, per_full, ratio, open_space, dopen, dmissing, dtight


@inlined
def space_slopes(
    per_gas: float,
    per_compliance: float,
    swell: float,
    rho_v: float,
    p_sat: float,
    air_J: float,
    ratio: float,
    dopen: float,
    dmissing: float,
    dtight: float,
) -> tuple[float, float, float]:
    """How pressure, gas volume and vapour follow the space, all else the same."""
    gas_by = swell * dopen
    vapour_by = (1.0 - dmissing) * rho_v * gas_by
    by = p_sat * per_gas * (vapour_by / rho_v - ratio * gas_by) - air_J * per_gas * per_gas * gas_by
    return by - dtight * per_compliance, gas_by, vapour_by
