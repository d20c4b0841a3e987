"""The t distribution in closed form, against SciPy (an independent program)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from collaudo.diagnosis.student import below, below_nearly, fit_degrees, log_density, outside

POINTS = np.array([-12.0, -3.0, -1.0, -0.2, 0.0, 0.5, 2.0, 7.0])


@pytest.mark.parametrize("degrees", [4, 6, 8, 12, 20, 30])
def test_distribution_function_of_even_degrees(degrees: int) -> None:
    scale = np.sqrt((degrees - 2) / degrees)
    assert below(POINTS, degrees) == pytest.approx(stats.t.cdf(POINTS / scale, degrees), abs=1e-14)
    assert outside(POINTS, degrees) == pytest.approx(
        2 * stats.t.sf(np.abs(POINTS) / scale, degrees), abs=1e-14
    )
    # The table has steps of 0.0125; a straight line between errs by f'' h^2 / 8 < 1e-5.
    assert below_nearly(POINTS + 0.003, degrees) == pytest.approx(below(POINTS + 0.003, degrees), abs=1e-5)


@pytest.mark.parametrize("size", [1, 2, 5])
def test_density_in_several_dimensions(size: int) -> None:
    random = np.random.default_rng(size)
    root = random.standard_normal((size, size))
    covariance = root @ root.T + np.eye(size)
    at = random.standard_normal(size)
    square = at @ np.linalg.solve(covariance, at)
    found = log_density(square, np.linalg.slogdet(covariance)[1], size, 8)
    assert found == pytest.approx(stats.multivariate_t.logpdf(at, shape=covariance * 6 / 8, df=8), rel=1e-10)


@pytest.mark.parametrize(("degrees", "accepted"), [(4, {4}), (8, {6, 8, 12}), (1000, {20, 30})])
def test_degrees_are_found_from_draws(degrees: int, accepted: set[int]) -> None:
    draws = np.random.default_rng(1).standard_t(degrees, 20_000)
    assert fit_degrees(draws / np.sqrt(degrees / (degrees - 2))) in accepted
