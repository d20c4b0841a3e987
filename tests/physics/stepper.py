"""Any system of equations put through the kernel's own step and its own loop, in a process of its own.

Run as a program (uncompiled): reads jobs as JSON, writes answers as JSON. The kernel's ``rates`` are replaced
by the problem's; step, elimination, error norm, dense output and step control are the project's.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from math import cos, sin
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

State = Any
MU = 1000.0
THREE_STATES = 3
STIFF_PER_S = 1.0e9


class Problem(NamedTuple):
    """``dynamic`` states, then quadratures; ``slope`` fills a zeroed Jacobian (states, dynamic)."""

    start: list[float]
    dynamic: int
    rate: Callable[[State, State], None]
    slope: Callable[[State, State], None]


def _rober(y: State, f: State) -> None:
    f[0] = -0.04 * y[0] + 1e4 * y[1] * y[2]
    f[2] = 3e7 * y[1] * y[1]
    f[1] = -f[0] - f[2]


def _rober_slope(y: State, j: State) -> None:
    j[0] = [-0.04, 1e4 * y[2], 1e4 * y[1]]
    j[2] = [0.0, 6e7 * y[1], 0.0]
    j[1] = -j[0] - j[2]


def _hires(y: State, f: State) -> None:
    meet = 280.0 * y[5] * y[7]
    f[0] = -1.71 * y[0] + 0.43 * y[1] + 8.32 * y[2] + 0.0007
    f[1] = 1.71 * y[0] - 8.75 * y[1]
    f[2] = -10.03 * y[2] + 0.43 * y[3] + 0.035 * y[4]
    f[3] = 8.32 * y[1] + 1.71 * y[2] - 1.12 * y[3]
    f[4] = -1.745 * y[4] + 0.43 * y[5] + 0.43 * y[6]
    f[5] = -meet + 0.69 * y[3] + 1.71 * y[4] - 0.43 * y[5] + 0.69 * y[6]
    f[6] = meet - 1.81 * y[6]
    f[7] = -f[6]


def _hires_slope(y: State, j: State) -> None:
    j[0, :3] = [-1.71, 0.43, 8.32]
    j[1, :2] = [1.71, -8.75]
    j[2, 2:5] = [-10.03, 0.43, 0.035]
    j[3, 1:4] = [8.32, 1.71, -1.12]
    j[4, 4:7] = [-1.745, 0.43, 0.43]
    by_six, by_eight = 280.0 * y[7], 280.0 * y[5]
    j[5, 3:8] = [0.69, 1.71, -0.43 - by_six, 0.69, -by_eight]
    j[6, 5:8] = [by_six, -1.81, by_eight]
    j[7] = -j[6]


def _vdpol(y: State, f: State) -> None:
    f[0], f[1] = y[1], MU * (1.0 - y[0] * y[0]) * y[1] - y[0]


def _vdpol_slope(y: State, j: State) -> None:
    j[0] = [0.0, 1.0]
    j[1] = [-2.0 * MU * y[0] * y[1] - 1.0, MU * (1.0 - y[0] * y[0])]


def _orego(y: State, f: State) -> None:
    f[0] = 77.27 * (y[1] + y[0] * (1.0 - 8.375e-6 * y[0] - y[1]))
    f[1] = (y[2] - (1.0 + y[0]) * y[1]) / 77.27
    f[2] = 0.161 * (y[0] - y[2])


def _orego_slope(y: State, j: State) -> None:
    j[0] = [77.27 * (1.0 - 1.675e-5 * y[0] - y[1]), 77.27 * (1.0 - y[0]), 0.0]
    j[1] = [-y[1] / 77.27, -(1.0 + y[0]) / 77.27, 1.0 / 77.27]
    j[2] = [0.161, 0.0, -0.161]


def _pendulum(y: State, f: State) -> None:
    """A pendulum with drag that grows with speed, and the path's square added up beside it."""
    f[0], f[1], f[2] = y[1], -sin(y[0]) - 0.1 * y[1] * y[1] * y[1], y[0] * y[0]


def _pendulum_slope(y: State, j: State) -> None:
    j[0] = [0.0, 1.0]
    j[1] = [-cos(y[0]), -0.3 * y[1] * y[1]]
    j[2] = [2.0 * y[0], 0.0]


def _decay(y: State, f: State) -> None:
    f[0] = -STIFF_PER_S * y[0]


def _decay_slope(y: State, j: State) -> None:
    del y
    j[0, 0] = -STIFF_PER_S


# With h = 1 and gamma = 1/4 the first pivot of the first order of states is nought.
_BOX = np.array([[4.0, -1.0, 0.0], [2.0, -3.0, 0.5], [0.0, 0.3, -2.0]])
_TURNED = _BOX[::-1, ::-1].copy()


def _linear(a: State) -> tuple[Callable[[State, State], None], Callable[[State, State], None]]:
    def rate(y: State, f: State) -> None:
        f[:] = a @ y

    def slope(y: State, j: State) -> None:
        del y
        j[:] = a

    return rate, slope


PROBLEMS = {
    "ROBER": Problem([1.0, 0.0, 0.0], 3, _rober, _rober_slope),
    "HIRES": Problem([1.0, *[0.0] * 6, 0.0057], 8, _hires, _hires_slope),
    "VDPOL": Problem([2.0, 0.0], 2, _vdpol, _vdpol_slope),
    "OREGO": Problem([1.0, 2.0, 3.0], 3, _orego, _orego_slope),
    "pendulum": Problem([1.2, 0.0, 0.0], 2, _pendulum, _pendulum_slope),
    "decay": Problem([1.0], 1, _decay, _decay_slope),
    "no first pivot": Problem([1.0, 2.0, 3.0], THREE_STATES, *_linear(_BOX)),
    "same, turned": Problem([3.0, 2.0, 1.0], THREE_STATES, *_linear(_TURNED)),
}


def answers(*jobs: dict[str, Any]) -> list[Any]:
    """Do each job in one process without compiler. Jobs: ``method`` and ``problem`` with either ``steps`` and
    ``h`` (fixed; ``shares``: inside the last one) or ``times``, ``rtol``, ``absolute`` (the loop)."""
    root = Path(__file__).parents[2]
    environment = {**os.environ, "COLLAUDO_UNCOMPILED": "1", "PYTHONPATH": str(root / "src")}
    done = subprocess.run(
        [sys.executable, str(Path(__file__))],
        input=json.dumps(jobs),
        capture_output=True,
        text=True,
        env=environment,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    result: list[Any] = json.loads(done.stdout)
    return result


def _tables(problem: Problem, absolute: float) -> Any:
    from collaudo.twin.kernel import tables as k
    from collaudo.twin.ordering import elimination_program, padded

    n, total = problem.dynamic, len(problem.start)
    program = elimination_program(np.ones((n, n), bool))
    state = k.records(total, k.STATE)
    state["scale_absolute"], state["scale_relative"] = absolute, 1.0
    kinds = {
        "zone": k.ZONE, "piston": k.PISTON, "cell": k.CELL,
        "loop": k.LOOP, "loop_edge": k.LOOP_EDGE, "loop_cell": k.LOOP_CELL,
        "element": k.ELEMENT, "stream": k.STREAM, "lift": k.LIFT, "tube": k.TUBE, "pump": k.PUMP,
        "vapour": k.VAPOUR, "member": k.MEMBER, "wall": k.WALL, "link": k.LINK, "heater": k.HEATER,
        "lag": k.LAG, "regulator": k.REGULATOR, "meter": k.METER,
        "contact": k.CONTACT, "load": k.LOAD, "device": k.DEVICE,
        "resistor": k.RESISTOR, "source": k.SOURCE,
    }  # fmt: skip
    values: dict[str, Any] = {name: k.records(0, kind) for name, kind in kinds.items()}
    values.update(
        {name: np.zeros(k.LAW_COUNT + 1, np.int64) for name in ("law_start", "link_start")},
        fixed_temperature=np.zeros(0),
        zone_first=np.zeros(1, np.int64),
        zone_column_start=np.zeros(1, np.int64),
        zone_column=np.zeros(0, np.int64),
        node_state=np.zeros(0, np.int64),
        node_row=np.zeros(0, np.int64),
        watched_zone=np.zeros(0, np.int64),
        loop_edge_start=np.zeros(1, np.int64),
        loop_cell_start=np.zeros(1, np.int64),
        supply=np.array([0, 0]),
        site=np.array([230.0, 230.0, 50.0, 50.0, 101325.0]),
        state_count=np.array([n, total]),
        state=state,
        lower_start=program.lower_start,
        lower_row=program.lower_row,
        upper_start=program.upper_start,
        upper_column=program.upper_column,
        whole_end=program.whole_end,
        tail=np.array([program.tail, padded(n - program.tail)]),
    )
    return k.Tables(**values)


def _prepare(job: dict[str, Any]) -> tuple[Any, ...]:
    from collaudo.twin import run
    from collaudo.twin.kernel import advance, step
    from collaudo.twin.kernel.methods import METHODS

    problem = PROBLEMS[job["problem"]]
    tb = _tables(problem, job.get("absolute", 1.0))
    method = METHODS[job["method"]]()
    work = run.make_work(tb, method.m.size)
    mode = run._mode(tb, np.zeros(0))

    def rates(y: State, dy: State, derive: bool, *_: Any) -> None:
        problem.rate(y, dy)
        if derive:
            work.jacobian[:] = 0.0
            problem.slope(y, work.jacobian)

    def rates_here(y: State, dy: State, derive: bool, _turning: bool, *_: Any) -> None:
        rates(y, dy, derive)

    for module in (advance, step):
        vars(module)["rates_here"] = rates_here
    return np.array(problem.start), method, tb, mode, work, rates


def _fixed(job: dict[str, Any]) -> Any:
    from collaudo.twin.kernel import step

    y, method, tb, mode, work, rates = _prepare(job)
    h, inside = job["h"], []
    for n in range(job["steps"]):
        if n > 0:
            y[:] = work.trial
        rates(y, work.rate, True)
        assert step.take_step(y, h, method, tb, mode, work)
    for share in job.get("shares", []):
        step.interpolate(y, share, method, tb, work, work.dense_y)
        step.interpolate_quadratures(y, share, h, method, tb, work, work.dense_y)
        inside.append(work.dense_y.tolist())
    return inside or work.trial.tolist()


def _looped(job: dict[str, Any]) -> Any:
    from collaudo.twin.kernel import advance

    y, method, tb, mode, work, _ = _prepare(job)
    vars(advance)["LARGEST_STEP_S"] = 1e12
    clock = np.array([0.0, 1e-6, 1.0, 0.0, 1.0])
    rows, steps = [], 0
    for until in job["times"]:
        while True:
            counts = np.zeros(5)
            frames, events = np.empty((4000, advance.frame_width(y, mode, work))), np.zeros((8, 3))
            code = advance.advance(
                y, clock, until, job["rtol"], method, tb, mode, work, frames, events, counts
            )
            steps += int(counts[2])
            assert code in (advance.DONE, advance.RECORD_FULL), code
            if code == advance.DONE:
                break
        rows.append(y.tolist())
    return {"rows": rows, "steps": steps}


def main() -> None:
    """Read jobs, write answers."""
    jobs = json.load(sys.stdin)
    json.dump([_looped(job) if "times" in job else _fixed(job) for job in jobs], sys.stdout)


if __name__ == "__main__":
    main()
