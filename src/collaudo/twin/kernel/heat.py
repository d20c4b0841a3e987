"""Heat between cells, walls and the room. One loop a kind of link; each gives the heat and its
derivatives."""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import inlined
from collaudo.laws.closing import unit_ramp
from collaudo.twin.kernel.tables import (
    LINK_CONVECTION,
    LINK_FIXED,
    LINK_FLOW,
    LINK_MIXING,
    LINK_ROOM,
    LINK_WETTED,
    Tables,
    Work,
)

STEFAN_BOLTZMANN = 5.670374419e-8
# Share of the reference flow below which what a flow stirs up fades, with the flow's cube: it falls short by
# three tenths there and by a hundredth at three times as much. Where all ways are shut, pressures that a step
# leaves unlike by a pascal drive flows to and fro that carry nothing.
STILL_SHARE = 0.03


@inlined
def fourth_root(difference_K: float) -> float:
    """``|dT|^(1/4)`` rounded below 1 K, for natural convection."""
    return sqrt(sqrt(sqrt(difference_K * difference_K + 1.0)))


@inlined
def give_heat(
    a: int, b: int, heat_W: float, by_a: float, by_b: float, derive: bool, tb: Tables, wk: Work
) -> None:
    """Move ``heat_W`` from node ``a`` to node ``b`` and book its derivatives by their temperatures."""
    wk.income[a] -= heat_W
    wk.income[b] += heat_W
    if derive:
        state_a, state_b = tb.node_state[a], tb.node_state[b]
        row_a, row_b = tb.node_row[a], tb.node_row[b]
        if state_a >= 0:
            wk.jacobian[row_a, state_a] -= by_a
            wk.jacobian[row_b, state_a] += by_a
        if state_b >= 0:
            wk.jacobian[row_a, state_b] -= by_b
            wk.jacobian[row_b, state_b] += by_b


@inlined
def plain_links(derive: bool, tb: Tables, wk: Work) -> None:
    """Constant conductances."""
    for k in range(tb.link_start[LINK_FIXED], tb.link_start[LINK_FIXED + 1]):
        a, b, gain = tb.link[k].a, tb.link[k].b, tb.link[k].gain
        heat = gain * (wk.temperature[a] - wk.temperature[b])
        give_heat(a, b, heat, gain, -gain, derive, tb, wk)


@inlined
def wetted_links(derive: bool, tb: Tables, wk: Work) -> None:
    """Conductances that go with the wetted share: strong under water, weak in steam."""
    for k in range(tb.link_start[LINK_WETTED], tb.link_start[LINK_WETTED + 1]):
        a, b, z = tb.link[k].a, tb.link[k].b, tb.link[k].at
        span = max(tb.link[k].full - tb.link[k].start, 1e-6)
        wet, slope = unit_ramp((wk.zone[z].level - tb.link[k].start) / span)
        dry = tb.link[k].second
        conductance = tb.link[k].gain * (dry + (1.0 - dry) * wet)
        difference = wk.temperature[a] - wk.temperature[b]
        give_heat(a, b, conductance * difference, conductance, -conductance, derive, tb, wk)
        if derive and slope > 0.0:
            by_level = tb.link[k].gain * (1.0 - dry) * slope / span * difference
            for n in range(tb.zone_column_start[z], tb.zone_column_start[z + 1]):
                d = by_level * wk.level_by[n]
                wk.jacobian[tb.node_row[a], tb.zone_column[n]] -= d
                wk.jacobian[tb.node_row[b], tb.zone_column[n]] += d


@inlined
def convection_links(derive: bool, tb: Tables, wk: Work) -> None:
    """Natural convection: the conductance grows as the fourth root of the difference."""
    for k in range(tb.link_start[LINK_CONVECTION], tb.link_start[LINK_CONVECTION + 1]):
        a, b = tb.link[k].a, tb.link[k].b
        difference = wk.temperature[a] - wk.temperature[b]
        conductance = tb.link[k].gain * fourth_root(difference)
        square = difference * difference
        slope = conductance * (1.0 + 0.25 * square / (square + 1.0))
        give_heat(a, b, conductance * difference, slope, -slope, derive, tb, wk)


@inlined
def stirred_links(derive: bool, tb: Tables, wk: Work) -> None:
    """Exchange that a flow stirs up, and how it follows that flow (rows of ``source_by``)."""
    n = tb.state_count[0]
    for k in range(tb.link_start[LINK_FLOW], tb.link_start[LINK_FLOW + 1]):
        a, b, at = tb.link[k].a, tb.link[k].b, tb.link[k].at
        gain, second, reference = tb.link[k].gain, tb.link[k].second, tb.link[k].start
        difference = wk.temperature[a] - wk.temperature[b]
        flow = wk.cell[at].edge / reference
        flow2 = flow * flow
        per_wide = 1.0 / sqrt(flow2 * flow2 + STILL_SHARE**4)
        share = flow2 * per_wide
        brisk = abs(flow) * share
        square = second * second
        lively = sqrt(gain * gain + square * brisk)
        give_heat(a, b, lively * difference, lively, -lively, derive, tb, wk)
        if derive:
            by_brisk = 0.5 * square / (lively * reference) * difference
            by_flow = by_brisk * (share if flow >= 0.0 else -share) * (3.0 - 2.0 * share * share)
            row_a, row_b = wk.jacobian[tb.node_row[a]], wk.jacobian[tb.node_row[b]]
            flow_by = wk.source_by[at]
            for column in range(n):
                row_a[column] -= by_flow * flow_by[column]
            for column in range(n):
                row_b[column] += by_flow * flow_by[column]


@inlined
def mixing_links(derive: bool, tb: Tables, wk: Work) -> None:
    """Mixing of two cells: strong where the lower (node a) is warmer, weak where it lies cold below."""
    for k in range(tb.link_start[LINK_MIXING], tb.link_start[LINK_MIXING + 1]):
        a, b, gain = tb.link[k].a, tb.link[k].b, tb.link[k].gain
        difference = wk.temperature[a] - wk.temperature[b]
        up, slope = unit_ramp(difference / 2.0)
        strong = tb.link[k].second - gain
        conductance = gain + strong * up
        by = conductance + 0.5 * strong * slope * difference
        give_heat(a, b, conductance * difference, by, -by, derive, tb, wk)


@inlined
def room_links(derive: bool, tb: Tables, wk: Work) -> None:
    """Losses to the room by natural convection and radiation."""
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
        by_warm = convective + 4.0 * radiant * warm2 * warm
        by_room = -convective - 4.0 * radiant * room2 * room
        give_heat(a, b, heat, by_warm, by_room, derive, tb, wk)


@inlined
def heat_flows(derive: bool, tb: Tables, wk: Work) -> None:
    """All links."""
    plain_links(derive, tb, wk)
    wetted_links(derive, tb, wk)
    convection_links(derive, tb, wk)
    stirred_links(derive, tb, wk)
    mixing_links(derive, tb, wk)
    room_links(derive, tb, wk)
