"""A machine of any construction on the bench: warmed up once, worked by the operations every machine
knows, read by the last value, amount or moment of a series.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from collaudo.checks.roles import bind_roles
from collaudo.errors import OperationsFileError
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.machine.source import Problems, read_source
from collaudo.twin.operations import perform, read_operations
from collaudo.twin.results import Results
from collaudo.twin.run import Moment, Run

WARM_s = 4500.0
"""Heavy groups settle within 70 min (common practice, no source)."""


def do(run: Run, text: str) -> None:
    """Operations as a session file says them, in one line: ``brew: on, wait: 10 s``."""
    source = "\n".join(f"- {{{operation.strip()}}}" for operation in text.split(";"))
    problems = Problems()
    found = read_operations(read_source(source), run.machine, problems, bind_roles(run.machine))
    problems.raise_if_any(OperationsFileError)
    perform(run, found)


def value(run: Run, name: str) -> float:
    """The last value of a series."""
    return float(Results(run).series(name).values[-1])


def amount(run: Run, name: str, start_s: float, end_s: float) -> float:
    """Integral of a series over a span."""
    series = Results(run).series(name)
    inside = (series.time_s >= start_s) & (series.time_s <= end_s)
    return float(np.trapezoid(series.values[inside], series.time_s[inside]))


def first_time(run: Run, device: str, on: bool, after_s: float = 0.0) -> float:
    """When a device first acts (or rests) after a time; endless if never."""
    times = [t for t, name, state in run.events if name == device and state == float(on) and t > after_s]
    return min(times, default=np.inf)


@dataclass
class Bench:
    """One machine on the bench: its run, the warm moment to branch from, what its parts are called."""

    machine: Machine
    run: Run
    role: dict[str, str]
    cold: Moment
    warm: Moment

    def has(self, *roles: str) -> bool:
        """Whether the machine has a part for each role."""
        return all(name in self.role for name in roles)

    def branch(self) -> Run:
        """The run, back at its warm moment."""
        self.run.restore(self.warm)
        return self.run

    @property
    def group(self) -> str:
        """Name of the (first) group."""
        return self.role["group"]

    @property
    def brew_vessel(self) -> str:
        """The vessel brew water is heated in."""
        kinds = ("brew_boiler", "flow_through_heater", "exchanger", "boiler")
        return next(self.role[kind] for kind in kinds if kind in self.role)

    @property
    def brew_bar(self) -> str:
        """Series of the pressure a brew gauge shows, or would show where there is none."""
        if "check_valve" in self.role:
            return f"pressure {self.role['check_valve']}.out"
        return f"pressure {self.group}"

    @property
    def chamber(self) -> str:
        """Cell of the water above the coffee."""
        return f"{self.role['brew_chamber']}.water" if "brew_chamber" in self.role else f"{self.group}.water"

    @property
    def heat_control(self) -> str:
        """The device whose first action says that the machine is at temperature; empty: it has none."""
        if "pressure_switch" in self.role:
            return self.role["pressure_switch"]
        return next((d for d in self.run.assembly.names.devices if d == "brew_thermostat"), "")


@cache
def bench(machine_id: str) -> Bench:
    """A machine of the library warmed up from cold."""
    return bench_of(find_machine(machine_id))


def bench_of(machine: Machine) -> Bench:
    """A machine warmed up from cold."""
    run = Run.of(machine)
    cold = run.save()
    do(run, f"power: on; wait: {WARM_s:g} s")
    return Bench(machine, run, bind_roles(machine), cold, run.save())
