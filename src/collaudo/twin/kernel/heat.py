"""Heat between cells, walls and the room. One loop a kind of link; each gives the heat and its
derivatives."""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import compiled, inlined
from collaudo.laws.closing import unit_ramp
from collaudo.twin.kernel.tables import (
    LINK_CONVECTION,
    LINK_FIXED,
    LINK_FLOW,
    LINK_MIXING,
    LINK_ROOM,
    LINK_WETTED,
    Mode,
    Tables,
    Work,
)

STEFAN_BOLTZMANN = 5.670374419e-8


@inlined
def fourth_root(difference_K: float) -> float:
    """``|dT|^(1/4)`` rounded below 1 K, for natural convection."""
    return sqrt(sqrt(sqrt(difference_K * difference_K + 1.0)))


@compiled
def node_is_cell(node: int, tb: Tables) -> bool:
    """Thermal nodes below the number of cells are cells."""
    return node < tb.cell.size


@inlined
def give_heat(
    a: int, b: int, heat_W: float, by_a: float, by_b: float, derive: bool, tb: Tables, wk: Work
) -> None:
    """Move ``heat_W`` from node ``a`` to node ``b`` and book its derivatives by their temperatures."""
    cells = tb.cell.size
    walls = tb.wall.size
    state_a = -1
    state_b = -1
    if a < cells:
        state_a = tb.cell[a].state
    elif a < cells + walls:
        state_a = tb.wall[a - cells].state
    if b < cells:
        state_b = tb.cell[b].state
    elif b < cells + walls:
        state_b = tb.wall[b - cells].state
    for side in range(2):
        node = a if side == 0 else b
        sign = -1.0 if side == 0 else 1.0
        if node < cells:
            wk.cell[node].income += sign * heat_W
            if derive:
                if state_a >= 0:
                    wk.income_by[node, state_a] += sign * by_a
                if state_b >= 0:
                    wk.income_by[node, state_b] += sign * by_b
        else:
            wk.wall_gain[node - cells] += sign * heat_W
            if derive:
                if state_a >= 0:
                    wk.wall_by[node - cells, state_a] += sign * by_a
                if state_b >= 0:
                    wk.wall_by[node - cells, state_b] += sign * by_b


@inlined
def link_conductance(kind: int, k: int, difference_K: float, tb: Tables, wk: Work) -> tuple[float, float]:
    """Conductance [W/K] of link ``k`` at a temperature difference, and heat's derivative by that
    difference."""
    gain = tb.link[k].gain
    if kind == LINK_FIXED:
        return gain, gain
    if kind == LINK_WETTED:
        wet, _ = unit_ramp(
            (wk.zone[tb.link[k].at].level - tb.link[k].start) / max(tb.link[k].full - tb.link[k].start, 1e-6)
        )
        share = tb.link[k].second + (1.0 - tb.link[k].second) * wet
        return gain * share, gain * share
    if kind == LINK_CONVECTION:
        root = gain * fourth_root(difference_K)
        square = difference_K * difference_K
        return root, root * (1.0 + 0.25 * square / (square + 1.0))
    if kind == LINK_FLOW:
        flow = wk.cell[tb.link[k].at].edge / tb.link[k].start
        lively = sqrt(gain * gain + tb.link[k].second * tb.link[k].second * sqrt(flow * flow + 1e-6))
        return lively, lively
    # Mixing of two cells: strong where the lower (node a) is warmer, weak where it lies cold below.
    up, slope = unit_ramp(difference_K / 2.0)
    strong = tb.link[k].second - gain
    return gain + strong * up, gain + strong * up + 0.5 * strong * slope * difference_K


@inlined
def stir_slope(k: int, difference_K: float, tb: Tables, wk: Work) -> None:
    """Book how a flow-driven link's heat changes with the flow that drives it (rows of ``source_by``)."""
    link = tb.link[k]
    flow = wk.cell[link.at].edge / link.start
    root = sqrt(flow * flow + 1e-6)
    square = link.second * link.second
    lively = sqrt(link.gain * link.gain + square * root)
    by_flow = 0.5 * square * flow / (root * lively * link.start) * difference_K
    cells = tb.cell.size
    for column in range(tb.state_count[0]):
        d = by_flow * wk.source_by[link.at, column]
        if link.a < cells:
            wk.income_by[link.a, column] -= d
        else:
            wk.wall_by[link.a - cells, column] -= d
        if link.b < cells:
            wk.income_by[link.b, column] += d
        else:
            wk.wall_by[link.b - cells, column] += d


@inlined
def heat_flows(derive: bool, tb: Tables, md: Mode, wk: Work) -> None:
    """All links and heaters."""
    for kind in (LINK_FIXED, LINK_WETTED, LINK_CONVECTION, LINK_FLOW, LINK_MIXING):
        for k in range(tb.link_start[kind], tb.link_start[kind + 1]):
            a, b = tb.link[k].a, tb.link[k].b
            difference = wk.temperature[a] - wk.temperature[b]
            conductance, slope = link_conductance(kind, k, difference, tb, wk)
            give_heat(a, b, conductance * difference, slope, -slope, derive, tb, wk)
            if derive and kind == LINK_FLOW:
                stir_slope(k, difference, tb, wk)
    for k in range(tb.link_start[LINK_ROOM], tb.link_start[LINK_ROOM + 1]):
        a, b = tb.link[k].a, tb.link[k].b
        warm, room = wk.temperature[a], wk.temperature[b]
        difference = warm - room
        conductance = tb.link[k].gain * fourth_root(difference)
        square = difference * difference
        radiant = STEFAN_BOLTZMANN * tb.link[k].second
        warm2, room2 = warm * warm, room * room
        heat = conductance * difference + radiant * (warm2 * warm2 - room2 * room2)
        convective = conductance * (1.0 + 0.25 * square / (square + 1.0))
        give_heat(
            a,
            b,
            heat,
            convective + 4.0 * radiant * warm2 * warm,
            -convective - 4.0 * radiant * room2 * room,
            derive,
            tb,
            wk,
        )
    cells = tb.cell.size
    for k in range(tb.heater.size):
        wk.wall_gain[tb.heater[k].node - cells] += md.heater_W[k]
