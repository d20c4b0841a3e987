"""What a check may find, and what would then be believed.

The remaining causes, each at a few severities, are the hypotheses. For each, the readings to come are
predicted with the findings at hand taken into account: a gauge known to read high will read high again.
Findings are imagined under all hypotheses with the same random numbers for every check, so that checks
differ by what they tell and not by luck. A check with outcomes alone is worked out over all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from collaudo.diagnosis.hypotheses import covariance_of
from collaudo.diagnosis.noise import NoiseSettings, error_sds, shared_bias
from collaudo.diagnosis.ranking import Ranking
from collaudo.diagnosis.signature_set import Floats, ReadingInfo, SignatureSet
from collaudo.diagnosis.student import log_density
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.transform import backward

_SEVERITIES = 5
_MOST_OUTCOMES = 256
_MISREAD_UNEXPLAINED = 100.0
"""A finding nobody explains says little about readings to come: its noise variance counts so often."""


@dataclass(frozen=True, eq=False)
class Foresight:
    """Predictions of all readings under the remaining hypotheses ``h``, findings taken into account."""

    cause: NDArray[np.intp]
    """``[c]`` positions of the remaining causes in the signatures"""
    probability: Floats
    """``[c]`` summing to 1"""
    of_cause: NDArray[np.intp]
    """``[h]`` position in ``cause``"""
    weight: Floats
    """``[h]`` summing to 1"""
    mean: Floats
    covariance: Floats
    """``[h, r, r]`` noise included"""
    degrees: int
    """Of the t distribution, the more the more numbers have been found."""
    options: tuple[Floats, ...]
    """For each reading ``[h, o]``: chances of its outcomes, or of occurring, and last of not occurring"""
    is_number: NDArray[np.bool_]
    misread_chance: float
    misread_mean: Floats
    misread_spread: Floats
    uniform: Floats
    """``[n, r]`` random numbers common to all checks"""
    normal: Floats
    """``[n, r]``"""


def foresee(
    signatures: SignatureSet,
    surrogate: Surrogate,
    ranking: Ranking,
    noise: NoiseSettings,
    prune_below: float,
    draws: int,
    random_seed: int,
) -> Foresight:
    """Prepare the look ahead from a ranking: prune causes, condition all readings on the findings."""
    beliefs = ranking.beliefs
    cause = np.flatnonzero(beliefs.probability >= min(prune_below, beliefs.probability.max()))
    probability = beliefs.probability[cause] / beliefs.probability[cause].sum()
    severity = _severities(beliefs.severity_weight[cause])
    of_cause = np.repeat(np.arange(cause.size), _SEVERITIES)
    at = (cause[of_cause], severity.reshape(-1))
    mean, covariance = _conditioned(signatures.readings, surrogate, ranking, at)
    random = np.random.default_rng(random_seed)
    readings = len(signatures.readings)
    return Foresight(
        cause=cause,
        probability=probability,
        of_cause=of_cause,
        weight=probability[of_cause] / _SEVERITIES,
        mean=mean,
        covariance=covariance,
        degrees=surrogate.degrees + beliefs.numbers.value.size,
        options=_options(signatures.readings, surrogate, at, noise.confusion),
        is_number=np.array([info.kind == "number" for info in signatures.readings], dtype=bool),
        misread_chance=noise.misread_chance,
        misread_mean=surrogate.overall_mean,
        misread_spread=1.5 * surrogate.overall_spread,
        uniform=random.random((draws, readings)),
        normal=random.standard_normal((draws, readings)),
    )


def _severities(weight: Floats) -> NDArray[np.intp]:
    """A few equally likely severities ``[c, few]`` of each cause, from the chances of all of them."""
    shares = (np.arange(_SEVERITIES) + 0.5) / _SEVERITIES
    below = np.cumsum(weight, axis=1) / weight.sum(axis=1, keepdims=True)
    place = (below[:, None, :] < shares[:, None]).sum(axis=2)
    return np.asarray(np.minimum(place, weight.shape[1] - 1), dtype=np.intp)


def _conditioned(
    readings: Sequence[ReadingInfo],
    surrogate: Surrogate,
    ranking: Ranking,
    at: tuple[NDArray[np.intp], NDArray[np.intp]],
) -> tuple[Floats, Floats]:
    """Mean ``[h, r]`` and covariance ``[h, r, r]`` of new readings, given the numbers found."""
    prediction, numbers = ranking.beliefs.prediction, ranking.beliefs.numbers
    every = np.arange(len(readings))
    mean = prediction.mean[at]
    between = covariance_of(prediction.spread[at], prediction.correlation[at[0]], prediction.unknown[at[0]])
    raw = np.stack([backward(mean[:, r], info) for r, info in enumerate(readings)], axis=-1)
    own, bias = error_sds(every, raw, readings, surrogate)
    covariance = between + shared_bias(every, bias, every, bias, readings)
    covariance[:, every, every] += own**2
    found = numbers.reading
    if found.size == 0:
        return mean, covariance
    trust = np.ones(found.size)
    for n, position in enumerate(numbers.position):
        if ranking.findings[position].unexplained:
            trust[n] = _MISREAD_UNEXPLAINED
    noise = numbers.noise + np.diag(np.diag(numbers.noise) * (trust - 1.0))
    cross = between[:, :, found] + shared_bias(every, bias, found, numbers.bias, readings)
    inverse = np.linalg.inv(between[:, found[:, None], found[None, :]] + noise)
    gain = np.matmul(cross, inverse)
    residual = numbers.value - mean[:, found]
    pull = np.matmul(inverse, residual[:, :, None])[:, :, 0]
    # A t distribution widens where the numbers found lie far from what was predicted.
    degrees = prediction.degrees
    widen = (degrees - 2.0 + (pull * residual).sum(axis=1)) / (degrees - 2.0 + found.size)
    left = covariance - np.matmul(gain, cross.transpose(0, 2, 1))
    return mean + np.matmul(cross, pull[:, :, None])[:, :, 0], left * widen[:, None, None]


def _options(
    readings: Sequence[ReadingInfo],
    surrogate: Surrogate,
    at: tuple[NDArray[np.intp], NDArray[np.intp]],
    confusion: float,
) -> tuple[Floats, ...]:
    options = []
    every_occurs, every_chance = surrogate.occurs[at], surrogate.chance[at]
    for r, info in enumerate(readings):
        occurs = every_occurs[:, r, None]
        is_word = info.kind == "outcome"
        there = every_chance[:, r, : len(info.outcomes)] if is_word else np.ones_like(occurs)
        chance = np.concatenate([occurs * there, 1.0 - occurs], axis=1)
        options.append((1.0 - confusion) * chance + confusion / chance.shape[1])
    return tuple(options)


def look_ahead(foresight: Foresight, readings: Sequence[int]) -> tuple[Floats, Floats]:
    """Chances of the causes ``[n, c]`` after each imagined result of the readings, and its weight ``[n]``."""
    results = 1
    for r in readings:
        results *= foresight.options[r].shape[1]
    if not any(foresight.is_number[r] for r in readings) and results <= _MOST_OUTCOMES:
        likelihood = _every_outcome(foresight, readings)
        return _posterior(foresight, likelihood), likelihood @ foresight.weight
    log_likelihood = _imagined(foresight, readings)
    likelihood = np.exp(log_likelihood - log_likelihood.max(axis=1, keepdims=True))
    draws = likelihood.shape[0]
    return _posterior(foresight, likelihood), np.full(draws, 1.0 / draws)


def _posterior(foresight: Foresight, likelihood: Floats) -> Floats:
    weighted = likelihood * foresight.weight
    by_cause = weighted.reshape(likelihood.shape[0], foresight.cause.size, _SEVERITIES).sum(axis=2)
    return np.asarray(by_cause / by_cause.sum(axis=1, keepdims=True))


def _every_outcome(foresight: Foresight, readings: Sequence[int]) -> Floats:
    """Chance ``[n, h]`` of every combination of outcomes."""
    tables = [foresight.options[r].T for r in readings]
    every = np.stack([np.prod(rows, axis=0) for rows in product(*tables)])
    return np.asarray(every[every @ foresight.weight > 0.0])


def _imagined(foresight: Foresight, readings: Sequence[int]) -> Floats:
    """Log likelihood ``[n, h]`` of imagined results, drawn from hypotheses in proportion to their weight."""
    draws = foresight.uniform.shape[0]
    edges = np.cumsum(foresight.weight)
    true = np.minimum(np.searchsorted(edges, (np.arange(draws) + 0.5) / draws), edges.size - 1)
    log_likelihood = np.zeros((draws, edges.size))
    occurred = np.zeros((draws, len(readings)), dtype=bool)
    for i, r in enumerate(readings):
        taken = (np.cumsum(foresight.options[r][true], axis=1) < foresight.uniform[:, r, None]).sum(axis=1)
        taken = np.minimum(taken, foresight.options[r].shape[1] - 1)
        log_likelihood += np.log(foresight.options[r].T[taken])
        occurred[:, i] = foresight.is_number[r] & (taken == 0)
    for pattern in np.unique(occurred, axis=0):
        if pattern.any():
            rows = np.flatnonzero((occurred == pattern).all(axis=1))
            numbers = np.array(readings, dtype=np.intp)[pattern]
            log_likelihood[rows] += _imagined_numbers(foresight, numbers, rows, true[rows])
    return log_likelihood


def _imagined_numbers(
    foresight: Foresight, readings: NDArray[np.intp], rows: NDArray[np.intp], true: NDArray[np.intp]
) -> Floats:
    mean = foresight.mean[:, readings]
    covariance = foresight.covariance[:, readings[:, None], readings[None, :]]
    root = np.linalg.cholesky(covariance)
    normal = foresight.normal[rows][:, readings]
    value = mean[true] + np.matmul(root[true], normal[:, :, None])[:, :, 0]
    inverse_root = np.linalg.inv(root)
    residual = value.T[None, :, :] - mean[:, :, None]
    square = (np.matmul(inverse_root, residual) ** 2).sum(axis=1)
    log_determinant = -2.0 * np.log(np.einsum("hii->hi", inverse_root)).sum(axis=1)
    right = log_density(square, log_determinant[:, None], readings.size, foresight.degrees)
    wide = foresight.misread_spread[readings]
    far = (((value - foresight.misread_mean[readings]) / wide) ** 2).sum(axis=1)
    wrong = log_density(far, 2.0 * np.log(wide).sum(), readings.size, 4)
    kept, lost = np.log1p(-foresight.misread_chance), np.log(max(foresight.misread_chance, 1e-12))
    return np.asarray(np.logaddexp(kept + right, lost + wrong).T)
