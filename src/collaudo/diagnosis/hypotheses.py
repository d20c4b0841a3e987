"""The hypotheses findings are held against: one cause with a severity, or two causes with one each.

Two causes superpose their effects: each moves a reading away from what a sound machine shows, and the
moves add in transformed space; chances superpose in the same way in log odds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.diagnosis.prediction import Prediction
from collaudo.diagnosis.signature_set import Floats
from collaudo.diagnosis.words import Words

PAIR_SEVERITIES = (1, 4, 7, 10, 13)
"""Points of the severity grid used for two causes together."""
_PAIR_WIDENING = 1.2
"""Superposition is an approximation: the spread of two causes together is widened by this factor."""


@dataclass(frozen=True, eq=False)
class Hypotheses:
    """Means ``[h, n]``, covariances ``[h, n, n]`` between machines, and log chance ``[h]`` of the words."""

    mean: Floats
    covariance: Floats
    log_words: Floats


def covariance_of(spread: Floats, correlation: Floats, unknown: Floats) -> Floats:
    """Covariance ``[h, n, m]`` between machines from spread ``[h, n]``, correlation and unknown values."""
    own = spread[:, :, None] * spread[:, None, :] * correlation
    return np.asarray(own + np.matmul(unknown.transpose(0, 2, 1), unknown))


def single_hypotheses(
    prediction: Prediction, reading: NDArray[np.intp], words: Sequence[Words]
) -> Hypotheses:
    """Every cause with every severity, cause by cause."""
    causes, points = prediction.mean.shape[:2]
    of_cause = np.repeat(np.arange(causes), points)
    log_words = np.zeros((causes, points))
    for word in words:
        log_words += word.weight * np.log(word.chance[:, :, word.taken])
    return Hypotheses(
        mean=prediction.mean[:, :, reading].reshape(causes * points, -1),
        covariance=covariance_of(
            prediction.spread[:, :, reading].reshape(causes * points, -1),
            prediction.correlation[:, reading[:, None], reading[None, :]][of_cause],
            prediction.unknown[:, :, reading][of_cause],
        ),
        log_words=log_words.reshape(-1),
    )


def pair_hypotheses(
    prediction: Prediction,
    first: NDArray[np.intp],
    second: NDArray[np.intp],
    reading: NDArray[np.intp],
    words: Sequence[Words],
) -> Hypotheses:
    """Every pair of causes with every pair of a few severities, pair by pair."""
    few = np.array(PAIR_SEVERITIES)
    a, s = np.repeat(first, few.size**2), np.tile(np.repeat(few, few.size), first.size)
    b, t = np.repeat(second, few.size**2), np.tile(np.tile(few, few.size), first.size)
    log_words = np.zeros(a.size)
    for word in words:
        together = word.chance[a, s] * word.chance[b, t] / word.sound
        log_words += word.weight * np.log(together[:, word.taken] / together.sum(axis=1))
    correlation = prediction.correlation[:, reading[:, None], reading[None, :]]
    unknown = prediction.unknown[:, :, reading]
    spread = np.maximum(prediction.spread[a, s][:, reading], prediction.spread[b, t][:, reading])
    return Hypotheses(
        mean=_superposed(prediction, (a, s), (b, t), reading),
        covariance=covariance_of(
            _PAIR_WIDENING * spread, 0.5 * (correlation[a] + correlation[b]), 0.5 * (unknown[a] + unknown[b])
        ),
        log_words=log_words,
    )


def _superposed(
    prediction: Prediction,
    one: tuple[NDArray[np.intp], NDArray[np.intp]],
    other: tuple[NDArray[np.intp], NDArray[np.intp]],
    reading: NDArray[np.intp],
) -> Floats:
    sound = prediction.sound[reading]
    means = [prediction.mean[at][:, reading] for at in (one, other)]
    occurs = [prediction.occurs[at][:, reading] for at in (one, other)]
    sound_occurs = prediction.sound_occurs[reading]
    # A cause under which the reading hardly ever occurs says little about its value.
    moved = sum(
        (mean - sound) * np.minimum(chance / sound_occurs, 1.0)
        for mean, chance in zip(means, occurs, strict=True)
    )
    # Where a sound machine never gives the reading there is nothing to move away from.
    between = (means[0] * occurs[0] + means[1] * occurs[1]) / (occurs[0] + occurs[1])
    mean = np.where(sound_occurs > 0.3, sound + moved, between)
    return np.asarray(np.clip(mean, prediction.lowest[reading], prediction.highest[reading]))
