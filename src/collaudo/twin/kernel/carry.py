"""What streams carry: water, air and energy, booked where they leave and where they arrive."""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.fluid.air import CP_AIR, R_AIR, ZERO_CELSIUS_K
from collaudo.fluid.water import vapour_enthalpy
from collaudo.twin.kernel.tables import Tables, Work


@inlined
def top_of(z: int, tb: Tables) -> int:
    """Top cell of a zone."""
    return tb.zone_first[z + 1] - 1


@inlined
def book_liquid_slope(
    col: int, dliquid: float, h: float, up_zone: int, up: int, down_zone: int, down: int, wk: Work
) -> None:
    """How a liquid flow follows the state ``col``."""
    wk.gain_by[up_zone, col] -= dliquid
    wk.gain_by[down_zone, col] += dliquid
    wk.source_by[up, col] -= dliquid
    wk.source_by[down, col] += dliquid
    wk.income_by[up, col] -= dliquid * h
    wk.income_by[down, col] += dliquid * h


@inlined
def book_gas_slope(
    col: int,
    dsteam: float,
    dair: float,
    h_steam: float,
    h_air: float,
    up_zone: int,
    up_top: int,
    down_zone: int,
    down: int,
    down_top: int,
    wk: Work,
) -> None:
    """How flows of steam and air follow the state ``col``."""
    wk.gain_by[up_zone, col] -= dsteam
    wk.gain_by[down_zone, col] += dsteam
    wk.air_by[up_zone, col] -= dair
    wk.air_by[down_zone, col] += dair
    wk.source_by[up_top, col] -= dsteam
    wk.source_by[down, col] += dsteam
    wk.income_by[up_top, col] -= dsteam * h_steam + dair * h_air
    wk.income_by[down, col] += dsteam * h_steam
    wk.income_by[down_top, col] += dair * h_air


@inlined
def carry_liquid(s: int, derive: bool, tb: Tables, wk: Work) -> None:
    """Liquid of stream ``s``: from the cell of one port to that of the other."""
    up_zone, up = tb.stream[s].up_zone, tb.stream[s].up_cell
    down_zone, down = tb.stream[s].down_zone, tb.stream[s].down_cell
    q, h = wk.stream[s].liquid, wk.energy[up]
    wk.zone[up_zone].gain -= q
    wk.zone[down_zone].gain += q
    wk.cell[up].source -= q
    wk.cell[down].source += q
    wk.income[up] -= q * h
    wk.income[down] += q * h
    if not derive:
        return
    by_d = wk.stream[s].liquid_d
    by_p = by_d + wk.stream[s].liquid_p
    by_level = by_d * wk.stream[s].head + wk.stream[s].liquid_level
    for k in range(tb.zone_column_start[up_zone], tb.zone_column_start[up_zone + 1]):
        d = by_p * wk.p_by[k] + by_level * wk.level_by[k]
        book_liquid_slope(tb.zone_column[k], d, h, up_zone, up, down_zone, down, wk)
    by_level = by_d * wk.stream[s].down_head
    for k in range(tb.zone_column_start[down_zone], tb.zone_column_start[down_zone + 1]):
        d = -by_d * wk.p_by[k] - by_level * wk.level_by[k]
        book_liquid_slope(tb.zone_column[k], d, h, up_zone, up, down_zone, down, wk)
    col = tb.cell[up].state
    if col >= 0:
        book_liquid_slope(col, wk.stream[s].liquid_T, h, up_zone, up, down_zone, down, wk)
        d = q * wk.heat[up]
        wk.income_by[up, col] -= d
        wk.income_by[down, col] += d
    if wk.stream[s].liquid_top != 0.0:
        col = tb.cell[top_of(up_zone, tb)].state
        book_liquid_slope(col, wk.stream[s].liquid_top, h, up_zone, up, down_zone, down, wk)


@inlined
def carry_gas(s: int, derive: bool, tb: Tables, wk: Work) -> None:
    """Gas of stream ``s``, from the top of one zone: its steam condenses at the other port, its air rises to
    the other top."""
    up_zone, up = tb.stream[s].up_zone, tb.stream[s].up_cell
    down_zone, down = tb.stream[s].down_zone, tb.stream[s].down_cell
    up_top, down_top = top_of(up_zone, tb), top_of(down_zone, tb)
    share, q = wk.zone[up_zone].vapour_share, wk.stream[s].gas
    steam = share * q
    air = q - steam
    T = wk.temperature[up_top]
    h_steam, dh_steam = vapour_enthalpy(T)
    h_air = CP_AIR * (T - ZERO_CELSIUS_K) + R_AIR * ZERO_CELSIUS_K
    wk.zone[up_zone].gain -= steam
    wk.zone[down_zone].gain += steam
    wk.zone[up_zone].air_gain -= air
    wk.zone[down_zone].air_gain += air
    wk.cell[up_top].source -= steam
    wk.cell[down].source += steam
    wk.income[up_top] -= steam * h_steam + air * h_air
    wk.income[down] += steam * h_steam
    wk.income[down_top] += air * h_air
    if not derive:
        return
    by_d = wk.stream[s].gas_d
    by_p = by_d + wk.stream[s].gas_p
    by_level = wk.stream[s].gas_level
    by_density = wk.stream[s].gas_density
    for k in range(tb.zone_column_start[up_zone], tb.zone_column_start[up_zone + 1]):
        d = by_p * wk.p_by[k] + by_level * wk.level_by[k] + by_density * wk.gas_by[k]
        dsteam = share * d + q * wk.share_by[k]
        col = tb.zone_column[k]
        book_gas_slope(
            col, dsteam, d - dsteam, h_steam, h_air, up_zone, up_top, down_zone, down, down_top, wk
        )
    for k in range(tb.zone_column_start[down_zone], tb.zone_column_start[down_zone + 1]):
        d = -by_d * wk.p_by[k]
        dsteam = share * d
        col = tb.zone_column[k]
        book_gas_slope(
            col, dsteam, d - dsteam, h_steam, h_air, up_zone, up_top, down_zone, down, down_top, wk
        )
    col = tb.cell[up].state
    if col >= 0 and wk.stream[s].gas_T != 0.0:
        d = wk.stream[s].gas_T
        dsteam = share * d
        book_gas_slope(
            col, dsteam, d - dsteam, h_steam, h_air, up_zone, up_top, down_zone, down, down_top, wk
        )
    col = tb.cell[up_top].state
    if col >= 0:
        wk.income_by[up_top, col] -= steam * dh_steam + air * CP_AIR
        wk.income_by[down, col] += steam * dh_steam
        wk.income_by[down_top, col] += air * CP_AIR


@inlined
def carry_all(derive: bool, tb: Tables, wk: Work) -> None:
    """All streams, and what each element passes in all."""
    for s in range(tb.stream.size):
        if wk.stream[s].running == 0.0:
            continue
        if wk.stream[s].liquid != 0.0 or wk.stream[s].liquid_d != 0.0:
            carry_liquid(s, derive, tb, wk)
        if wk.stream[s].gas != 0.0 or wk.stream[s].gas_d != 0.0:
            carry_gas(s, derive, tb, wk)


@inlined
def sum_up(tb: Tables, wk: Work) -> None:
    """What each element passes in all: net flow, shares of steam and liquid in the stronger stream."""
    for e in range(tb.element.size):
        ahead = wk.stream[2 * e].liquid + wk.stream[2 * e].gas
        back = wk.stream[2 * e + 1].liquid + wk.stream[2 * e + 1].gas
        s = 2 * e if ahead >= back else 2 * e + 1
        size = max(ahead, back)
        wk.element[e].flow = ahead - back
        gas = wk.stream[s].gas / size if size > 0.0 else 0.0
        wk.element[e].steam_share = gas * wk.zone[tb.stream[s].up_zone].vapour_share
        wk.element[e].liquid_share = 1.0 - gas
