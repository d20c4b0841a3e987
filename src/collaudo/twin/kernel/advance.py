"""Run from event to event. The whole state is in arrays, so a run can be paused, saved, restored and
branched."""

from __future__ import annotations

from math import isfinite, sqrt

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.carry import turned_too_far
from collaudo.twin.kernel.crossings import EVENT_CHATTER, EVENT_SHORT, earliest_crossing, next_timer, settle
from collaudo.twin.kernel.devices import watched_value
from collaudo.twin.kernel.flows import COLD_WATER, RESERVOIR_BAND
from collaudo.twin.kernel.frames import frame_width, record_frame
from collaudo.twin.kernel.methods import Method
from collaudo.twin.kernel.rates import rates_here
from collaudo.twin.kernel.step import (
    error_norm,
    interpolate,
    interpolate_quadratures,
    set_scales,
    take_step,
)
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work

__all__ = ["EVENT_CHATTER", "EVENT_SHORT", "advance", "frame_width"]

DONE, RECORD_FULL, STEP_TOO_SMALL, NOT_FINITE, EVENTS_FULL = range(5)

SMALLEST_STEP_S = 1.0e-9
# Shorter than this no step need be for the sake of a flow that turns.
SHORTEST_AFTER_TURN_S = 1.0e-6
# Share by which a step is cut whose error did not fall when it was cut before.
FALL_BACK = 0.05
LARGEST_STEP_S = 60.0


@compiled
def copy_into(target: Floats, values: Floats) -> None:
    """Element by element (whole-array assignment would reserve memory)."""
    for k in range(target.size):
        target[k] = values[k]


@inlined
def restart_step(rtol: float, tb: Tables, wk: Work) -> float:
    """First step [s] after a jump: the change of the rates must not move any block by many tolerances."""
    worst = 1e-12
    for k in range(tb.state_count[0]):
        worst = max(worst, abs(wk.rate[k] - wk.old_rate[k]) / (rtol * wk.scale[k]))
    return min(max(10.0 / worst, 1e-5), 1.0)


@inlined
def drain_limit(y: Floats, tb: Tables, wk: Work) -> float:
    """Longest step [s] in which no tank is drawn past the band of its outlet unseen: tanks are quadratures,
    on which the error of a step does not look."""
    longest = LARGEST_STEP_S
    for z in range(tb.zone.size):
        if tb.zone[z].is_vessel == 0 and tb.zone[z].volume > 0.0:
            band = RESERVOIR_BAND * tb.zone[z].volume * COLD_WATER
            mass, loss = y[tb.zone[z].mass], -wk.rate[tb.zone[z].mass]
            room = max(mass - band, 0.1 * band)
            if loss * longest > room:
                longest = room / loss
    return longest


@compiled
def worst_state(rtol: float, tb: Tables, wk: Work) -> float:
    """State with the largest error over tolerance, or one that is not finite."""
    worst, at = -1.0, 0
    for k in range(tb.state_count[0]):
        share = abs(wk.error[k]) / (rtol * wk.scale[k])
        if not isfinite(share):
            return float(k)
        if share > worst:
            worst, at = share, k
    return float(at)


@inlined
def next_growth(h: float, error: float, clock: Floats, method: Method) -> float:
    """How much longer the next step may be: by the error of this one and by how it changed since the last
    (Gustafsson, ACM Trans. Math. Softw. 20 (1994) 496)."""
    per_order = -1.0 / method.order
    small = max(error, 1e-10)
    growth = 0.9 * small**per_order
    if clock[3] > 0.0:
        growth = min(growth, growth * h / clock[3] * (small / clock[4]) ** per_order)
    return min(6.0, max(growth, 0.2))


@inlined
def step(
    y: Floats,
    t: float,
    stop: float,
    clock: Floats,
    rtol: float,
    method: Method,
    tb: Tables,
    md: Mode,
    wk: Work,
    counts: Floats,
) -> float:
    """Take one step that keeps the tolerance; returns its length [s], -1 where none is short enough, -2 where
    rates are not finite. Leaves the next length in ``clock[1]``."""
    rejected, before = False, 1e300
    longest = drain_limit(y, tb, wk)
    while True:
        h = min(clock[1], longest)
        last = t + h >= stop - 1e-10 * max(1.0, stop)
        if last:
            h = stop - t
        fine = take_step(y, h, method, tb, md, wk)
        error = error_norm(y, rtol, tb, wk) if fine else 1e300
        counts[2] += 1
        shrink = 0.1
        if error <= 1.0:
            turned = turned_too_far(h, rtol, tb, wk)
            if turned <= 1.0 or h <= SHORTEST_AFTER_TURN_S:
                break
            # what goes astray grows with the square of the time after the turn
            shrink = max(0.1, 0.8 / sqrt(turned))
        elif error < 1e200:
            shrink = max(0.1, 0.9 * error ** (-1.0 / method.order))
            if error > 0.5 * before:
                # it does not go with the step: some state starts off the path it would soon fall back to, and
                # only steps as short as that fall see it go
                shrink = min(shrink, FALL_BACK)
            before = error
        counts[3] += 1
        rejected = True
        clock[1] = h * shrink
        if clock[1] < SMALLEST_STEP_S:
            counts[4] = worst_state(rtol, tb, wk)
            return -1.0 if fine else -2.0
    growth = next_growth(h, error, clock, method)
    if rejected:
        growth = min(growth, 1.0)
    clock[3], clock[4] = h, max(error, 1e-2)
    proposal = h * growth
    clock[1] = max(proposal, clock[1]) if last and h < clock[1] else proposal
    return h


@compiled
def advance(
    y: Floats,
    clock: Floats,
    until: float,
    rtol: float,
    method: Method,
    tb: Tables,
    md: Mode,
    wk: Work,
    frames: Floats,
    events: Floats,
    counts: Floats,
) -> int:
    """Integrate ``y`` in place from ``clock[0]`` to ``until``; returns one of the codes above.

    ``clock``: time, next step, 1 when the last change was a jump, last step (0 none) and its error.
    ``counts``: frames, events, steps, rejections, worst state.
    """
    unsettled = True
    while True:
        t = clock[0]
        if unsettled:
            before = int(counts[1])
            counts[1] = settle(t, y, tb, md, wk, events, before)
            if int(counts[1]) > before:
                clock[2] = 1.0
        copy_into(wk.old_rate, wk.rate)
        rates_here(y, wk.rate, True, True, tb, md, wk)
        set_scales(y, tb, wk)
        if int(counts[0]) >= frames.shape[0]:
            return RECORD_FULL
        record_frame(t, y, md, wk, frames, int(counts[0]))
        counts[0] += 1
        if t >= until:
            return DONE
        if int(counts[1]) >= events.shape[0] - 4:
            return EVENTS_FULL
        if clock[2] > 0.0:
            clock[1] = min(clock[1], restart_step(rtol, tb, wk))
            clock[2], clock[3] = 0.0, 0.0
        for d in range(tb.device.size):
            wk.watched[d] = watched_value(d, y, tb, wk)
        stop = min(until, next_timer(md))
        h = step(y, t, stop, clock, rtol, method, tb, md, wk, counts)
        if h < 0.0:
            return STEP_TOO_SMALL if h == -1.0 else NOT_FINITE
        share = earliest_crossing(y, h, method, tb, md, wk)
        if share < 1.0:
            interpolate(y, share, method, tb, wk, wk.dense_y)
            interpolate_quadratures(y, share, h, method, tb, wk, wk.dense_y)
            copy_into(y, wk.dense_y)
            clock[0] = t + share * h
        else:
            copy_into(y, wk.trial)
            clock[0] = stop if t + h >= stop - 1e-10 * max(1.0, stop) else t + h
        unsettled = share <= 1.0 or clock[0] >= stop
