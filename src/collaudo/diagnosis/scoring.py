"""Judging chances against what turned out to be true: proper scores and calibration.

A score is proper when nobody can gain by stating other chances than those believed (Gneiting & Raftery,
J. Am. Statistical Association 102 (2007) 359). Calibration compares how often a ranker is right with
how sure it was; with few cases even a perfect ranker shows an error, so the error it would show is
computed beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from collaudo.diagnosis.signature_set import CauseInfo, Floats


def log_score(chance_of_truth: ArrayLike) -> float:
    """Mean of ``-ln p`` over cases (nat), ``p`` the chance given to what was true; smaller is better."""
    return float(-np.log(np.asarray(chance_of_truth, dtype=np.float64)).mean())


def brier(chances: ArrayLike, truth: ArrayLike) -> float:
    """Mean of ``sum_k (p_k - [k = truth])^2`` over cases, 0 to 2 (Brier, Mon. Weather Rev. 78 (1950) 1).

    ``chances[n, k]`` of each class and ``truth[n]``, the class that was true. The score of a plain
    yes-or-no forecast in the range 0 to 1 is half of it.
    """
    p = np.array(chances, dtype=np.float64)
    p[np.arange(p.shape[0]), np.asarray(truth, dtype=np.intp)] -= 1.0
    return float((p * p).sum(axis=1).mean())


@dataclass(frozen=True)
class CalibrationBin:
    """Cases of like confidence: how many, how sure on average, how often right."""

    cases: int
    confidence: float
    hit_share: float


def calibration_bins(confidence: ArrayLike, hit: ArrayLike, bins: int = 10) -> list[CalibrationBin]:
    """Cases sorted into bins of equal width from 0 to 1; empty bins are left out."""
    p = np.asarray(confidence, dtype=np.float64)
    right = np.asarray(hit, dtype=np.float64)
    place = np.minimum((p * bins).astype(np.intp), bins - 1)
    return [
        CalibrationBin(int(inside.sum()), float(p[inside].mean()), float(right[inside].mean()))
        for inside in (place == b for b in range(bins))
        if inside.any()
    ]


def calibration_error(confidence: ArrayLike, hit: ArrayLike, bins: int = 10) -> float:
    """Mean gap between confidence and hits over bins, weighted by cases (Naeini et al., AAAI 2015)."""
    found = calibration_bins(confidence, hit, bins)
    cases = sum(item.cases for item in found)
    return sum(item.cases * abs(item.hit_share - item.confidence) for item in found) / cases


def perfectly_calibrated_band(
    confidence: ArrayLike, n_sim: int = 1000, seed: int = 0, bins: int = 10
) -> tuple[float, float, float]:
    """Calibration error of a ranker right exactly as often as it says: 5th, 50th and 95th percentile."""
    p = np.asarray(confidence, dtype=np.float64)
    place = np.minimum((p * bins).astype(np.intp), bins - 1)
    member = (place == np.arange(bins)[:, None]).astype(np.float64)
    draws = np.random.default_rng(seed).random((n_sim, p.size))
    gaps = ((draws < p) - p) @ member.T
    low, middle, high = np.quantile(np.abs(gaps).sum(axis=1) / p.size, (0.05, 0.5, 0.95))
    return float(low), float(middle), float(high)


def top_k_hits(chances: Floats, truth: Sequence[str], causes: Sequence[CauseInfo], k: int) -> float:
    """Share of cases whose true cause has one of the ``k`` likeliest repairs.

    ``chances[n, c]`` in the order of ``causes``, ``truth[n]`` the id of the cause. Causes with the same
    repair count as one: their chances add.
    """
    repairs = sorted({cause.repair for cause in causes})
    member = np.array([[cause.repair == repair for repair in repairs] for cause in causes], dtype=np.float64)
    repair_of = {cause.id: repairs.index(cause.repair) for cause in causes}
    likeliest = np.argsort(-(chances @ member), axis=1, kind="stable")[:, :k]
    return float(np.mean([repair_of[name] in row for name, row in zip(truth, likeliest, strict=True)]))
