"""What a bench reading is worth: shared instrument bias, noise, and the chance that it was misread.

One gauge's bias enters all its readings, so they err together; noise enters each on its own. Now and
then a value is simply wrong: read on the wrong scale, at the wrong moment, written down wrongly. The
joint density of all values therefore sums over which of them (none, one or two) are such misreads.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from collaudo.diagnosis.signature_set import Floats, ReadingInfo
from collaudo.diagnosis.student import log_density
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.transform import forward, transformed_sd

LOW, NORMAL, HIGH = "low", "normal", "high"
"""Words allowed in place of a number: against what a sound machine of this kind shows."""

_MISREAD_DEGREES = 4
_MISREAD_WIDENING = 1.5


@dataclass(frozen=True)
class Finding:
    """One reading taken on the bench."""

    reading: str
    """Id of the reading."""
    value: float | str | None
    """Number in the unit of the reading; an outcome; low, normal or high; None: it did not occur."""
    doubted: bool = False
    """The technician does not trust it: it counts, but less."""


@dataclass(frozen=True)
class NoiseSettings:
    """How far findings are trusted."""

    misread_chance: float = 0.02
    doubted_misread_chance: float = 0.3
    doubted_widening: float = 3.0
    """Factor on the noise of a doubted number."""
    confusion: float = 0.03
    """Chance that an outcome is taken for any other (wet for dry)."""
    doubted_confusion: float = 0.4
    model_error_share: float = 0.0
    """Error of the twin itself, as a share of the spread of each reading between machines."""


@dataclass(frozen=True, eq=False)
class Numbers:
    """The findings that are numbers, side by side, in transformed space."""

    position: NDArray[np.intp]
    """Position of each among the findings."""
    reading: NDArray[np.intp]
    value: Floats
    bias: Floats
    """Standard deviation of the instrument's bias at each value."""
    noise: Floats
    """``[n, n]`` covariance of shared bias and own noise"""
    log_right: Floats
    """Log chance of each having been read right."""
    log_wrong: Floats
    """Log of the chance of a misread times the density of misread values."""


def collect_numbers(
    findings: Sequence[Finding],
    readings: Sequence[ReadingInfo],
    surrogate: Surrogate,
    settings: NoiseSettings,
) -> Numbers:
    """Arrange the findings that are numbers; the order of the findings is kept."""
    index = {reading.id: r for r, reading in enumerate(readings)}
    taken = [
        (i, index[finding.reading], float(finding.value), finding.doubted)
        for i, finding in enumerate(findings)
        if isinstance(finding.value, int | float) and readings[index[finding.reading]].kind == "number"
    ]
    r = np.array([item[1] for item in taken], dtype=np.intp)
    raw = np.array([item[2] for item in taken])
    doubted = np.array([item[3] for item in taken], dtype=bool)
    value = np.array([forward(x, readings[k], surrogate.floor[k]) for k, x in zip(r, raw, strict=True)])
    own, bias = error_sds(r, raw, readings, surrogate)
    own = own * np.where(doubted, settings.doubted_widening, 1.0)
    wrong = np.where(doubted, settings.doubted_misread_chance, settings.misread_chance)
    wide = _MISREAD_WIDENING * np.hypot(surrogate.overall_spread[r], own)
    square = ((value - surrogate.overall_mean[r]) / wide) ** 2
    return Numbers(
        position=np.array([item[0] for item in taken], dtype=np.intp),
        reading=r,
        value=value,
        bias=bias,
        noise=shared_bias(r, bias, r, bias, readings) + np.diag(own**2),
        log_right=np.log1p(-wrong),
        log_wrong=np.log(wrong) + log_density(square, 2.0 * np.log(wide), 1, _MISREAD_DEGREES),
    )


def error_sds(
    reading: NDArray[np.intp], raw: Floats, readings: Sequence[ReadingInfo], surrogate: Surrogate
) -> tuple[Floats, Floats]:
    """Standard deviations, transformed, of own noise and of bias at raw values (last axis: readings)."""
    own, bias = np.zeros_like(raw), np.zeros_like(raw)
    for n, r in enumerate(reading):
        info, floor = readings[r], surrogate.floor[r]
        own[..., n] = transformed_sd(info.noise_sd, raw[..., n], info, floor)
        bias[..., n] = transformed_sd(info.bias_sd, raw[..., n], info, floor)
    # Nothing is read without error; a share of the spread keeps the densities finite.
    return np.maximum(own, 1e-3 * surrogate.overall_spread[reading]), bias


def shared_bias(
    first: NDArray[np.intp],
    first_bias: Floats,
    second: NDArray[np.intp],
    second_bias: Floats,
    readings: Sequence[ReadingInfo],
) -> Floats:
    """Covariance ``[..., n, m]`` from instruments that gave readings of both lists."""
    one = [readings[r].instrument or f"of {readings[r].id}" for r in first]
    other = [readings[r].instrument or f"of {readings[r].id}" for r in second]
    same = np.array([[a == b for b in other] for a in one], dtype=np.float64).reshape(len(one), len(other))
    return np.asarray(same * first_bias[..., :, None] * second_bias[..., None, :])


def joint_log_likelihood(residual: Floats, covariance: Floats, degrees: int, numbers: Numbers) -> Floats:
    """Log density of all numbers under each hypothesis: ``residual[h, n]``, ``covariance[h, n, n]``.

    Multivariate t for the numbers read right, summed over no, one or two misreads among them. What
    remains after leaving one or two out follows from the inverse of the whole covariance, so no
    further matrix is inverted.
    """
    hypotheses, n = residual.shape
    if n == 0:
        return np.zeros(hypotheses)
    precision = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    log_determinant = np.asarray(-np.linalg.slogdet(precision)[1], dtype=np.float64)
    pull = np.matmul(precision, residual[:, :, None])[:, :, 0]
    square = np.maximum((pull * residual).sum(axis=1), 0.0)
    all_right = float(numbers.log_right.sum())
    odds = numbers.log_wrong - numbers.log_right
    terms = [all_right + log_density(square, log_determinant, n, degrees)[:, None]]
    own = np.asarray(np.diagonal(precision, axis1=1, axis2=2))
    without = np.maximum(square[:, None] - pull * pull / own, 0.0)
    log_left = log_determinant[:, None] + np.log(own)
    terms.append(all_right + odds + log_density(without, log_left, n - 1, degrees))
    if n >= 3:
        pairs = np.array(list(combinations(range(n), 2)))
        terms.append(all_right + _two_misread(square, log_determinant, precision, pull, pairs, odds, degrees))
    every = np.concatenate(terms, axis=1)
    top = every.max(axis=1)
    return np.asarray(top + np.log(np.exp(every - top[:, None]).sum(axis=1)))


def _two_misread(
    square: Floats,
    log_determinant: Floats,
    precision: Floats,
    pull: Floats,
    pairs: NDArray[np.intp],
    odds: Floats,
    degrees: int,
) -> Floats:
    i, j = pairs[:, 0], pairs[:, 1]
    a, b, c = precision[:, i, i], precision[:, j, j], precision[:, i, j]
    determinant = np.maximum(a * b - c * c, 1e-300)
    u, v = pull[:, i], pull[:, j]
    removed = (b * u * u - 2.0 * c * u * v + a * v * v) / determinant
    without = np.maximum(square[:, None] - removed, 0.0)
    size = precision.shape[1] - 2
    density = log_density(without, log_determinant[:, None] + np.log(determinant), size, degrees)
    return np.asarray(odds[i] + odds[j] + density)


def repeat_weight(times: int) -> float:
    """Weight of each of several equal observations in words.

    Repeats on one machine are no new machines: ``n`` of them together count as the root of ``n``.
    """
    return 1.0 / math.sqrt(times)
