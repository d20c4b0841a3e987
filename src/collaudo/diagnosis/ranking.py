"""Which cause explains what was found: chances of all causes, of pairs of causes, and why.

The chance of a cause is its prior times the joint density of all findings under it, integrated over
severity. Two causes at once (one faulty machine in eight) are tried among the leaders.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from collaudo.diagnosis.explanation import Beliefs, ExplainedFinding, explain
from collaudo.diagnosis.hypotheses import PAIR_SEVERITIES, Hypotheses, pair_hypotheses, single_hypotheses
from collaudo.diagnosis.noise import Finding, NoiseSettings, Numbers, collect_numbers, joint_log_likelihood
from collaudo.diagnosis.prediction import Prediction, predict
from collaudo.diagnosis.priors import Background, prior_chances
from collaudo.diagnosis.signature_set import CauseInfo, Floats, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.words import Words, collect_words


@dataclass(frozen=True)
class RankingSettings:
    """How a ranking is made."""

    noise: NoiseSettings = field(default_factory=NoiseSettings)
    pair_share: float = 0.125
    """Share of faulty machines that have two faults at once."""
    leaders: int = 10
    """Causes among which pairs are tried."""
    explained: int = 5
    """Leading causes whose predictions are given for each finding."""
    doubt: float = 1e-3
    """Weight left to the prior whatever the findings say: the catalogue may not hold the true cause."""


@dataclass(frozen=True)
class RankedCause:
    """One cause with its chances."""

    cause: CauseInfo
    probability: float
    """Chance of being the cause; a pair counts half for each. Sums to 1 over all causes."""
    involved: float
    """Chance of being at fault, alone or as one of two."""
    prior: float


@dataclass(frozen=True)
class RankedPair:
    """Two causes at once."""

    first: str
    second: str
    probability: float


@dataclass(frozen=True, eq=False)
class Ranking:
    """Causes in order of their chance, and what speaks for and against them."""

    causes: tuple[RankedCause, ...]
    pairs: tuple[RankedPair, ...]
    evidence_bit: float
    """How far the findings have moved the chances from the prior (Kullback-Leibler divergence)."""
    beliefs: Beliefs = field(repr=False)
    taken: tuple[Finding, ...] = field(repr=False)
    leaders: NDArray[np.intp] = field(repr=False)

    @cached_property
    def findings(self) -> tuple[ExplainedFinding, ...]:
        """Every finding with what the leaders make of it; worked out when first asked for."""
        return explain(self.beliefs, self.taken, self.leaders)

    @property
    def unexplained(self) -> tuple[ExplainedFinding, ...]:
        """Findings hardly possible under any of the leaders: doubt them, or look beyond the list."""
        return tuple(finding for finding in self.findings if finding.unexplained)

    def probability(self, cause: str) -> float:
        """Chance of the cause with this id."""
        return next(ranked.probability for ranked in self.causes if ranked.cause.id == cause)


def rank(
    signatures: SignatureSet,
    surrogate: Surrogate,
    findings: Sequence[Finding],
    *,
    known: Mapping[str, float] | None = None,
    history: Collection[str] = (),
    parts_cleaned: Collection[str] = (),
    parts_replaced: Collection[str] = (),
    parts_proven_good: Collection[str] = (),
    parts_set_anew: Collection[str] = (),
    closed_jobs: Mapping[str, float] | None = None,
    settings: RankingSettings | None = None,
) -> Ranking:
    """Rank all causes against the findings.

    ``known`` holds machine and site values by name, ``closed_jobs`` counts of this shop by cause id.
    Unknown readings, outcomes, values and causes raise errors that name the near misses.
    """
    settings = settings or RankingSettings()
    background = Background(
        history, parts_replaced, parts_cleaned, parts_proven_good, closed_jobs or {}, parts_set_anew
    )
    prior = prior_chances(signatures.causes, background)
    prediction = predict(signatures, surrogate, known or {}, settings.noise.model_error_share)
    words = collect_words(findings, signatures, surrogate, prediction, settings.noise)
    numbers = collect_numbers(findings, signatures.readings, surrogate, settings.noise)
    singles = single_hypotheses(prediction, numbers.reading, words)
    log_single = _log_likelihood(singles, numbers, prediction.degrees).reshape(prediction.mean.shape[:2])
    first, second = _leading_pairs(signatures, prior, log_single, settings)
    log_pair = _pair_log_likelihood(prediction, numbers, words, first, second)
    single, pair = _posterior(signatures, prior, log_single, log_pair, (first, second), settings.pair_share)
    probability, severity_weight = _chances(single, pair, (first, second), prior, settings.doubt)
    beliefs = Beliefs(signatures, surrogate, prediction, numbers, words, severity_weight, prior, probability)
    involved = (1.0 - settings.doubt) * _involved(single, pair, (first, second)) + settings.doubt * prior
    order = np.argsort(-probability, kind="stable")
    return Ranking(
        causes=tuple(
            RankedCause(signatures.causes[c], float(probability[c]), float(involved[c]), float(prior[c]))
            for c in order
        ),
        pairs=_ranked_pairs(signatures, first, second, pair),
        evidence_bit=float((probability * np.log2(probability / prior)).sum()),
        beliefs=beliefs,
        taken=tuple(findings),
        leaders=order[: settings.explained],
    )


def _log_likelihood(hypotheses: Hypotheses, numbers: Numbers, degrees: int) -> Floats:
    residual = numbers.value - hypotheses.mean
    density = joint_log_likelihood(residual, hypotheses.covariance + numbers.noise, degrees, numbers)
    return np.asarray(density + hypotheses.log_words)


def _leading_pairs(
    signatures: SignatureSet, prior: Floats, log_single: Floats, settings: RankingSettings
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of leading causes; never "no fault", never two causes with the same repair."""
    score = np.log(prior) + _log_mean(log_single)
    order = [c for c in np.argsort(-score, kind="stable") if c != signatures.no_fault][: settings.leaders]
    causes = signatures.causes
    pairs = [(a, b) for a, b in combinations(order, 2) if causes[a].repair != causes[b].repair]
    if settings.pair_share <= 0.0:
        pairs = []
    first = np.array([a for a, _ in pairs], dtype=np.intp)
    second = np.array([b for _, b in pairs], dtype=np.intp)
    return first, second


def _pair_log_likelihood(
    prediction: Prediction,
    numbers: Numbers,
    words: Sequence[Words],
    first: NDArray[np.intp],
    second: NDArray[np.intp],
) -> Floats:
    """Log likelihood ``[p]`` of each pair, its severities integrated out."""
    if first.size == 0:
        return np.zeros(0)
    pairs = pair_hypotheses(prediction, first, second, numbers.reading, words)
    every = _log_likelihood(pairs, numbers, prediction.degrees)
    return _log_mean(every.reshape(first.size, len(PAIR_SEVERITIES) ** 2))


def _log_mean(values: Floats) -> Floats:
    top = values.max(axis=1)
    return np.asarray(top + np.log(np.exp(values - top[:, None]).mean(axis=1)))


def _posterior(
    signatures: SignatureSet,
    prior: Floats,
    log_single: Floats,
    log_pair: Floats,
    pairs: tuple[NDArray[np.intp], NDArray[np.intp]],
    pair_share: float,
) -> tuple[Floats, Floats]:
    """Posterior of single causes with severity ``[c, s]`` and of pairs ``[p]``, together summing to 1."""
    faulty = np.ones(prior.size, dtype=bool)
    if signatures.no_fault is not None:
        faulty[signatures.no_fault] = False
    share = pair_share if log_pair.size else 0.0
    alone = np.where(faulty, (1.0 - share) * prior, prior)
    first, second = pairs
    # Every pair of faults has its prior, the few that are tried keep theirs.
    both = 0.5 * (prior[faulty].sum() ** 2 - (prior[faulty] ** 2).sum())
    pair_prior = share * prior[faulty].sum() * prior[first] * prior[second] / max(both, 1e-300)
    log_alone = np.log(alone)[:, None] - np.log(log_single.shape[1]) + log_single
    log_both = np.log(pair_prior) + log_pair
    top = max(float(log_alone.max()), float(log_both.max(initial=-np.inf)))
    single, pair = np.exp(log_alone - top), np.exp(log_both - top)
    total = float(single.sum() + pair.sum())
    return single / total, pair / total


def _involved(single: Floats, pair: Floats, pairs: tuple[NDArray[np.intp], NDArray[np.intp]]) -> Floats:
    involved = single.sum(axis=1)
    for members in pairs:
        np.add.at(involved, members, pair)
    return np.asarray(involved)


def _chances(
    single: Floats,
    pair: Floats,
    pairs: tuple[NDArray[np.intp], NDArray[np.intp]],
    prior: Floats,
    doubt: float,
) -> tuple[Floats, Floats]:
    """Chance of each cause ``[c]``, a pair counting half for both, and of its severities ``[c, s]``."""
    alone = single.sum(axis=1)
    probability = 0.5 * (alone + _involved(single, pair, pairs))
    probability = (1.0 - doubt) * probability + doubt * prior
    points = single.shape[1]
    # A severity weight is needed even of causes whose chance has vanished in the arithmetic.
    least = 1e-12 * alone.max()
    severity_weight = (single + least / points) / (alone[:, None] + least)
    return probability / probability.sum(), severity_weight


def _ranked_pairs(
    signatures: SignatureSet, first: NDArray[np.intp], second: NDArray[np.intp], pair: Floats
) -> tuple[RankedPair, ...]:
    order = np.argsort(-pair, kind="stable")
    ids = [cause.id for cause in signatures.causes]
    return tuple(RankedPair(ids[first[p]], ids[second[p]], float(pair[p])) for p in order)
