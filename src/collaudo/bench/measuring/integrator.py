"""The twin's integrator beside SciPy's stiff ones: same session, same compiled rates, same process.

SciPy is needed for this comparison alone (a dependency of the tests, not of the tool). Its integrators are
started anew wherever a hand or a device changes something, at the times our own run found: they are spared
looking for events. They get our tolerances as absolute ones, are not asked for accuracy in quadratures, and
are given our slopes. Calls from SciPy into the compiled rates cost what any call from Python costs; the time
spent in them is told apart, and what would be left were they free.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collaudo.bench.measuring.speed import SPEED_MACHINE, example_session
from collaudo.errors import InputError, Problem
from collaudo.machine.load import find_machine
from collaudo.twin.kernel.closure import close
from collaudo.twin.kernel.devices import refresh_mode
from collaudo.twin.kernel.rates import free_rates, rates
from collaudo.twin.operations import Session, perform, read_session
from collaudo.twin.results import Results
from collaudo.twin.run import DEFAULT_RTOL, Run, build

Floats = NDArray[np.float64]

METHODS = ("LSODA", "BDF", "Radau")
REPEATS = 3
_LEAST_RTOL = 1.0e-12
_FREE = 1.0e9


@dataclass(frozen=True)
class Timing:
    """One integrator's run of the session."""

    method: str
    wall_s: float
    rates: int
    """Evaluations of the rates (our own: stages)."""
    in_rates_s: float
    """Time of it spent in rates and slopes, the call from Python included (nought for our own)."""
    cup_g: float
    """What ran into the cup, to see that all tell the same."""


@dataclass(frozen=True)
class Comparison:
    """Our integrator and the others."""

    duration_s: float
    rtol: float
    own: Timing
    others: list[Timing]

    @property
    def times_faster(self) -> float:
        """Wall time of the best of the others over ours."""
        return min(other.wall_s for other in self.others) / self.own.wall_s

    @property
    def times_faster_without_rates(self) -> float:
        """The same if all rates and slopes cost the others nothing (ours still cost)."""
        return min(other.wall_s - other.in_rates_s for other in self.others) / self.own.wall_s


class _Guided(Run):
    """A run that SciPy integrates; devices move when they moved in a run of our own."""

    changes: list[tuple[float, Floats]]
    integrate: Callable[..., Any]
    scipy_method: str
    evaluations: int
    in_rates_s: float

    def guide(self, method: str, changes: list[tuple[float, Floats]], integrate: Callable[..., Any]) -> None:
        """Set the integrator and what devices did when: times and all phases."""
        self.scipy_method, self.changes, self.integrate = method, changes, integrate
        self.evaluations, self.in_rates_s = 0, 0.0

    def advance(self, seconds: float) -> None:
        """Integrate from change to change."""
        until = self.time_s + seconds
        begin = time.perf_counter()
        while True:
            self._take_phases()
            ahead = [t for t, _ in self.changes if t > self.time_s]
            piece = min([until, *ahead[:1]])
            if piece > self.time_s:
                self._piece(piece)
            if self.time_s >= until:
                break
        self.wall_s += time.perf_counter() - begin
        refresh_mode(self.tables, self.mode)
        close(self.y, False, self.tables, self.work)

    def _take_phases(self) -> None:
        passed = [phases for t, phases in self.changes if t <= self.time_s]
        if passed:
            self.mode.device["phase"] = passed[-1]
        self.mode.device["timer"] = np.inf
        refresh_mode(self.tables, self.mode)

    def _piece(self, until: float) -> None:
        n, total = (int(count) for count in self.tables.state_count)
        state = self.tables.state
        atol = np.full(total, _FREE)
        scale = state["scale_absolute"][:n] + np.abs(self.y[:n]) * state["scale_relative"][:n]
        atol[:n] = self.rtol * scale
        slopes = np.zeros((total, total))

        def rate(_: float, y: Floats) -> Floats:
            begin = time.perf_counter()
            dy = np.empty(total)
            free_rates(y, dy, self.tables, self.mode, self.work)
            self.in_rates_s += time.perf_counter() - begin
            return dy

        def slope(_: float, y: Floats) -> Floats:
            begin = time.perf_counter()
            rates(y, np.empty(total), True, self.tables, self.mode, self.work)
            slopes[:, :n] = self.work.jacobian
            self.in_rates_s += time.perf_counter() - begin
            return slopes

        found = self.integrate(
            rate,
            (self.time_s, until),
            self.y,
            method=self.scipy_method,
            jac=slope,
            rtol=_LEAST_RTOL,
            atol=atol,
            t_eval=[until],
        )
        if not found.success:
            raise InputError(Problem(f"{self.scipy_method} gave up at {self.time_s:.3f} s: {found.message}"))
        self.evaluations += int(found.nfev)
        self.y[:] = found.y[:, -1]
        self.clock[0] = until


def _compile_rates(session: Session, integrate: Callable[..., Any]) -> None:
    """Have what only the others call compiled before anything is timed."""
    first = _Guided(session.machine, build(session.machine, session.site), keep=False)
    first.guide(METHODS[0], [], integrate)
    first.advance(1.0e-3)


def compare_integrators(
    operations: str = "",
    rtol: float = DEFAULT_RTOL,
    methods: tuple[str, ...] = METHODS,
    tell: Callable[[str], None] = lambda _: None,
) -> Comparison:
    """Run a session (the example's) by our integrator and by SciPy's.

    Raises `InputError` where SciPy is not installed.
    """
    integrate = _scipy_integrate()
    file = operations or example_session()
    session = read_session(Path(file), find_machine(SPEED_MACHINE), name=file)
    tell("our own")
    runs = [_own(session, rtol) for _ in range(REPEATS + 1)]
    best = min(runs[1:], key=lambda run: run.wall_s)
    changes = _changes(best)
    others = []
    _compile_rates(session, integrate)
    for method in methods:
        tell(method)
        assembly = build(session.machine, session.site)
        guided = _Guided(session.machine, assembly, rtol=rtol, keep=False)
        guided.guide(method, changes, integrate)
        perform(guided, session.operations)
        cup_g = _cup_g(guided)
        others.append(Timing(method, guided.wall_s, guided.evaluations, guided.in_rates_s, cup_g))
    stages = best.steps * best.stages
    own = Timing(best.method, best.wall_s, stages, 0.0, _cup_g(best))
    return Comparison(best.time_s, rtol, own, others)


def _scipy_integrate() -> Callable[..., Any]:
    try:
        solve: Callable[..., Any] = import_module("scipy.integrate").solve_ivp
    except ImportError:
        message = "SciPy is not installed; it is needed for this comparison alone"
        raise InputError(Problem(message, "install the package 'scipy'")) from None
    return solve


def _own(session: Session, rtol: float) -> Run:
    run = Run.of(session.machine, session.site, rtol=rtol)
    perform(run, session.operations)
    return run


def _changes(run: Run) -> list[tuple[float, Floats]]:
    """Times at which devices moved in a run, and all phases from then on."""
    results = Results(run)
    begin = results.start["device"]
    phases = results.rows[:, begin : begin + run.tables.device.size]
    moved = np.flatnonzero(np.any(phases[1:] != phases[:-1], axis=1)) + 1
    return [(0.0, phases[0]), *((float(results.time_s[row]), phases[row]) for row in moved)]


def _cup_g(run: Run) -> float:
    zone = run.tables.zone[run.assembly.names.zones["cup"]]
    return float(run.y[int(zone.mass)]) * 1e3
