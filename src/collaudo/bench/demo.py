"""The demonstration: one machine runs warm, and its gauges are read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from collaudo.bench.series import series_of
from collaudo.machine.load import find_machine
from collaudo.twin.run import Run

DEMO_MACHINE = "hx-vibration"
WARM_UP_s = 45 * 60.0
READING_s = 10 * 60.0
"""Gauges move with the heating cycle: they are read over this time at the end."""
_STRETCH_s = 60.0


@dataclass(frozen=True)
class Reading:
    """Lowest and highest value of one series during the last minutes."""

    name: str
    low: float
    high: float


@dataclass(frozen=True)
class Warm:
    """The machine after warming up."""

    machine: str
    title: str
    time_s: float
    heating_cycles: int
    readings: list[Reading]


def warm_up(machine: str = DEMO_MACHINE, progress: Callable[[float, float], None] | None = None) -> Warm:
    """Switch ``machine`` on from cold and read it after 45 minutes."""
    described = find_machine(machine)
    run = Run.of(described)
    run.set_input("power", 1.0)
    while run.time_s < WARM_UP_s:
        run.advance(min(_STRETCH_s, WARM_UP_s - run.time_s))
        if progress is not None:
            progress(run.time_s, WARM_UP_s)
    series = series_of(run)
    late = series["time_s"] >= WARM_UP_s - READING_s
    readings = [
        Reading(name, float(values[late].min()), float(values[late].max()))
        for name, values in series.items()
        if name.endswith(("_bar", "_degC"))
    ]
    switches = [part.name for part in described.parts.values() if part.kind == "pressure_switch"]
    cycles = sum(1 for _, name, state in run.events if name in switches and state == 1.0)
    return Warm(described.id, described.title, run.time_s, cycles, readings)
