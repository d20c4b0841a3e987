"""Readings to come, predicted with the findings at hand taken into account."""

from __future__ import annotations

import numpy as np
import pytest

from collaudo.diagnosis.foresight import Foresight, foresee, look_ahead
from collaudo.diagnosis.noise import Finding, NoiseSettings
from collaudo.diagnosis.ranking import rank
from collaudo.diagnosis.signature_set import CauseInfo, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import fit_surrogate
from tests.unit.invented_signatures import invented_set

BIAS, NOISE = 0.10, 0.05


def steady_set() -> SignatureSet:
    """One gauge read twice and a thermometer, on machines that do not differ at all."""
    number = np.tile([1.0, 9.0, 92.0], (1, 40, 1))
    return SignatureSet(
        (CauseInfo("no-fault", "m", "", 10, "explain", 5, 0),),
        (
            ReadingInfo("gauge.idle", "gauge", "", instrument="gauge", bias_sd=BIAS, noise_sd=NOISE),
            ReadingInfo("gauge.brew", "gauge", "", instrument="gauge", bias_sd=BIAS, noise_sd=NOISE),
            ReadingInfo("heat.group", "heat", "", instrument="thermometer", bias_sd=0.8, noise_sd=0.4),
        ),
        (), (), np.zeros((1, 40)), np.zeros((40, 0)), number, np.full(number.shape, -1, dtype=np.int8),
    )  # fmt: skip


def foreseen(signatures: SignatureSet, *findings: Finding, draws: int = 64) -> Foresight:
    surrogate = fit_surrogate(signatures)
    ranking = rank(signatures, surrogate, findings)
    return foresee(signatures, surrogate, ranking, NoiseSettings(), 0.005, draws, 1)


def test_a_gauge_that_read_high_is_expected_to_read_high_again() -> None:
    ahead = foreseen(steady_set(), Finding("gauge.idle", 1.15))
    # Normal errors: the bias is expected at its share of what was seen.
    share = BIAS**2 / (BIAS**2 + NOISE**2)
    assert ahead.mean[0] == pytest.approx([1.0 + share * 0.15, 9.0 + share * 0.15, 92.0], abs=1e-6)


def test_what_is_left_of_the_uncertainty_is_noise_and_the_rest_of_the_bias() -> None:
    ahead = foreseen(steady_set(), Finding("gauge.idle", 1.0))
    left = BIAS**2 * NOISE**2 / (BIAS**2 + NOISE**2)
    degrees = ahead.degrees - 1
    # A finding as expected narrows a t distribution: (degrees - 2) / (degrees - 1) for one reading.
    narrow = (degrees - 2) / (degrees - 1)
    expected = np.array([left + NOISE**2, left + NOISE**2, 0.8**2 + 0.4**2]) * narrow
    assert np.diag(ahead.covariance[0]) == pytest.approx(expected, rel=1e-3)
    assert ahead.covariance[0, 0, 1] == pytest.approx(left * narrow, rel=1e-3)


def test_a_finding_nobody_explains_hardly_moves_what_is_expected() -> None:
    believed = foreseen(steady_set(), Finding("gauge.idle", 1.25))
    absurd = foreseen(steady_set(), Finding("gauge.idle", 3.0))
    assert absurd.mean[0, 1] - 9.0 < 0.15 * 2.0
    assert believed.mean[0, 1] - 9.0 > 0.15


def test_causes_of_less_than_half_a_percent_are_left_out() -> None:
    findings = Finding("gauge.brew", 5.0), Finding("flow.return", 7.0), Finding("look.valve", "dry")
    signatures = invented_set()
    ahead = foreseen(signatures, *findings)
    assert 1 <= ahead.cause.size < len(signatures.causes)
    assert ahead.probability.sum() == pytest.approx(1.0)
    assert ahead.weight.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("check", ["gauge", "heat", "look"])
def test_expected_beliefs_are_the_beliefs_now(check: str) -> None:
    """Nobody can expect to change his mind in a given direction."""
    signatures = invented_set()
    ahead = foreseen(signatures, Finding("flow.free", 95.0), draws=4000)
    readings = [r for r, info in enumerate(signatures.readings) if info.check == check]
    posterior, weight = look_ahead(ahead, readings)
    # Exact for outcomes; 4000 imagined findings scatter by 0.5 in 100, misreads left out of them by 1 in 100.
    allowed = 1e-12 if check == "look" else 0.02
    assert weight @ posterior == pytest.approx(ahead.probability, abs=allowed)
