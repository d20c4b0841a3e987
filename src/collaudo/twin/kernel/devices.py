"""Contacts, coils and the devices that move them: what acts is decided by the volts across it.

Each device holds a phase. Switches: 0 or 1. Fill control: 0 probe wet; 1 probe dry, waiting; 2 filling; 3
filling,
probe wet, waiting to stop; 4 locked out after running too long. Breakers and fuses: 1 tripped. A device
counts as on in phases 1 (switches, doses), 2 and 3 (fill control).
"""

from __future__ import annotations

from math import inf

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.potentials import energise, note_trip, trips
from collaudo.twin.kernel.tables import (
    DEVICE_DOSE,
    DEVICE_FILL_CONTROL,
    DEVICE_INPUT,
    DEVICE_LATCH,
    DEVICE_RELAY,
    DEVICE_TWO_POSITION,
    DEVICE_WINDOW,
    LAW_THROAT,
    OPEN_ALWAYS,
    OPEN_BY_DEVICE,
    OPEN_BY_DEVICE_OFF,
    OPEN_BY_INPUT,
    OPEN_BY_LOAD,
    WATCH_LAG,
    WATCH_LEVEL,
    WATCH_MASS,
    WATCH_METER,
    WATCH_PRESSURE,
    WATCH_TEMPERATURE,
    Floats,
    Mode,
    Tables,
    Work,
)

# More changes of one device within one second than this is chatter; the device is then held.
CHATTER_TOGGLES = 20


@inlined
def watched_value(d: int, y: Floats, tb: Tables, wk: Work) -> float:
    """What device ``d`` watches, after `close` or `close_watched`: gauge pressure [Pa], temperature [K],
    level share, mass [kg] or volume counted [m3]."""
    watch, index = tb.device[d].watch, tb.device[d].index
    if watch == WATCH_PRESSURE:
        return wk.zone[index].pressure - tb.site[4]
    if watch == WATCH_TEMPERATURE:
        state = tb.node_state[index]
        return y[state] if state >= 0 else wk.temperature[index]
    if watch == WATCH_LAG:
        return y[tb.lag[index].state]
    if watch == WATCH_LEVEL:
        return wk.zone[index].level
    if watch == WATCH_MASS:
        return y[tb.zone[index].mass]
    if watch == WATCH_METER:
        return y[tb.meter[index].state]
    return 0.0


@inlined
def is_on(d: int, tb: Tables, md: Mode) -> bool:
    """Whether device ``d`` is on (a forced one: as it is forced)."""
    if md.device[d].forced >= 0.0:
        return md.device[d].forced > 0.5
    if tb.device[d].kind == DEVICE_FILL_CONTROL:
        return md.device[d].phase == 2.0 or md.device[d].phase == 3.0
    return md.device[d].phase == 1.0


@inlined
def crossing(d: int, value: float, tb: Tables, md: Mode) -> float:
    """How far (in its unit, > 0) device ``d``'s watched value lies beyond the threshold that makes it act."""
    kind, phase = tb.device[d].kind, md.device[d].phase
    if kind == DEVICE_TWO_POSITION:
        return value - tb.device[d].high if phase == 0.0 else tb.device[d].low - value
    if kind == DEVICE_LATCH:
        return value - tb.device[d].high if phase == 0.0 else -1.0
    if kind == DEVICE_FILL_CONTROL:
        if phase == 0.0 or phase == 3.0:
            return tb.device[d].low - value if md.energised[tb.device[d].load] > 0.0 else -1.0
        if phase == 1.0 or phase == 2.0:
            return value - tb.device[d].high
    if kind == DEVICE_DOSE and phase == 1.0:
        return value - md.device[d].counted - tb.device[d].high
    return -1.0


@inlined
def act(d: int, t: float, tb: Tables, md: Mode) -> None:
    """Device ``d`` has crossed its threshold at time ``t``."""
    phase = md.device[d].phase
    if tb.device[d].kind == DEVICE_DOSE:
        md.device[d].phase, md.device[d].timer = 0.0, inf
        return
    if tb.device[d].kind != DEVICE_FILL_CONTROL:
        md.device[d].phase = 1.0 - phase
        return
    if phase == 0.0:
        md.device[d].phase, md.device[d].timer = 1.0, t + tb.device[d].on_delay
    elif phase == 1.0:
        md.device[d].phase, md.device[d].timer = 0.0, inf
    elif phase == 2.0:
        md.device[d].phase, md.device[d].timer = 3.0, t + tb.device[d].off_delay
    else:
        md.device[d].phase, md.device[d].timer = 2.0, md.device[d].since + tb.device[d].time_out


@inlined
def ring(d: int, t: float, tb: Tables, md: Mode) -> None:
    """The timer of fill control or dose ``d`` has run out."""
    phase = md.device[d].phase
    md.device[d].timer = inf
    if tb.device[d].kind == DEVICE_DOSE:
        md.device[d].phase = 0.0
        return
    if phase == 1.0:
        md.device[d].phase, md.device[d].since = 2.0, t
        md.device[d].timer = t + tb.device[d].time_out
    elif phase == 2.0:
        md.device[d].phase = 4.0
    elif phase == 3.0:
        md.device[d].phase = 0.0


@inlined
def pressed(d: int, t: float, value: float, tb: Tables, md: Mode) -> bool:
    """Whether the button of dose ``d`` has just been pressed, and with effect: that starts the dose, at the
    count ``value`` of its meter, or stops it. Without current nothing happens."""
    if tb.device[d].kind != DEVICE_DOSE:
        return False
    down, before = md.inputs[tb.device[d].input] >= 0.5, md.device[d].pressed > 0.5
    md.device[d].pressed = 1.0 if down else 0.0
    load = tb.device[d].load
    if before or not down or (load >= 0 and not md.energised[load] > 0.0):
        return False
    if md.device[d].phase == 1.0:
        md.device[d].phase, md.device[d].timer = 0.0, inf
    else:
        md.device[d].phase, md.device[d].timer = 1.0, t + tb.device[d].time_out
        md.device[d].since, md.device[d].counted = t, value
    return True


@inlined
def contact_closed(k: int, tb: Tables, md: Mode) -> bool:
    """Whether contact ``k`` conducts."""
    command, index = tb.contact[k].command, tb.contact[k].index
    if command == OPEN_BY_DEVICE:
        return is_on(index, tb, md)
    if command == OPEN_BY_DEVICE_OFF:
        return not is_on(index, tb, md)
    if command == OPEN_BY_INPUT:
        return md.inputs[index] >= 0.5
    return True


@inlined
def set_contacts(tb: Tables, md: Mode) -> None:
    """Which contacts are closed."""
    for c in range(tb.contact.size):
        md.closed[c] = 1.0 if contact_closed(c, tb, md) else 0.0


@inlined
def follow(tb: Tables, md: Mode) -> bool:
    """Devices that follow inputs or loads at once; True when one moved."""
    moved = False
    for d in range(tb.device.size):
        kind, before = tb.device[d].kind, md.device[d].phase
        if kind == DEVICE_INPUT:
            md.device[d].phase = 1.0 if md.inputs[tb.device[d].input] >= tb.device[d].high else 0.0
        elif kind == DEVICE_RELAY:
            md.device[d].phase = md.energised[tb.device[d].load]
        elif kind == DEVICE_FILL_CONTROL and md.energised[tb.device[d].load] == 0.0 and before != 0.0:
            md.device[d].phase, md.device[d].timer = 0.0, inf
        elif kind == DEVICE_WINDOW:
            inside = tb.device[d].low <= md.inputs[tb.device[d].input] < tb.device[d].high
            md.device[d].phase = 1.0 if inside else 0.0
        elif kind == DEVICE_DOSE and before == 1.0:
            load = tb.device[d].load
            if load >= 0 and md.energised[load] == 0.0:
                md.device[d].phase, md.device[d].timer = 0.0, inf
        elif before == 0.0 and trips(d, tb, md):
            note_trip(d, md)
        moved = moved or md.device[d].phase != before
    return moved


@inlined
def commanded_opening(k: int, tb: Tables, md: Mode) -> float:
    """Opening of throat member ``k``, 0..1."""
    command, index = tb.member[k].command, tb.member[k].index
    if command == OPEN_ALWAYS:
        return 1.0
    if command == OPEN_BY_INPUT:
        span = tb.member[k].full - tb.member[k].start
        return min(max((md.inputs[index] - tb.member[k].start) / span, 0.0), 1.0)
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
        set_contacts(tb, md)
        energise(tb, md)
        if not follow(tb, md):
            break
    for e in range(md.throat.size):
        md.throat[e].area = 0.0
        md.throat[e].bed = 0.0
    throats = tb.law_start[LAW_THROAT + 1]
    for k in range(tb.member.size):
        e = tb.member[k].element
        area = max(tb.member[k].area * commanded_opening(k, tb, md), tb.member[k].leak_area)
        # sum 1 / area^2 of the members; a shut member without leak stops everything
        md.throat[e].area += 1.0 / (area * area) if area > 0.0 else inf
        if e < throats:
            md.throat[e].bed += tb.member[k].bed
    for e in range(md.throat.size):
        md.throat[e].area = md.throat[e].area ** -0.5 if md.throat[e].area < inf else 0.0
    for k in range(tb.pump.size):
        md.pump_on[k] = md.energised[tb.pump[k].load]
    for k in range(tb.heater.size):
        volt = md.load_V[tb.heater[k].load]
        md.heater_W[k] = volt * volt / tb.heater[k].ohm
