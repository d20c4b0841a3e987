"""Making checks on the twin: from one trunk (cold, warming up, hot) every check branches off.

The check that needs a cold machine and leaves a hot one is the trunk itself. All others begin where the
machine is cold, or hot just after the heating has switched off, and the machine is put back afterwards, so
that no check feels another.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from collaudo.checks.check import Check, Reading, all_checks
from collaudo.checks.formula import Scene
from collaudo.checks.roles import bind_roles
from collaudo.errors import CatalogueError, RunError
from collaudo.machine.model import Machine
from collaudo.machine.source import Problems
from collaudo.parts.circuit import Site
from collaudo.twin.operations import Operation, perform, read_operations
from collaudo.twin.run import Moment, Run

Taken = dict[str, float | str | None]
"""Value of each reading by id; None: it did not occur."""


@dataclass(frozen=True)
class MachineCheck:
    """A check as it is made on one machine: its operations, and those of its readings that apply."""

    check: Check
    operations: tuple[Operation, ...]
    readings: tuple[Reading, ...]

    @property
    def warms_up(self) -> bool:
        """Whether it is the trunk from which hot checks branch."""
        return self.check.needs == "cold" and self.check.leaves == "hot"


@dataclass(frozen=True)
class Course:
    """All checks that apply to a machine."""

    bound: Mapping[str, str]
    checks: tuple[MachineCheck, ...]

    @property
    def readings(self) -> list[Reading]:
        """Every reading, in the order of the checks."""
        return [reading for check in self.checks for reading in check.readings]


def course_for(machine: Machine) -> Course:
    """The checks of the library that apply to ``machine``; `CatalogueError` listing every fault in them."""
    bound = bind_roles(machine)
    problems = Problems()
    checks = []
    for check in all_checks():
        if not set(check.for_roles) <= bound.keys() or set(check.unless_roles) & bound.keys():
            continue
        operations = read_operations(check.operations, machine, problems, bound) if check.operations else ()
        readings = tuple(reading for reading in check.readings if reading.roles <= bound.keys())
        checks.append(MachineCheck(check, operations, readings))
    problems.raise_if_any(CatalogueError)
    return Course(bound, tuple(checks))


def take_all(
    course: Course,
    machine: Machine,
    site: Site,
    held: Mapping[str, bool] | None = None,
    **options: object,
) -> Taken:
    """Readings of all checks on one machine, cold at first.

    ``held`` are devices that stand still (a burnt contact); ``options`` are those of `Run`. Readings of a
    check on which the twin cannot go on are None. Those that chances decide are left out.
    """
    run = Run.of(machine, site, **options)  # type: ignore[arg-type]
    for device, on in (held or {}).items():
        run.force(device, on)
    cold = _branch_point(run)
    taken: Taken = {}
    trunk = next((check for check in course.checks if check.warms_up), None)
    for check in course.checks:
        if check.check.needs != "hot" and not check.warms_up:
            taken |= _take(run, cold, check, course.bound)
    if trunk is None:
        return taken
    taken |= _take(run, cold, trunk, course.bound)
    hot = _branch_point(run)
    for check in course.checks:
        if check.check.needs == "hot":
            taken |= _take(run, hot, check, course.bound)
    return taken


def _branch_point(run: Run) -> Moment:
    """The moment checks branch from: tanks filled up, nothing on record."""
    for part in run.machine.parts.values():
        if part.kind == "tank":
            run.fill_up(part.name)
    run.frames, run.events = [], []
    return run.save()


def _take(run: Run, start: Moment, check: MachineCheck, bound: Mapping[str, str]) -> Taken:
    """Perform one check from ``start`` and read it off."""
    if not check.readings or all(reading.by_chance for reading in check.readings):
        return {}
    run.restore(start)
    marks = {"start": run.time_s}
    try:
        # What a reading is taken of must be on record, even if nothing happens.
        run.advance(1e-3)
        perform(run, check.operations, None, marks)
    except RunError:
        return {reading.id: None for reading in check.readings if not reading.by_chance}
    marks["end"] = run.time_s
    scene = Scene(run, marks, bound)
    return {reading.id: read(reading, scene) for reading in check.readings if not reading.by_chance}


def read(reading: Reading, scene: Scene) -> float | str | None:
    """What a reading shows in a scene; None where it did not come about."""
    if reading.formula is not None:
        value = float(reading.formula.value(scene))
        return value if math.isfinite(value) else None
    for outcome in reading.outcomes:
        if outcome.formula is not None and outcome.formula.value(scene):
            return outcome.name
    return None
