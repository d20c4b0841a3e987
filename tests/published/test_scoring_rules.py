"""Scores and calibration against their definitions and an independent program.

* Brier, Monthly Weather Review 78 (1950) 1: sum over classes, 0 to 2.
* Log score: Gneiting & Raftery, J. American Statistical Association 102 (2007) 359, with propriety.
* Calibration error: Naeini et al., AAAI 2015; Guo et al., ICML 2017; the worked example of five chances in
  two bins is printed in the documentation of torchmetrics (binary calibration error): 0.29.
* scikit-learn's ``log_loss`` and ``brier_score_loss`` on the examples of its documentation, and on others.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaudo.diagnosis.scoring import (
    brier,
    calibration_bins,
    calibration_error,
    log_score,
    perfectly_calibrated_band,
    top_k_hits,
)
from collaudo.diagnosis.signature_set import CauseInfo


def test_brier_score_of_three_classes() -> None:
    # (0.5 - 1)^2 + 0.3^2 + 0.2^2, exact
    assert brier([[0.5, 0.3, 0.2]], [0]) == pytest.approx(0.38, abs=1e-12)


def test_brier_score_of_a_yes_or_no_forecast_is_twice_the_binary_one() -> None:
    # scikit-learn documents 0.0375 for these four forecasts.
    p = np.array([0.1, 0.9, 0.8, 0.3])
    assert brier(np.stack([1 - p, p], axis=1), [0, 1, 1, 0]) / 2 == pytest.approx(0.0375, abs=1e-12)


def test_log_score_of_one_case() -> None:
    assert log_score([0.5]) == pytest.approx(0.6931471806, abs=1e-10)


def test_log_score_of_the_documented_example() -> None:
    # scikit-learn: log_loss(["spam", "ham", "ham", "spam"], [[.1, .9], [.9, .1], [.8, .2], [.35, .65]])
    assert log_score([0.9, 0.9, 0.8, 0.65]) == pytest.approx(0.2161618747, abs=1e-9)


def test_scores_agree_with_an_independent_program() -> None:
    metrics = pytest.importorskip("sklearn.metrics")
    random = np.random.default_rng(4)
    chances = random.dirichlet([1.0, 2.0, 0.7, 1.0], size=200)
    truth = random.integers(0, 4, size=200)
    given_to_truth = chances[np.arange(200), truth]
    assert log_score(given_to_truth) == pytest.approx(
        metrics.log_loss(truth, chances, labels=range(4)), rel=1e-12
    )
    of_class = [metrics.brier_score_loss(truth == k, chances[:, k]) for k in range(4)]
    assert brier(chances, truth) == pytest.approx(sum(of_class), rel=1e-12)


def test_calibration_error_of_the_documented_example() -> None:
    confidence, hit = [0.25, 0.25, 0.55, 0.75, 0.75], [0, 0, 1, 1, 1]
    assert calibration_error(confidence, hit, bins=2) == pytest.approx(0.29, abs=1e-12)
    gaps = [abs(item.hit_share - item.confidence) for item in calibration_bins(confidence, hit, bins=2)]
    # The same documentation gives 0.3167 for the largest gap, four digits.
    assert max(gaps) == pytest.approx(0.3167, abs=5e-5)


def test_a_case_of_full_confidence_lies_in_the_last_bin() -> None:
    assert [item.cases for item in calibration_bins([1.0, 0.95, 0.05], [1, 1, 0])] == [1, 2]


def test_band_of_a_perfectly_calibrated_ranker_narrows_with_the_root_of_the_cases() -> None:
    random = np.random.default_rng(7)
    few = perfectly_calibrated_band(random.uniform(0.2, 1.0, 100))[1]
    many = perfectly_calibrated_band(random.uniform(0.2, 1.0, 6400), n_sim=300)[1]
    # 64 times the cases: an eighth of the error, give or take the chance of one simulation.
    assert few / many == pytest.approx(8.0, rel=0.15)


def test_a_perfectly_calibrated_ranker_mostly_lies_in_its_band() -> None:
    random = np.random.default_rng(8)
    inside = 0
    for _ in range(200):
        confidence = random.uniform(0.3, 1.0, 400)
        low, middle, high = perfectly_calibrated_band(confidence, n_sim=200)
        assert low < middle < high
        inside += low <= calibration_error(confidence, random.random(400) < confidence) <= high
    # 90 of 100 are meant to; 200 tries scatter by 2 of 100 (one standard deviation).
    assert 0.82 <= inside / 200 <= 0.97


def test_an_overconfident_ranker_lies_above_the_band() -> None:
    random = np.random.default_rng(9)
    confidence = random.uniform(0.6, 1.0, 1000)
    hit = random.random(1000) < confidence - 0.15
    assert calibration_error(confidence, hit) > perfectly_calibrated_band(confidence)[2]


shares = st.floats(0.02, 0.98)


@given(shares, shares)
def test_log_and_brier_scores_are_proper(believed: float, stated: float) -> None:
    def expected(score: str, p: float) -> float:
        if score == "log":
            return believed * log_score([p]) + (1 - believed) * log_score([1 - p])
        return believed * brier([[p, 1 - p]], [0]) + (1 - believed) * brier([[p, 1 - p]], [1])

    for score in ("log", "brier"):
        assert expected(score, believed) <= expected(score, stated) + 1e-12


def test_a_linear_score_would_not_be_proper() -> None:
    believed = 0.7

    def expected(p: float) -> float:
        return believed * abs(p - 1) + (1 - believed) * abs(p)

    assert expected(1.0) < expected(believed)


def test_hits_are_counted_for_the_same_repair() -> None:
    repairs = {"worn": "replace pump", "seized": "replace pump", "scaled": "descale", "low": "adjust"}
    causes = [CauseInfo(name, name, name, 10, repair, 10, 0) for name, repair in repairs.items()]
    chances = np.array([[0.3, 0.25, 0.4, 0.05], [0.1, 0.2, 0.3, 0.4]])
    assert top_k_hits(chances, ["seized", "worn"], causes, 1) == pytest.approx(0.5)
    assert top_k_hits(chances, ["seized", "worn"], causes, 3) == 1.0
    assert top_k_hits(chances, ["seized", "low"], causes, 1) == 1.0
