"""What flows carry: water, air and energy, booked where they leave and where they arrive."""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.fluid.air import CP_AIR, R_AIR, ZERO_CELSIUS_K
from collaudo.fluid.water import vapour_enthalpy
from collaudo.twin.kernel.tables import Tables, Work

# How many tolerances' share of a cell may go the wrong way while a flow turns round.
WRONG_WAY_TOLERANCES = 10.0
# What the tolerances of the pressures at both ends of an element may drive of liquid has not turned: between
# vessels that a wide hose joins the flow within a step is known no better.
UNSURE_TOLERANCES = 2.0


@inlined
def top_of(z: int, tb: Tables) -> int:
    """Top cell of a zone."""
    return tb.zone_first[z + 1] - 1


@inlined
def book_water(col: int, d: float, from_row: int, to_row: int, up: int, down: int, wk: Work) -> None:
    """How a flow of water from cell ``up`` to cell ``down`` follows the state ``col``."""
    wk.jacobian[from_row, col] -= d
    wk.jacobian[to_row, col] += d
    wk.source_by[up, col] -= d
    wk.source_by[down, col] += d


@inlined
def book_pair(col: int, d: float, from_row: int, to_row: int, wk: Work) -> None:
    """How what passes from one store to another follows the state ``col``; rows of the Jacobian."""
    wk.jacobian[from_row, col] -= d
    wk.jacobian[to_row, col] += d


@inlined
def carry_liquid(e: int, derive: bool, tb: Tables, wk: Work) -> None:
    """Liquid through element ``e``: from the cell of one port to that of the other."""
    s = 2 * e + wk.liquid[e].way
    up_zone, up = tb.stream[s].up_zone, tb.stream[s].up_cell
    down_zone, down = tb.stream[s].down_zone, tb.stream[s].down_cell
    q, h = wk.liquid[e].flow, wk.energy[up]
    wk.zone[up_zone].gain -= q
    wk.zone[down_zone].gain += q
    wk.cell[up].source -= q
    wk.cell[down].source += q
    wk.income[up] -= q * h
    wk.income[down] += q * h
    if not derive:
        return
    from_mass, to_mass = tb.zone[up_zone].mass, tb.zone[down_zone].mass
    from_heat, to_heat = tb.node_row[up], tb.node_row[down]
    by_d = wk.liquid[e].by_d
    by_p = by_d + wk.liquid[e].by_p
    by_level = by_d * wk.liquid[e].head + wk.liquid[e].by_level
    for k in range(tb.zone_column_start[up_zone], tb.zone_column_start[up_zone + 1]):
        d, col = by_p * wk.p_by[k] + by_level * wk.level_by[k], tb.zone_column[k]
        book_water(col, d, from_mass, to_mass, up, down, wk)
        book_pair(col, d * h, from_heat, to_heat, wk)
    by_level = by_d * wk.liquid[e].down_head
    for k in range(tb.zone_column_start[down_zone], tb.zone_column_start[down_zone + 1]):
        d, col = -by_d * wk.p_by[k] - by_level * wk.level_by[k], tb.zone_column[k]
        book_water(col, d, from_mass, to_mass, up, down, wk)
        book_pair(col, d * h, from_heat, to_heat, wk)
    col = tb.cell[up].state
    if col >= 0:
        d = wk.liquid[e].by_T
        book_water(col, d, from_mass, to_mass, up, down, wk)
        book_pair(col, d * h + q * wk.heat[up], from_heat, to_heat, wk)
    if wk.liquid[e].by_own != 0.0:
        d, col = wk.liquid[e].by_own, tb.cell[top_of(up_zone, tb)].state
        book_water(col, d, from_mass, to_mass, up, down, wk)
        book_pair(col, d * h, from_heat, to_heat, wk)


@inlined
def book_gas(
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
    tb: Tables,
    wk: Work,
) -> None:
    """How flows of steam and air follow the state ``col``."""
    book_water(col, dsteam, tb.zone[up_zone].mass, tb.zone[down_zone].mass, up_top, down, wk)
    book_pair(col, dair, tb.zone[up_zone].air, tb.zone[down_zone].air, wk)
    book_pair(col, dsteam * h_steam, tb.node_row[up_top], tb.node_row[down], wk)
    book_pair(col, dair * h_air, tb.node_row[up_top], tb.node_row[down_top], wk)


@inlined
def carry_gas(e: int, derive: bool, tb: Tables, wk: Work) -> None:
    """Gas through element ``e``, from the top of one zone: its steam condenses at the other port, its air
    rises to the other top."""
    s = 2 * e + wk.gas[e].way
    up_zone, up = tb.stream[s].up_zone, tb.stream[s].up_cell
    down_zone, down = tb.stream[s].down_zone, tb.stream[s].down_cell
    up_top, down_top = top_of(up_zone, tb), top_of(down_zone, tb)
    share, q = wk.zone[up_zone].vapour_share, wk.gas[e].flow
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
    by_d = wk.gas[e].by_d
    by_p = by_d + wk.gas[e].by_p
    by_level, by_density = wk.gas[e].by_level, wk.gas[e].by_own
    for k in range(tb.zone_column_start[up_zone], tb.zone_column_start[up_zone + 1]):
        d = by_p * wk.p_by[k] + by_level * wk.level_by[k] + by_density * wk.gas_by[k]
        if tb.zone_column[k] == tb.cell[up].state:
            d += wk.gas[e].by_T
        ds, col = share * d + q * wk.share_by[k], tb.zone_column[k]
        book_gas(col, ds, d - ds, h_steam, h_air, up_zone, up_top, down_zone, down, down_top, tb, wk)
    for k in range(tb.zone_column_start[down_zone], tb.zone_column_start[down_zone + 1]):
        d = -by_d * wk.p_by[k]
        ds, col = share * d, tb.zone_column[k]
        book_gas(col, ds, d - ds, h_steam, h_air, up_zone, up_top, down_zone, down, down_top, tb, wk)
    col = tb.cell[up_top].state
    if col >= 0:
        book_pair(col, steam * dh_steam, tb.node_row[up_top], tb.node_row[down], wk)
        book_pair(col, air * CP_AIR, tb.node_row[up_top], tb.node_row[down_top], wk)


@inlined
def carry_all(derive: bool, tb: Tables, wk: Work) -> None:
    """All flows."""
    for e in range(tb.element.size):
        if wk.liquid[e].flow != 0.0 or wk.liquid[e].by_d != 0.0:
            carry_liquid(e, derive, tb, wk)
        if wk.gas[e].flow != 0.0 or wk.gas[e].by_d != 0.0:
            carry_gas(e, derive, tb, wk)


@inlined
def sum_up(tb: Tables, wk: Work) -> None:
    """What each element passes in all: net flow from a to b, shares of liquid and steam in it."""
    for e in range(tb.element.size):
        liquid, gas = wk.liquid[e].flow, wk.gas[e].flow
        ahead = liquid if wk.liquid[e].way == 0 else -liquid
        wk.element[e].flow = ahead + (gas if wk.gas[e].way == 0 else -gas)
        size = abs(liquid) + abs(gas)
        share = abs(gas) / size if size > 0.0 else 0.0
        wk.element[e].liquid_share = 1.0 - share
        up = tb.stream[2 * e + wk.gas[e].way].up_zone
        wk.element[e].steam_share = share * wk.zone[up].vapour_share


@inlined
def turned_too_far(h: float, rtol: float, tb: Tables, wk: Work) -> float:
    """By how many times what went against its fixed way over a step ``h`` exceeds what is allowed, at most.

    Flows are those of the last stage. Allowed is a few tolerances' share of the smaller cell at either end.
    """
    worst = 0.0
    for e in range(tb.element.size):
        zone_a, zone_b = tb.element[e].zone_a, tb.element[e].zone_b
        higher = max(wk.zone[zone_a].pressure, wk.zone[zone_b].pressure)
        unsure = UNSURE_TOLERANCES * rtol * higher
        allowed = WRONG_WAY_TOLERANCES * rtol * tb.element[e].volume
        if wk.liquid[e].flow < 0.0:
            cell = tb.stream[2 * e + wk.liquid[e].way].up_cell
            wrong = -wk.liquid[e].flow - unsure * wk.liquid[e].by_d
            worst = max(worst, 0.5 * h * wrong / (allowed * wk.rho[cell]))
        if wk.gas[e].flow < 0.0:
            zone = tb.stream[2 * e + wk.gas[e].way].up_zone
            worst = max(worst, -0.5 * h * wk.gas[e].flow / (allowed * wk.zone[zone].gas_density))
    for i in range(tb.cell.size):
        if tb.cell[i].parent >= 0:
            wrong = -wk.cell[i].edge if wk.cell[i].way == 0 else wk.cell[i].edge
            worst = max(worst, 0.5 * h * wrong / (WRONG_WAY_TOLERANCES * rtol * tb.cell[i].mass))
    return worst
