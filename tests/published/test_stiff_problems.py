"""The kernel's own step and loop on stiff problems with published end values.

Problems and end values: Mazzia and Magherini, Test Set for Initial Value Problem Solvers, release 2.4
(University of Bari, 2008), printed with 16 digits; also Hairer and Wanner, Solving Ordinary Differential
Equations II, 2nd ed., IV.10. Path of Robertson's problem: the printed output of the CVODE library's example
for it (rtol 1e-4, five digits); ten digits by SciPy's Radau at rtol 1e-11. Tolerance: the controller keeps
the error of one step below the relative tolerance; over the 100 to 2,500 steps of problems that forget their
errors, twenty times that is allowed.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.physics.stepper import answers

RTOL = 1e-5
ALLOWED = 20.0 * RTOL
METHODS = ["rodas3", "rodas4", "rodas4p", "rodas5p"]

# end time, least size that counts (atol over rtol), end values
PUBLISHED: dict[str, tuple[float, float, list[float]]] = {
    "HIRES": (
        321.8122,
        1e-4,
        [
            0.7371312573325668e-3,
            0.1442485726316185e-3,
            0.5888729740967575e-4,
            0.1175651343283149e-2,
            0.2386356198831331e-2,
            0.6238968252742796e-2,
            0.2849998395185769e-2,
            0.2850001604814231e-2,
        ],
    ),
    "VDPOL": (2000.0, 1e-3, [0.1706167732170469e1, -0.8928097010248125e-3]),
    "OREGO": (360.0, 1e-3, [0.1000814870318523e1, 0.1228178521549917e4, 0.1320554942846706e3]),
}

ROBER_TIMES = [0.4, 4.0, 40.0, 400.0, 4e3, 4e4]
ROBER_END = (1e11, [0.2083340149701255e-7, 0.8333360770334713e-13, 0.9999999791665050])
# SciPy's Radau, ten digits.
ROBER_PATH = [
    [9.8517211386e-1, 3.3863953790e-5, 1.4794022185e-2],
    [9.0551867858e-1, 2.2404756876e-5, 9.4458916659e-2],
    [7.1582706872e-1, 9.1855347646e-6, 2.8416374575e-1],
    [4.5051866847e-1, 3.2229014417e-6, 5.4947810863e-1],
    [1.8320225778e-1, 8.9423712528e-7, 8.1679684799e-1],
    [3.8983377085e-2, 1.6217683159e-7, 9.6101646074e-1],
]
# The printed example, rtol 1e-4.
ROBER_PRINTED = [
    [9.8517e-1, 3.3864e-5, 1.4794e-2],
    [9.0553e-1, 2.2406e-5, 9.4452e-2],
    [7.1579e-1, 9.1838e-6, 2.8420e-1],
    [4.5044e-1, 3.2218e-6, 5.4956e-1],
    [1.8320e-1, 8.9444e-7, 8.1680e-1],
    [3.8992e-2, 1.6221e-7, 9.6101e-1],
]


@cache
def solved(method: str) -> dict[str, Any]:
    jobs = {
        name: {"method": method, "problem": name, "times": [end], "rtol": RTOL, "absolute": least}
        for name, (end, least, _) in PUBLISHED.items()
    }
    path = [*ROBER_TIMES, ROBER_END[0]]
    jobs["ROBER"] = {"method": method, "problem": "ROBER", "times": path, "rtol": RTOL, "absolute": 1e-6}
    return dict(zip(jobs, answers(*jobs.values()), strict=True))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("problem", PUBLISHED)
def test_end_values_are_those_published(problem: str, method: str) -> None:
    expected = PUBLISHED[problem][2]
    np.testing.assert_allclose(solved(method)[problem]["rows"][0], expected, rtol=ALLOWED)


@pytest.mark.parametrize("method", METHODS)
def test_robertsons_problem_keeps_to_its_path_over_eleven_decades_of_time(method: str) -> None:
    rows = solved(method)["ROBER"]["rows"]
    np.testing.assert_allclose(rows[:-1], ROBER_PATH, rtol=ALLOWED)
    # At the end the second value is below the least size that counts (1e-11); it follows the first.
    np.testing.assert_allclose(rows[-1], ROBER_END[1], rtol=ALLOWED)


@pytest.mark.parametrize("method", METHODS)
def test_robertsons_problem_agrees_with_the_printed_example(method: str) -> None:
    # The printed run's own errors, against the ten digits, reach 3.4e-4 (at t = 400).
    printed = np.array(ROBER_PRINTED)
    own = np.abs(printed / ROBER_PATH - 1.0).max()
    assert own < 3.5e-4
    np.testing.assert_allclose(solved(method)["ROBER"]["rows"][:-1], printed, rtol=own + ALLOWED)


@pytest.mark.parametrize("method", METHODS)
def test_robertsons_problem_loses_nothing(method: str) -> None:
    """Three rates that add up to nought leave the sum alone, but for round-off, in every method."""
    for row in solved(method)["ROBER"]["rows"]:
        assert sum(row) == pytest.approx(1.0, abs=1e-12)
