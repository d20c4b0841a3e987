"""How fast the twin runs, and compiling it beforehand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from collaudo.errors import OperationsFileError, Problem
from collaudo.machine.load import find_machine, library_ids
from collaudo.twin.operations import perform, read_session
from collaudo.twin.run import Run

SPEED_MACHINE = "hx-vibration"
REPEATS = 5


@dataclass(frozen=True)
class Speed:
    """Figures of one session, the best of several runs."""

    machine: str
    duration_s: float
    wall_s: float
    steps: int
    rejected: int
    events: int
    repeats: int

    @property
    def times_real_time(self) -> float:
        """Seconds on the machine for each second of the computer."""
        return self.duration_s / self.wall_s


def compile_library(tell: Callable[[str], None]) -> None:
    """Run every machine of the library for a second, which compiles what is not compiled yet."""
    for name in library_ids():
        tell(name)
        run = Run.of(find_machine(name))
        if "power" in run.assembly.names.inputs:
            run.set_input("power", 1.0)
        run.advance(1.0)


def example_session() -> str:
    """The session file that comes with the project."""
    path = Path(__file__).parents[3] / "examples" / "session.yaml"
    if not path.is_file():
        raise OperationsFileError(
            Problem("the example session is not installed here", "name a session file: measure speed FILE")
        )
    return str(path)


def measure_speed(operations: str = "", repeats: int = REPEATS) -> Speed:
    """Best of ``repeats`` runs of a session (the example's) on the machine of the example.

    Only the compiled part counts; a run before compiles it.
    """
    file = operations or example_session()
    session = read_session(Path(file), find_machine(SPEED_MACHINE), name=file)
    runs = []
    for _ in range(repeats + 1):
        run = Run.of(session.machine, session.site)
        perform(run, session.operations)
        runs.append(run)
    best = min(runs[1:], key=lambda run: run.wall_s)
    return Speed(
        SPEED_MACHINE, best.time_s, best.wall_s, best.steps, best.rejected, len(best.events), repeats
    )
