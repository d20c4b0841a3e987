"""Run a session on a machine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from collaudo.bench.runs.events import Event, events_of
from collaudo.bench.runs.series import Floats, series_of
from collaudo.machine.load import find_machine
from collaudo.twin.operations import perform, read_session

Progress = Callable[[float, float], None]
"""Told the time [s] that has passed on the machine, and the time the session takes."""


@dataclass(frozen=True)
class SessionResult:
    """What a session gave."""

    machine: str
    title: str
    duration_s: float
    events: list[Event]
    wall_s: float
    """Time the computer took."""
    steps: int
    balances: dict[str, float]
    """What is missing of water, air and energy, as a share of all that went in and out."""
    series: dict[str, Floats] = field(repr=False)


def run_session(
    machine: str, operations: str, *, rtol: float | None = None, progress: Progress | None = None
) -> SessionResult:
    """Perform the session file ``operations`` on ``machine`` (an id of the library or a file).

    Raises `InputError` for what cannot be used and `RunError` where the twin cannot go on.
    """
    session = read_session(Path(operations), find_machine(machine), name=operations)
    # Only now, for loading the compiled twin takes longer than refusing a wrong file.
    from collaudo.twin.audit import balances
    from collaudo.twin.run import DEFAULT_RTOL, Run

    run = Run.of(session.machine, session.site, rtol=rtol or DEFAULT_RTOL)
    total_s = session.duration_s
    perform(run, session.operations, None if progress is None else lambda time_s: progress(time_s, total_s))
    return SessionResult(
        machine=session.machine.id,
        title=session.machine.title,
        duration_s=run.time_s,
        events=events_of(run),
        wall_s=run.wall_s,
        steps=run.steps,
        balances=balances(run),
        series=series_of(run),
    )
