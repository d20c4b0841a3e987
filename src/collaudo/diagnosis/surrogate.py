"""A smooth stand-in for the drawn signatures of each cause.

For every cause and reading, in transformed space: a mean as a curve in severity, the effect of the
machine and site values learned over all causes together (with a deviation of each cause's own where
the draws ask for one), a spread that may change with severity, correlations between readings shrunk
towards those of all causes, and the chance that the reading occurs or takes each outcome.

Weighting the draws themselves by a product of likelihoods leaves one or two of them to decide
everything once a dozen readings are in; the curve uses all of them.

Residuals are those of each draw predicted without itself, so the spread includes what a curve
fitted to so few draws does not know.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collaudo.diagnosis.regression import CurveFit, fit_curves, local_weights, severity_grid
from collaudo.diagnosis.signature_set import Floats, SignatureSet
from collaudo.diagnosis.student import fit_degrees
from collaudo.diagnosis.transform import floor_of, forward

SEVERITY_POINTS = 15
_PSEUDO_DRAWS = 2.0
"""Weight of what all causes or severities say, in draws, against the draws of one cause nearby."""
_SAME_OCCURRENCE = 1.0
_PREFIX = "surrogate_"


@dataclass(frozen=True, eq=False)
class Surrogate:
    """The fitted curves on a grid of severities ``s`` (equally likely points of each cause).

    Values of readings are in transformed space; ``k`` counts the known machine and site values,
    standardised by ``known_mean`` and ``known_sd``.
    """

    severity: Floats
    """``[c, s]``"""
    mean: Floats
    """``[c, s, r]`` at the mean machine"""
    slope: Floats
    """``[c, k, r]`` effect of one standard deviation of a known value"""
    spread: Floats
    """``[c, s, r]`` standard deviation between machines, all known values given"""
    correlation: Floats
    """``[c, r, r]``"""
    occurs: Floats
    """``[c, s, r]`` chance that the reading occurs at all"""
    chance: Floats
    """``[c, s, r, o]`` chance of each outcome of readings in words, given that it occurs"""
    floor: Floats
    """``[r]`` smallest raw value told apart from zero"""
    overall_mean: Floats
    """``[r]`` over all causes: where a misread value may lie"""
    overall_spread: Floats
    """``[r]``"""
    known_mean: Floats
    known_sd: Floats
    known_low: Floats
    known_high: Floats
    known_correlation: Floats
    """``[k, k]``"""
    degrees: int
    """Degrees of freedom of the t distribution of the residuals (even)."""

    def arrays(self) -> dict[str, NDArray[Any]]:
        """The fields as named arrays, to be stored beside the signatures."""
        return {_PREFIX + item.name: np.asarray(getattr(self, item.name)) for item in fields(self)}

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, NDArray[Any]]) -> Surrogate:
        """The surrogate stored in an open archive; KeyError where there is none."""
        values: dict[str, Any] = {item.name: arrays[_PREFIX + item.name] for item in fields(cls)}
        values["degrees"] = int(values["degrees"])
        return cls(**values)


def save_with_surrogate(path: str | Path, signatures: SignatureSet, surrogate: Surrogate) -> None:
    """Write signatures and their surrogate into one file."""
    signatures.save(path, extra=surrogate.arrays())


def load_with_surrogate(path: str | Path) -> tuple[SignatureSet, Surrogate]:
    """Signatures and surrogate from one file; the surrogate is fitted where the file holds none."""
    with np.load(path, allow_pickle=False) as archive:
        signatures = SignatureSet.from_arrays(archive, str(path))
        if _PREFIX + "mean" in archive.files:
            return signatures, Surrogate.from_arrays(archive)
    return signatures, fit_surrogate(signatures)


def fit_surrogate(signatures: SignatureSet) -> Surrogate:
    """Fit the stand-in to the draws of a set (30 causes, 64 machines, 40 readings: about a second)."""
    floor = np.array(
        [floor_of(info, signatures.number[:, :, r]) for r, info in enumerate(signatures.readings)]
    )
    transformed = np.stack(
        [forward(signatures.number[:, :, r], info, floor[r]) for r, info in enumerate(signatures.readings)],
        axis=-1,
    )
    known = _standardise(signatures.known)
    grid = severity_grid(signatures.severity, SEVERITY_POINTS)
    fit = fit_curves(transformed, signatures.severity, known["standardised"], grid)
    overall_mean, overall_spread = _overall(transformed)
    spread = _spread(fit, signatures.severity, grid, overall_spread)
    occurs, chance = _occurrence(signatures, grid)
    return Surrogate(
        severity=grid,
        mean=np.where(fit.seen[:, None, :] > 0, fit.mean, overall_mean),
        slope=fit.slope,
        spread=spread,
        correlation=_correlation(_standard_residuals(fit.residual)),
        occurs=occurs,
        chance=chance,
        floor=floor,
        overall_mean=overall_mean,
        overall_spread=overall_spread,
        known_mean=known["mean"],
        known_sd=known["sd"],
        known_low=signatures.known.min(axis=0),
        known_high=signatures.known.max(axis=0),
        known_correlation=known["correlation"],
        degrees=fit_degrees(_standard_residuals(fit.residual)),
    )


def _standardise(known: Floats) -> dict[str, Floats]:
    mean, sd = known.mean(axis=0), known.std(axis=0)
    sd = np.where(sd > 1e-12 * (1.0 + np.abs(mean)), sd, 1.0)
    standardised = (known - mean) / sd
    machines, names = standardised.shape
    correlation = standardised.T @ standardised / machines
    shrink = min(1.0, names / machines)
    target = np.diag(np.diag(correlation))
    return {
        "mean": mean,
        "sd": sd,
        "standardised": standardised,
        "correlation": (1.0 - shrink) * correlation + shrink * target,
    }


def _overall(transformed: Floats) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each reading over all causes and machines."""
    there = np.isfinite(transformed)
    count = np.maximum(there.sum(axis=(0, 1)), 1)
    filled = np.where(there, transformed, 0.0)
    mean = filled.sum(axis=(0, 1)) / count
    variance = np.where(there, (transformed - mean) ** 2, 0.0).sum(axis=(0, 1)) / count
    return mean, np.sqrt(np.maximum(variance, 1e-16 + 1e-12 * mean**2))


def _spread(fit: CurveFit, severity: Floats, grid: Floats, overall_spread: Floats) -> Floats:
    """Standard deviation of the residuals near each severity, leaning on the cause and on all causes."""
    there = np.isfinite(fit.residual)
    square = np.where(there, fit.residual, 0.0) ** 2
    of_cause = square.sum(axis=1) / np.maximum(fit.seen, 1)
    weight = np.where(fit.seen > 0, fit.seen, 0.0)
    of_all = (weight * of_cause).sum(axis=0) / np.maximum(weight.sum(axis=0), 1.0)
    few = _PSEUDO_DRAWS / (fit.seen + _PSEUDO_DRAWS)
    of_cause = (1.0 - few) * of_cause + few * of_all
    # A cause never seen to give the reading says nothing about its value.
    of_cause = np.where(fit.seen >= 3, of_cause, overall_spread**2)
    near = local_weights(severity, grid)
    count = near @ there.astype(np.float64)
    lean = 4.0 * _PSEUDO_DRAWS
    variance = (near @ square + lean * of_cause[:, None, :]) / (count + lean)
    return np.asarray(np.sqrt(np.maximum(variance, (1e-4 * overall_spread) ** 2)))


def _standard_residuals(residual: Floats) -> Floats:
    """Residuals over their root mean square; 0 where the reading did not occur."""
    there = np.isfinite(residual)
    filled = np.where(there, residual, 0.0)
    count = np.maximum(there.sum(axis=1, keepdims=True), 1)
    rms = np.sqrt((filled**2).sum(axis=1, keepdims=True) / count)
    return np.where(rms > 1e-12, filled / np.maximum(rms, 1e-12), 0.0)


def _correlation(standard: Floats) -> Floats:
    """Correlations of each cause, shrunk towards those of all causes, which are shrunk towards none.

    The weights are those that minimise the expected squared error, estimated from the scatter of
    the products of residuals (Ledoit & Wolf, J. Multivariate Analysis 88 (2004) 365, lemma 3.1 with
    the sample estimates of section 3.2; here with the pooled matrix as target of each cause).
    """
    causes, machines, readings = standard.shape
    products = standard.transpose(0, 2, 1) @ standard / machines
    squares = (standard**2).transpose(0, 2, 1) @ (standard**2) / machines
    identity = np.eye(readings)
    off = 1.0 - identity
    scatter = np.maximum(squares - products**2, 0.0) / machines
    pooled = products.mean(axis=0)
    # The machines are the same for all causes: pooling steadies less than the count of draws suggests.
    pooled_weight = _shrinkage(scatter.mean(axis=0) * off, pooled * off)
    target = _unit_diagonal((1.0 - pooled_weight) * pooled * off + identity)
    weights = np.array([_shrinkage(scatter[c] * off, (products[c] - target) * off) for c in range(causes)])
    mixed = (1.0 - weights)[:, None, None] * products * off + weights[:, None, None] * target * off + identity
    return np.stack([_unit_diagonal(matrix) for matrix in mixed])


def _shrinkage(scatter: Floats, distance: Floats) -> float:
    apart = float((distance**2).sum())
    return 1.0 if apart <= 0.0 else min(1.0, float(scatter.sum()) / apart)


def _unit_diagonal(matrix: Floats) -> Floats:
    """Nearest usable correlation matrix: eigenvalues of at least 0.02, ones on the diagonal."""
    values, vectors = np.linalg.eigh(matrix)
    lifted = (vectors * np.maximum(values, 0.02)) @ vectors.T
    scale = 1.0 / np.sqrt(np.diag(lifted))
    return np.asarray(lifted * scale[:, None] * scale[None, :])


def _occurrence(signatures: SignatureSet, grid: Floats) -> tuple[Floats, Floats]:
    """Chance of occurring and of each outcome, near each severity, leaning on the whole cause."""
    near = local_weights(signatures.severity, grid)
    causes, points = grid.shape
    widest = max((len(info.outcomes) for info in signatures.readings), default=1)
    occurs = np.ones((causes, points, len(signatures.readings)))
    chance = np.zeros((causes, points, len(signatures.readings), max(widest, 1)))
    for r, info in enumerate(signatures.readings):
        if info.kind == "number":
            there = np.isfinite(signatures.number[:, :, r])[..., None]
            occurs[:, :, r] = _local_chance(there, near)[..., 0]
            continue
        taken = signatures.outcome[:, :, r, None] == np.arange(len(info.outcomes))
        there = taken.any(axis=-1, keepdims=True)
        tables = _outcome_chances(taken, there, near, len(info.outcomes))
        if there.any():
            occurs[:, :, r] = _local_chance(there, near)[..., 0]
        chance[:, :, r, : len(info.outcomes)] = _with_tables(signatures, r, tables, there.any(axis=(1, 2)))
        for c, cause in enumerate(signatures.causes):
            if info.id in cause.seen:
                occurs[c, :, r] = 1.0
    return occurs, chance


def _local_chance(there: NDArray[np.bool_], near: Floats) -> Floats:
    """Share of draws near each severity for which ``there[c, d, o]`` holds, never exactly 0 or 1."""
    number = there.astype(np.float64)
    whole = (number.sum(axis=1) + 0.5 * _SAME_OCCURRENCE) / (number.shape[1] + _SAME_OCCURRENCE)
    near_count = near.sum(axis=2)[..., None]
    return np.asarray((near @ number + _PSEUDO_DRAWS * whole[:, None, :]) / (near_count + _PSEUDO_DRAWS))


def _outcome_chances(
    taken: NDArray[np.bool_], there: NDArray[np.bool_], near: Floats, outcomes: int
) -> Floats:
    number = taken.astype(np.float64)
    count = there.astype(np.float64)
    whole = (number.sum(axis=1) + 0.5 / outcomes) / (count.sum(axis=1) + 0.5)
    return np.asarray((near @ number + _PSEUDO_DRAWS * whole[:, None, :]) / (near @ count + _PSEUDO_DRAWS))


def _with_tables(signatures: SignatureSet, r: int, tables: Floats, from_physics: NDArray[np.bool_]) -> Floats:
    """Outcome chances with the declared tables put in; a cause that says nothing behaves as no fault."""
    info = signatures.readings[r]
    result = np.where(from_physics[:, None, None], tables, 1.0 / len(info.outcomes))
    declared = {c: cause.seen[info.id] for c, cause in enumerate(signatures.causes) if info.id in cause.seen}
    for c, table in declared.items():
        rest = max(0.0, 1.0 - sum(table.values()))
        unnamed = max(1, len(info.outcomes) - len(table))
        row = [table.get(outcome, rest / unnamed) for outcome in info.outcomes]
        result[c] = np.array(row) / sum(row)
    sound = signatures.no_fault
    if sound is not None and (sound in declared or from_physics[sound]):
        silent = [c for c in range(len(signatures.causes)) if c not in declared and not from_physics[c]]
        result[silent] = result[sound].mean(axis=0)
    return result
