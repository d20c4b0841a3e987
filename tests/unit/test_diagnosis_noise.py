"""Shared bias, noise and misreads: the joint density against a sum done the long way with SciPy."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy import stats

from collaudo.diagnosis.noise import Finding, NoiseSettings, collect_numbers, joint_log_likelihood
from collaudo.diagnosis.surrogate import fit_surrogate
from tests.unit.invented_signatures import invented_set

SIGNATURES = invented_set(24)
SURROGATE = fit_surrogate(SIGNATURES)
FINDINGS = (
    Finding("gauge.idle", 1.0),
    Finding("gauge.brew", 8.5),
    Finding("flow.free", 100.0),
    Finding("heat.group", 90.0, doubted=True),
    Finding("gauge.idle", 1.1),
)


def numbers(*findings: Finding, settings: NoiseSettings | None = None):
    return collect_numbers(findings, SIGNATURES.readings, SURROGATE, settings or NoiseSettings())


def test_joint_density_is_the_sum_over_no_one_and_two_misreads() -> None:
    collected = numbers(*FINDINGS)
    size, degrees = len(FINDINGS), 8
    random = np.random.default_rng(2)
    root = random.standard_normal((size, size))
    covariance = root @ root.T + collected.noise + np.eye(size)
    residual = 2.0 * random.standard_normal(size)
    terms = []
    for count in (0, 1, 2):
        for wrong in combinations(range(size), count):
            right = [n for n in range(size) if n not in wrong]
            shape = covariance[np.ix_(right, right)] * (degrees - 2) / degrees
            density = stats.multivariate_t.logpdf(residual[right], shape=shape, df=degrees)
            terms.append(collected.log_right[right].sum() + collected.log_wrong[list(wrong)].sum() + density)
    found = joint_log_likelihood(residual[None], covariance[None], degrees, collected)
    assert found[0] == pytest.approx(np.logaddexp.reduce(terms), rel=1e-10)


def test_readings_of_one_instrument_share_its_bias() -> None:
    noise = numbers(*FINDINGS).noise
    assert noise[0, 1] == pytest.approx(0.04 * 0.04)
    assert noise[0, 4] == pytest.approx(0.04 * 0.04)
    assert noise[0, 2] == noise[1, 3] == 0.0
    assert noise[0, 0] == pytest.approx(0.04**2 + 0.02**2)


def test_bias_of_a_share_is_carried_into_the_logarithm() -> None:
    # 1 % bias and 3 % noise of a flow: the same in its logarithm.
    assert numbers(*FINDINGS).noise[2, 2] == pytest.approx(0.01**2 + 0.03**2)


def test_a_doubted_number_is_wider_and_more_often_misread() -> None:
    plain, doubted = numbers(Finding("heat.group", 90.0)), numbers(Finding("heat.group", 90.0, doubted=True))
    assert doubted.noise[0, 0] == pytest.approx(0.8**2 + (3 * 0.4) ** 2)
    assert np.exp(plain.log_right[0]) == pytest.approx(0.98)
    assert np.exp(doubted.log_right[0]) == pytest.approx(0.7)


def test_without_numbers_nothing_is_said() -> None:
    collected = numbers(Finding("look.valve", "wet"), Finding("gauge.idle", None))
    assert joint_log_likelihood(np.zeros((3, 0)), np.zeros((3, 0, 0)), 8, collected).tolist() == [
        0.0,
        0.0,
        0.0,
    ]


def test_one_absurd_number_costs_no_more_than_a_misread() -> None:
    collected = numbers(Finding("gauge.brew", 9.0), Finding("flow.free", 110.0), Finding("heat.group", 1e6))
    residual = np.array([[0.0, 0.0, 1e6], [4.0, 0.0, 1e6]])
    covariance = np.tile(collected.noise + 0.1 * np.eye(3), (2, 1, 1))
    likely, unlikely = joint_log_likelihood(residual, covariance, 8, collected)
    assert likely - unlikely > 3.0
