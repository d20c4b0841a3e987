"""How fast the twin runs, and compiling it beforehand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from collaudo.checks.files import library_file
from collaudo.checks.roles import bind_roles
from collaudo.errors import CatalogueError, OperationsFileError, Problem
from collaudo.machine.load import find_machine, library_ids
from collaudo.machine.model import Machine
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_quantity,
    take_text,
)
from collaudo.twin.operations import Operation, Wait, duration_s, inputs_of, perform, read_operations
from collaudo.twin.run import Run

SPEED_MACHINE = "hx-vibration"
REPEATS = 5
WANTED_TIMES = 50_000.0
"""Times real time that a working hour is to run at on one core."""


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
    path = Path(__file__).parents[4] / "examples" / "session.yaml"
    if not path.is_file():
        raise OperationsFileError(
            Problem("the example session is not installed here", "name a session file: measure speed FILE")
        )
    return str(path)


def working_hour(machine: Machine) -> tuple[Operation, ...]:
    """Warm-up, coffees, milk, hot water, flushes and rest, as far as ``machine`` has what they need."""
    text = library_file("working_hour.yaml").read_bytes()
    root = read_source(text, name="working_hour.yaml", error=CatalogueError)
    problems = Problems()
    top = take_mapping(root, "the working hour", problems, required=("duration", "stretches"))
    operations: list[Operation] = []
    for entry in take_list(top["stretches"], "stretches", problems):
        given = take_mapping(entry, "a stretch", problems, required=("needs", "operations"))
        if _has(machine, given["needs"], problems):
            operations += read_operations(given["operations"], machine, problems, bind_roles(machine))
    whole_s = take_quantity(top["duration"], "duration", "time", problems) or 0.0
    problems.raise_if_any(CatalogueError)
    return (*operations, Wait(whole_s - duration_s(operations)))


def _has(machine: Machine, needs: Node, problems: Problems) -> bool:
    """Whether a machine has a part, role or input for each need; a kind named twice needs two."""
    wanted = Counter(take_text(x, "a need", problems) or "" for x in take_list(needs, "needs", problems))
    has = Counter(part.kind for part in machine.parts.values())
    has.update(f"input {name}" for name in inputs_of(machine))
    has.update(bind_roles(machine).keys() - has.keys())
    return all(has[word] >= count for word, count in wanted.items())


def measure_speed(machine: str = SPEED_MACHINE, repeats: int = REPEATS) -> Speed:
    """Best of ``repeats`` runs of a working hour on a machine (an id of the library or a file).

    Only the compiled part counts; a run before compiles it.
    """
    found = find_machine(machine)
    operations = working_hour(found)
    runs = []
    for _ in range(repeats + 1):
        run = Run.of(found)
        perform(run, operations)
        runs.append(run)
    best = min(runs[1:], key=lambda run: run.wall_s)
    return Speed(found.id, best.time_s, best.wall_s, best.steps, best.rejected, len(best.events), repeats)


def measure_speeds(machine: str = "") -> list[Speed]:
    """The speed of one machine, or of each of the library where none is named."""
    return [measure_speed(name) for name in ([machine] if machine else library_ids())]
