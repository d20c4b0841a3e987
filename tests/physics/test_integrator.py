"""The kernel's step: order, damping, inner points, elimination. Each method's own promise, measured.

Nominal orders: the publications named in ``collaudo.twin.kernel.methods``. Exact values: SciPy's DOP853 at
rtol 1e-13.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.physics.stepper import PROBLEMS, answers

# order of the step, order of the inner points (global; those of one step err with one power more)
ORDERS = {"rodas3": (3, 1), "rodas4": (4, 3), "rodas4p": (4, 3), "rodas5p": (5, 4)}
SPAN_S = 2.0
STEPS = (20, 40)
SHARES = [0.2, 0.4, 0.6, 0.8]
INNER_H_S = (0.2, 0.1)


def _rate(_: float, y: Any) -> Any:
    f = np.zeros(3)
    PROBLEMS["pendulum"].rate(y, f)
    return f


@cache
def exact(time_s: float) -> Any:
    start = PROBLEMS["pendulum"].start
    return solve_ivp(_rate, (0.0, time_s), start, method="DOP853", rtol=1e-13, atol=1e-15).y[:, -1]


@cache
def end_errors(method: str) -> Any:
    """Errors of both states and of the quadrature at the end, with each number of steps."""
    jobs = [{"method": method, "problem": "pendulum", "steps": n, "h": SPAN_S / n} for n in STEPS]
    return np.abs(np.array(answers(*jobs)) - exact(SPAN_S))


@pytest.mark.parametrize("method", ORDERS)
def test_halving_the_step_shrinks_the_error_by_the_methods_order(method: str) -> None:
    coarse, fine = np.linalg.norm(end_errors(method)[:, :2], axis=1)
    assert np.log2(coarse / fine) == pytest.approx(ORDERS[method][0], abs=0.3)


@pytest.mark.parametrize("method", ORDERS)
def test_quadratures_left_out_of_the_matrix_keep_the_order(method: str) -> None:
    coarse, fine = end_errors(method)[:, 2]
    assert np.log2(coarse / fine) > ORDERS[method][0] - 0.3


@pytest.mark.parametrize("method", ORDERS)
def test_points_inside_a_step_have_their_order(method: str) -> None:
    jobs = [
        {"method": method, "problem": "pendulum", "steps": 1, "h": h, "shares": SHARES} for h in INNER_H_S
    ]
    worst = []
    for h, inside in zip(INNER_H_S, answers(*jobs), strict=True):
        truth = [exact(share * h) for share in SHARES]
        worst.append(np.abs(np.array(inside) - truth).max())
    assert np.log2(worst[0] / worst[1]) > ORDERS[method][1] + 1 - 0.3


@pytest.mark.parametrize("method", ORDERS)
def test_inner_points_meet_both_ends_of_the_step(method: str) -> None:
    common = {"method": method, "problem": "pendulum", "steps": 1, "h": 0.2}
    inside, end = answers({**common, "shares": [0.0, 1.0]}, common)
    assert inside == [PROBLEMS["pendulum"].start, end]


@pytest.mark.parametrize("method", ORDERS)
def test_what_dies_at_once_is_gone_after_one_step(method: str) -> None:
    """L-stable (Hairer and Wanner, Solving ODEs II, IV.3): of a decay far faster than the step nothing
    stays."""
    (end,) = answers({"method": method, "problem": "decay", "steps": 1, "h": 1.0})
    assert abs(end[0]) < 1e-6


def test_a_system_without_first_pivot_is_solved_all_the_same() -> None:
    """Gamma is a quarter and h one: the first pivot 4 - 4 is nought in one order, not in the other."""
    common = {"method": "rodas4", "steps": 1, "h": 1.0}
    lacking, turned = answers(
        {**common, "problem": "no first pivot"},
        {**common, "problem": "same, turned"},
    )
    np.testing.assert_allclose(lacking, turned[::-1], rtol=1e-12)


@pytest.mark.parametrize("method", ORDERS)
def test_a_tighter_tolerance_gives_a_smaller_error(method: str) -> None:
    """Error in proportion to the tolerance, within a factor of ten over two decades of it."""
    common = {"method": method, "problem": "pendulum", "times": [SPAN_S], "absolute": 1.0}
    loose, tight = answers({**common, "rtol": 1e-4}, {**common, "rtol": 1e-6})
    errors = [np.abs(np.array(a["rows"][0]) - exact(SPAN_S)).max() for a in (loose, tight)]
    assert errors[0] < 1e-3
    assert 10.0 < errors[0] / errors[1] < 1000.0
    assert loose["steps"] < tight["steps"]
