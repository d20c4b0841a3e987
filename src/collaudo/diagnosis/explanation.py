"""Why a cause stands where it stands: what it predicts for each finding, what speaks for and against it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.diagnosis.noise import Finding, Numbers
from collaudo.diagnosis.prediction import Prediction, reading_variance, total_variance
from collaudo.diagnosis.signature_set import Floats, SignatureSet
from collaudo.diagnosis.student import below_nearly, log_density, outside
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.transform import backward
from collaudo.diagnosis.words import Words

UNEXPLAINED_BELOW = 0.01
"""A finding with a smaller chance of being so far off, under every leader, is unexplained."""
_CLEAR = float(np.log(2.0))
"""A finding twice as likely, or half as likely, speaks for or against."""
_RANGE = (0.05, 0.5, 0.95)
_FAR = 3.0
"""Spreads within which 5 and 95 of a hundred lie, however heavy the tails."""
_HALVINGS = 20


@dataclass(frozen=True)
class PredictedFinding:
    """What one cause makes of one finding."""

    cause: str
    low: float | None
    """Five of a hundred such machines read lower (unit of the reading); None for findings in words."""
    typical: float | None
    high: float | None
    chances: Mapping[str, float]
    """Chance of each option: outcomes, or whether the reading occurs at all."""
    tail: float
    """Chance of a finding at least as unlikely as this one."""
    support: float
    """Natural log of how much likelier the finding is under this cause than under the others."""

    @property
    def speaks(self) -> str:
        """In a word: "for", "against" or "neither"."""
        if abs(self.support) < _CLEAR:
            return "neither"
        return "for" if self.support > 0 else "against"


@dataclass(frozen=True)
class ExplainedFinding:
    """One finding with what the leading causes make of it."""

    finding: Finding
    predicted: tuple[PredictedFinding, ...]
    unexplained: bool
    """Hardly possible under any of the leaders."""


@dataclass(frozen=True, eq=False)
class Beliefs:
    """The arrays behind a ranking, for explaining it and for choosing the next check."""

    signatures: SignatureSet
    surrogate: Surrogate
    prediction: Prediction
    numbers: Numbers
    words: Sequence[Words]
    severity_weight: Floats
    """``[c, s]``: chances of the severities of each cause, all findings considered; 1 in sum for each"""
    prior: Floats
    probability: Floats
    """``[c]``, summing to 1"""


@dataclass(frozen=True, eq=False)
class _View:
    """One finding under all causes: log chance and tail ``[c]``, range ``[q, leaders]`` of a number."""

    log_chance: Floats
    tail: Floats
    span: Floats | None


def explain(
    beliefs: Beliefs, findings: Sequence[Finding], leaders: NDArray[np.intp]
) -> tuple[ExplainedFinding, ...]:
    """Explain every finding under the leaders, each at the severities that suit all findings best."""
    place = {int(position): n for n, position in enumerate(beliefs.numbers.position)}
    explained = []
    for position, finding in enumerate(findings):
        words = beliefs.words[position]
        chances = np.einsum("cs,cso->co", beliefs.severity_weight, words.chance)
        if position in place:
            view = _view_of_number(beliefs, place[position], chances[:, words.taken], leaders)
        else:
            plain = np.einsum("cs,cso->co", beliefs.severity_weight, words.unconfused)
            view = _view_of_word(chances, plain, words.taken)
        predicted = _predicted(beliefs, view, words, chances, leaders)
        unexplained = bool(np.all(view.tail[leaders] < UNEXPLAINED_BELOW))
        explained.append(ExplainedFinding(finding, predicted, unexplained))
    return tuple(explained)


def _predicted(
    beliefs: Beliefs, view: _View, words: Words, chances: Floats, leaders: NDArray[np.intp]
) -> tuple[PredictedFinding, ...]:
    support = _support(view.log_chance, beliefs.prior)
    predicted = []
    for i, c in enumerate(leaders):
        low, typical, high = (None, None, None) if view.span is None else (float(x) for x in view.span[:, i])
        options = dict(zip(words.options, chances[c].tolist(), strict=True))
        cause = beliefs.signatures.causes[c].id
        predicted.append(
            PredictedFinding(
                cause, low, typical, high, options, min(float(view.tail[c]), 1.0), float(support[c])
            )
        )
    return tuple(predicted)


def _support(log_chance: Floats, prior: Floats) -> Floats:
    """Log ratio ``[c]`` of the chance under each cause to that under all others, weighted by their priors."""
    chance = np.exp(log_chance - log_chance.max())
    others = (prior @ chance - prior * chance) / np.maximum(1.0 - prior, 1e-300)
    if chance.size == 1:
        return np.zeros(1)
    return np.asarray(log_chance - log_chance.max() - np.log(np.maximum(others, 1e-300)))


def _view_of_word(chances: Floats, plain: Floats, taken: int) -> _View:
    found = plain[:, taken, None]
    # Options as unlikely as the one found, without the confusion that no option can be freed of.
    tail = np.where(plain <= found, plain, 0.0).sum(axis=1)
    return _View(np.log(chances[:, taken]), tail, None)


def _view_of_number(beliefs: Beliefs, n: int, occurs: Floats, leaders: NDArray[np.intp]) -> _View:
    prediction, numbers = beliefs.prediction, beliefs.numbers
    r = int(numbers.reading[n])
    info = beliefs.signatures.readings[r]
    mean = prediction.mean[:, :, r]
    between = total_variance(prediction, r)
    standard = (numbers.value[n] - mean) / np.sqrt(between + numbers.noise[n, n])
    tail = (beliefs.severity_weight * outside(standard, prediction.degrees)).sum(axis=1)
    density = np.exp(log_density(standard**2, np.log(between + numbers.noise[n, n]), 1, prediction.degrees))
    right = np.exp(numbers.log_right[n]) * (beliefs.severity_weight * density).sum(axis=1)
    log_chance = np.log(occurs) + np.log(right + np.exp(numbers.log_wrong[n]))
    readings = beliefs.signatures.readings
    spread = np.sqrt(between + reading_variance(mean, r, readings, beliefs.surrogate))[leaders]
    at = _quantiles(mean[leaders], spread, beliefs.severity_weight[leaders], prediction.degrees)
    return _View(log_chance, tail, backward(at, info))


def _quantiles(mean: Floats, spread: Floats, weight: Floats, degrees: int) -> Floats:
    """Quantiles ``[q, l]`` of the mixture over severities, by halving an interval that holds them."""
    shares = np.array(_RANGE)[:, None]
    low = np.broadcast_to((mean - _FAR * spread).min(axis=1), (shares.size, mean.shape[0]))
    high = np.broadcast_to((mean + _FAR * spread).max(axis=1), low.shape)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        chance = below_nearly((middle[:, :, None] - mean) / spread, degrees)
        too_low = (weight * chance).sum(axis=2) < shares
        low, high = np.where(too_low, middle, low), np.where(too_low, high, middle)
    return np.asarray(0.5 * (low + high))
