"""Contacts, coils and the devices that move them: what acts is decided by closed paths.

Each device holds a phase. Switches: 0 or 1. Fill control: 0 probe wet; 1 probe dry, waiting; 2 filling; 3 filling,
probe wet, waiting to stop; 4 locked out after running too long. A device counts as on in phases 1 (switches), 2
and 3 (fill control).
"""

from __future__ import annotations

from math import inf

from collaudo.compiled import compiled
from collaudo.twin.kernel.tables import (
    DEVICE_FILL_CONTROL,
    DEVICE_INPUT,
    DEVICE_LATCH,
    DEVICE_RELAY,
    DEVICE_TWO_POSITION,
    LAW_THROAT,
    OPEN_ALWAYS,
    OPEN_BY_DEVICE,
    OPEN_BY_DEVICE_OFF,
    OPEN_BY_INPUT,
    OPEN_BY_LOAD,
    WATCH_LAG,
    WATCH_LEVEL,
    WATCH_MASS,
    WATCH_PRESSURE,
    WATCH_TEMPERATURE,
    Floats,
    Mode,
    Tables,
    Work,
)

# More changes of one device within one second than this is chatter; the device is then held.
CHATTER_TOGGLES = 20


@compiled
def watched_value(d: int, y: Floats, tb: Tables, wk: Work) -> float:
    """What device ``d`` watches, after `close`: gauge pressure [Pa], temperature [K], level share or mass [kg]."""
    watch, index = tb.device_watch[d], tb.device_index[d]
    if watch == WATCH_PRESSURE:
        return wk.pressure[index] - tb.site[4]
    if watch == WATCH_TEMPERATURE:
        return wk.temperature[index]
    if watch == WATCH_LAG:
        return y[tb.lag_state[index]]
    if watch == WATCH_LEVEL:
        return wk.level[index]
    if watch == WATCH_MASS:
        return y[tb.zone_mass[index]]
    return 0.0


@compiled
def is_on(d: int, tb: Tables, md: Mode) -> bool:
    """Whether device ``d`` is on (a forced one: as it is forced)."""
    if md.forced[d] >= 0.0:
        return md.forced[d] > 0.5
    if tb.device_kind[d] == DEVICE_FILL_CONTROL:
        return md.device[d] == 2.0 or md.device[d] == 3.0
    return md.device[d] == 1.0


@compiled
def crossing(d: int, value: float, tb: Tables, md: Mode) -> float:
    """How far (in its unit, > 0) device ``d``'s watched value lies beyond the threshold that makes it act."""
    kind, phase = tb.device_kind[d], md.device[d]
    if kind == DEVICE_TWO_POSITION:
        return value - tb.device_high[d] if phase == 0.0 else tb.device_low[d] - value
    if kind == DEVICE_LATCH:
        return value - tb.device_high[d] if phase == 0.0 else -1.0
    if kind == DEVICE_FILL_CONTROL:
        if phase == 0.0 or phase == 3.0:
            return tb.device_low[d] - value if md.energised[tb.device_load[d]] > 0.0 else -1.0
        if phase == 1.0 or phase == 2.0:
            return value - tb.device_high[d]
    return -1.0


@compiled
def act(d: int, t: float, tb: Tables, md: Mode) -> None:
    """Device ``d`` has crossed its threshold at time ``t``."""
    phase = md.device[d]
    if tb.device_kind[d] != DEVICE_FILL_CONTROL:
        md.device[d] = 1.0 - phase
        return
    if phase == 0.0:
        md.device[d], md.timer[d] = 1.0, t + tb.device_on_delay[d]
    elif phase == 1.0:
        md.device[d], md.timer[d] = 0.0, inf
    elif phase == 2.0:
        md.device[d], md.timer[d] = 3.0, t + tb.device_off_delay[d]
    else:
        md.device[d], md.timer[d] = 2.0, md.since[d] + tb.device_time_out[d]


@compiled
def ring(d: int, t: float, tb: Tables, md: Mode) -> None:
    """The timer of fill control ``d`` has run out."""
    phase = md.device[d]
    md.timer[d] = inf
    if phase == 1.0:
        md.device[d], md.since[d] = 2.0, t
        md.timer[d] = t + tb.device_time_out[d]
    elif phase == 2.0:
        md.device[d] = 4.0
    elif phase == 3.0:
        md.device[d] = 0.0


@compiled
def contact_closed(k: int, tb: Tables, md: Mode) -> bool:
    """Whether contact ``k`` conducts."""
    command, index = tb.contact_command[k], tb.contact_index[k]
    if command == OPEN_BY_DEVICE:
        return is_on(index, tb, md)
    if command == OPEN_BY_DEVICE_OFF:
        return not is_on(index, tb, md)
    if command == OPEN_BY_INPUT:
        return md.inputs[index] >= 0.5
    return True


@compiled
def energise(tb: Tables, md: Mode) -> None:
    """Loads with a closed path from live through them to neutral (labels: 1 live, 2 neutral, 3 both)."""
    label = md.label
    label[:] = 0
    label[tb.terminal_live[0]] |= 1
    label[tb.terminal_neutral[0]] |= 2
    moved = True
    while moved:
        moved = False
        for k in range(tb.contact_a.size):
            if contact_closed(k, tb, md):
                a, b = tb.contact_a[k], tb.contact_b[k]
                both = label[a] | label[b]
                if both != label[a] or both != label[b]:
                    label[a] = both
                    label[b] = both
                    moved = True
    supplied = tb.site[0] > 1.0
    for k in range(tb.load_a.size):
        a, b = label[tb.load_a[k]], label[tb.load_b[k]]
        on = supplied and ((a == 1 and b == 2) or (a == 2 and b == 1))
        md.energised[k] = 1.0 if on else 0.0


@compiled
def follow(tb: Tables, md: Mode) -> bool:
    """Devices that follow inputs or loads at once; True when one moved."""
    moved = False
    for d in range(tb.device_kind.size):
        kind, before = tb.device_kind[d], md.device[d]
        if kind == DEVICE_INPUT:
            md.device[d] = 1.0 if md.inputs[tb.device_input[d]] >= tb.device_high[d] else 0.0
        elif kind == DEVICE_RELAY:
            md.device[d] = md.energised[tb.device_load[d]]
        elif kind == DEVICE_FILL_CONTROL and md.energised[tb.device_load[d]] == 0.0 and before != 0.0:
            md.device[d], md.timer[d] = 0.0, inf
        moved = moved or md.device[d] != before
    return moved


@compiled
def commanded_opening(k: int, tb: Tables, md: Mode) -> float:
    """Opening of throat member ``k``, 0..1."""
    command, index = tb.member_command[k], tb.member_index[k]
    if command == OPEN_ALWAYS:
        return 1.0
    if command == OPEN_BY_INPUT:
        span = tb.member_to[k] - tb.member_from[k]
        return min(max((md.inputs[index] - tb.member_from[k]) / span, 0.0), 1.0)
    if command == OPEN_BY_LOAD:
        return md.energised[index]
    if command == OPEN_BY_DEVICE:
        return 1.0 if is_on(index, tb, md) else 0.0
    if command == OPEN_BY_DEVICE_OFF:
        return 0.0 if is_on(index, tb, md) else 1.0
    return 1.0 - md.energised[index]


@compiled
def refresh_mode(tb: Tables, md: Mode) -> None:
    """Settle contacts and loads, then work out throats, pumps and heaters."""
    for _ in range(20):
        energise(tb, md)
        if not follow(tb, md):
            break
    md.throat_area[:] = 0.0
    md.throat_bed[:] = 0.0
    throats = tb.law_start[LAW_THROAT + 1]
    for k in range(tb.member_element.size):
        e = tb.member_element[k]
        area = max(tb.member_area[k] * commanded_opening(k, tb, md), tb.member_leak_area[k])
        # sum 1 / area^2 of the members; a shut member without leak stops everything
        md.throat_area[e] += 1.0 / (area * area) if area > 0.0 else inf
        if e < throats:
            md.throat_bed[e] += tb.member_bed[k]
    for e in range(md.throat_area.size):
        md.throat_area[e] = md.throat_area[e] ** -0.5 if md.throat_area[e] < inf else 0.0
    for k in range(tb.pump_load.size):
        md.pump_on[k] = md.energised[tb.pump_load[k]]
    for k in range(tb.heater_node.size):
        md.heater_W[k] = md.energised[tb.heater_load[k]] * tb.site[0] * tb.site[0] / tb.heater_ohm[k]
