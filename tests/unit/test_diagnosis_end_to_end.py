"""Two thousand invented jobs, one in eight with two faults: are the chances right, and do they help?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from collaudo.diagnosis.ranking import rank
from collaudo.diagnosis.scoring import calibration_error, log_score, perfectly_calibrated_band, top_k_hits
from collaudo.diagnosis.surrogate import fit_surrogate
from tests.unit.invented_signatures import draw_case, invented_set

CASES = 2000


@dataclass(frozen=True)
class Outcome:
    """What 2000 rankings said, and what was true."""

    chances: np.ndarray
    priors: np.ndarray
    sure: np.ndarray
    right: np.ndarray
    truth: list[tuple[int, ...]]


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    signatures = invented_set()
    surrogate = fit_surrogate(signatures)
    random = np.random.default_rng(2000)
    chances, sure, right, truth, prior = [], [], [], [], None
    for _ in range(CASES):
        case = draw_case(random)
        ranking = rank(signatures, surrogate, case.findings, known=case.known)
        leader = ranking.causes[0]
        chances.append(ranking.beliefs.probability)
        prior = ranking.beliefs.prior
        sure.append(leader.involved)
        right.append(signatures.cause_index[leader.cause.id] in case.truth)
        truth.append(case.truth)
    return Outcome(np.array(chances), np.array(prior), np.array(sure), np.array(right), truth)


def test_chances_are_as_good_as_those_of_a_perfectly_calibrated_ranker(outcome: Outcome) -> None:
    error = calibration_error(outcome.sure, outcome.right)
    _, _, worst_of_twenty = perfectly_calibrated_band(outcome.sure)
    assert error <= worst_of_twenty + 0.03
    # On average neither too sure nor too timid: the share of hits is known to 0.7 % (one standard error).
    assert outcome.sure.mean() == pytest.approx(outcome.right.mean(), abs=0.025)


def test_findings_help_far_beyond_the_prior(outcome: Outcome) -> None:
    to_truth = [
        chances[list(truth)].sum() for chances, truth in zip(outcome.chances, outcome.truth, strict=True)
    ]
    before = [outcome.priors[list(truth)].sum() for truth in outcome.truth]
    assert log_score(before) > 1.5
    assert log_score(to_truth) < 0.5


def test_the_leader_is_right_far_more_often_than_the_commonest_cause(outcome: Outcome) -> None:
    assert outcome.right.mean() > 0.8
    commonest = int(np.argmax(outcome.priors))
    assert np.mean([commonest in truth for truth in outcome.truth]) < 0.25


def test_the_true_repair_is_among_the_first_three(outcome: Outcome) -> None:
    signatures = invented_set()
    truth = [signatures.causes[causes[0]].id for causes in outcome.truth]
    assert top_k_hits(outcome.chances, truth, signatures.causes, 3) > 0.95
