"""Steady flow: the run goes on, in ever longer spans, until pressures and flows stand still.

This is pseudo-transient continuation in the same kernel: the spans double, the integrator's steps grow with
them, and what remains is the fixed point of the rates. There is no second solver that could disagree.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.errors import RunError
from collaudo.twin.run import Run

Floats = NDArray[np.float64]

FIRST_SPAN_S = 0.05
# A span may be quiet because a slow change has only begun; the next one is twice as long.
QUIET_SPANS = 3


@dataclass(frozen=True)
class Steady:
    """How still the water stood at the end."""

    took_s: float
    moved_Pa: float
    """Largest change of any pressure over the last span."""
    moved_kg_per_s: float
    """Largest change of any flow over the last span."""
    unbalanced_kg_per_s: float
    """Largest difference between what enters a closed space and what leaves it."""


def settle(
    run: Run,
    tolerance_Pa: float = 1.0,
    tolerance_kg_per_s: float = 1.0e-6,
    limit_s: float = 3600.0,
) -> Steady:
    """Let time pass until pressures and flows no longer move; returns how still they stand.

    Three spans in a row, each twice as long as the one before, must pass without an event, without any
    pressure moving by more than ``tolerance_Pa`` or any flow by more than ``tolerance_kg_per_s``, and every
    closed space must let out what it takes in within ``tolerance_kg_per_s``. ``limit_s`` is the longest time
    that may pass on the machine's own clock. `RunError` naming the restless place when it is not enough: a
    machine that heats, fills or switches has no steady flow.
    """
    start_s = run.time_s
    span_s, quiet = FIRST_SPAN_S, 0
    run.advance(0.0)
    before = _pressures_and_flows(run)
    while (left_s := limit_s - (run.time_s - start_s)) > 0.0:
        before, events = _pressures_and_flows(run), len(run.events)
        run.advance(min(span_s, left_s))
        steady = _compare(run, before, start_s)
        still = (
            len(run.events) == events
            and steady.moved_Pa <= tolerance_Pa
            and max(steady.moved_kg_per_s, steady.unbalanced_kg_per_s) <= tolerance_kg_per_s
        )
        quiet = quiet + 1 if still else 0
        if quiet == QUIET_SPANS:
            return steady
        span_s *= 2.0
    raise _restless(run, before, limit_s, tolerance_Pa)


def _pressures_and_flows(run: Run) -> tuple[Floats, Floats]:
    return np.array(run.work.zone["pressure"]), np.array(run.work.element["flow"])


def _largest(values: Floats) -> float:
    return float(np.max(np.abs(values), initial=0.0))


def _compare(run: Run, before: tuple[Floats, Floats], start_s: float) -> Steady:
    pressures, flows = _pressures_and_flows(run)
    return Steady(
        run.time_s - start_s,
        _largest(pressures - before[0]),
        _largest(flows - before[1]),
        _largest(_unbalanced(run, flows)),
    )


def _unbalanced(run: Run, flows: Floats) -> Floats:
    """Flow in less flow out [kg/s] of every vessel."""
    net = np.zeros(run.tables.zone.size)
    np.add.at(net, run.tables.element["zone_a"], -flows)
    np.add.at(net, run.tables.element["zone_b"], flows)
    closed: Floats = net[np.asarray(run.tables.zone["is_vessel"]) == 1]
    return closed


def _restless(run: Run, before: tuple[Floats, Floats], limit_s: float, tolerance_Pa: float) -> RunError:
    """The error naming the place that moved most over the last span."""
    moved = np.abs(_pressures_and_flows(run)[0] - before[0])
    zone = int(np.argmax(moved))
    part = {number: name for name, number in run.assembly.names.zones.items()}[zone]
    return RunError(
        f"no steady flow within {limit_s:g} s: at {run.time_s:.3f} s the pressure in {part} still moved by "
        f"{moved[zone]:.3g} Pa in the last span, or a flow changed or a device switched; allow more than "
        f"{tolerance_Pa:g} Pa, more time, or stop what heats, fills or switches",
        state=f"pressure in {part}",
        part=part,
        time_s=run.time_s,
    )
