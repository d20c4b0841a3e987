"""When devices act: thresholds crossed within a step, timers, chatter."""

from __future__ import annotations

from math import inf

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.closure import close, close_watched
from collaudo.twin.kernel.devices import (
    CHATTER_TOGGLES,
    act,
    crossing,
    pressed,
    refresh_mode,
    ring,
    watched_value,
)
from collaudo.twin.kernel.methods import Method
from collaudo.twin.kernel.potentials import SHORT, SHORT_LOGGED
from collaudo.twin.kernel.step import interpolate, quadrature_within
from collaudo.twin.kernel.tables import WATCH_METER, Floats, Mode, Tables, Work

# Codes beside device numbers in the event list.
EVENT_CHATTER = 1000
EVENT_SHORT = 2000


@inlined
def any_crossing(y: Floats, tb: Tables, md: Mode, wk: Work) -> int:
    """First device whose watched value lies beyond its threshold, after `close`; -1 none."""
    for d in range(tb.device.size):
        watching = md.device[d].forced < 0.0 and tb.device[d].watch > 0
        if watching and crossing(d, watched_value(d, y, tb, wk), tb, md) > 0.0:
            return d
    return -1


@inlined
def look(y: Floats, share: float, h: float, method: Method, tb: Tables, md: Mode, wk: Work) -> None:
    """What devices watch, at a share of the step just taken, into ``wk.dense_y``; counts of running doses as
    closely as where the step will be cut."""
    interpolate(y, share, method, tb, wk, wk.dense_y)
    close_watched(wk.dense_y, tb, wk)
    for d in range(tb.device.size):
        if tb.device[d].watch == WATCH_METER and md.device[d].phase == 1.0:
            r = tb.meter[tb.device[d].index].state
            wk.dense_y[r] = quadrature_within(r, y, share, h, method, tb, wk)


@compiled
def locate(
    d: int, high: float, y: Floats, h: float, method: Method, tb: Tables, md: Mode, wk: Work
) -> float:
    """Share of the step at which device ``d`` crosses, by the Illinois method on the dense output."""
    a, b = 0.0, high
    fa = crossing(d, wk.watched[d], tb, md)
    look(y, b, h, method, tb, md, wk)
    fb = crossing(d, watched_value(d, wk.dense_y, tb, wk), tb, md)
    side = 0
    for _ in range(40):
        if b - a < 1e-9 or fb < 1e-12 * abs(fa):
            break
        c = (a * fb - b * fa) / (fb - fa) if fb > fa else 0.5 * (a + b)
        c = min(max(c, a + 0.01 * (b - a)), b - 1e-3 * (b - a))
        look(y, c, h, method, tb, md, wk)
        fc = crossing(d, watched_value(d, wk.dense_y, tb, wk), tb, md)
        if fc > 0.0:
            b, fb = c, fc
            if side == 1:
                fa *= 0.5
            side = 1
        else:
            a, fa = c, fc
            if side == -1:
                fb *= 0.5
            side = -1
    return b


@compiled
def earliest_crossing(y: Floats, h: float, method: Method, tb: Tables, md: Mode, wk: Work) -> float:
    """Earliest share of the step just taken at which any device crosses its threshold; 2 if none does.

    The end and the middle of the step are looked at, so that a double crossing within one is not lost.
    """
    first = 2.0
    for share in (1.0, 0.5):
        look(y, share, h, method, tb, md, wk)
        for d in range(tb.device.size):
            watching = md.device[d].forced < 0.0 and tb.device[d].watch > 0
            if watching and crossing(d, watched_value(d, wk.dense_y, tb, wk), tb, md) > 0.0:
                first = min(first, locate(d, share, y, h, method, tb, md, wk))
                look(y, share, h, method, tb, md, wk)
    return first


@inlined
def note_toggle(d: int, t: float, md: Mode) -> bool:
    """Count a change of device ``d``; True when it chatters and is now held."""
    if t - md.device[d].window > 1.0:
        md.device[d].toggles, md.device[d].window = 0.0, t
    md.device[d].toggles += 1.0
    if md.device[d].toggles > CHATTER_TOGGLES:
        md.device[d].forced = md.device[d].phase
        return True
    return False


@inlined
def log_trips(t: float, tb: Tables, md: Mode, events: Floats, count: int) -> int:
    """Log breakers and fuses that have just acted, and a short circuit; returns the number of events."""
    for d in range(tb.device.size):
        if md.device[d].since == inf and count < events.shape[0]:
            md.device[d].since = t
            events[count, 0], events[count, 1], events[count, 2] = t, d, 1.0
            count += 1
    if md.supply[SHORT] == 1.0 and count < events.shape[0]:
        md.supply[SHORT] = SHORT_LOGGED
        events[count, 0], events[count, 1], events[count, 2] = t, EVENT_SHORT, 1.0
        count += 1
    return count


@compiled
def settle(t: float, y: Floats, tb: Tables, md: Mode, wk: Work, events: Floats, count: int) -> int:
    """Let every device act whose threshold is passed or whose timer has run out, to a fixpoint; logs the
    events."""
    refresh_mode(tb, md)
    count = log_trips(t, tb, md, events, count)
    close(y, False, tb, wk)
    for _ in range(50):
        acted = -1
        for d in range(tb.device.size):
            if md.device[d].timer <= t:
                ring(d, t, tb, md)
                acted = d
                break
            if pressed(d, t, watched_value(d, y, tb, wk), tb, md):
                acted = d
                break
        if acted < 0:
            acted = any_crossing(y, tb, md, wk)
            if acted >= 0:
                act(acted, t, tb, md)
        if acted < 0:
            return count
        if count < events.shape[0]:
            events[count, 0], events[count, 1], events[count, 2] = t, acted, md.device[acted].phase
            count += 1
        if note_toggle(acted, t, md) and count < events.shape[0]:
            events[count, 0], events[count, 1], events[count, 2] = (
                t,
                EVENT_CHATTER + acted,
                md.device[acted].phase,
            )
            count += 1
        refresh_mode(tb, md)
        count = log_trips(t, tb, md, events, count)
    return count


@inlined
def next_timer(md: Mode) -> float:
    """Time [s] of the next timer, or infinity."""
    first = inf
    for d in range(md.device.size):
        first = min(first, md.device[d].timer)
    return first
