"""Penalised regression of every reading on severity and on the known values, for all causes at once.

The model of one cause and reading, for draw ``d`` with severity ``s`` and standardised known values ``x``:

    y = b(s) . a  +  x . (g + h)  +  residual

``b`` holds a constant, a slope and smooth bumps in severity; ``g`` is common to all causes, ``h`` is
the cause's own deviation. Bumps and deviation carry a ridge penalty each, chosen per cause and
reading by the error of predicting each draw without itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from collaudo.diagnosis.signature_set import Floats

_BUMPS = np.linspace(0.0, 1.0, 6)
_BUMP_WIDTH = 0.22
_BUMP_PENALTIES = (30.0, 3.0, 0.3, 0.03)
_DEVIATION_PENALTIES = (1e6, 64.0, 12.0, 2.0)
_NEARLY_NONE = 1e-3
_BETTER_BY = 0.97
"""A weaker penalty must lower the squared error by this factor to be preferred."""
_NEAR = 0.12
"""Width in severity over which draws count as near."""


@dataclass(frozen=True, eq=False)
class CurveFit:
    """Fitted ``mean[c, s, r]``, ``slope[c, k, r]``, left-out ``residual[c, d, r]``, number ``seen[c, r]``."""

    mean: Floats
    slope: Floats
    residual: Floats
    seen: Floats


def severity_grid(severity: Floats, points: int) -> Floats:
    """Equally likely severities ``[c, s]`` of each cause, from its drawn ones."""
    shares = (np.arange(points) + 0.5) / points
    return np.asarray(np.quantile(severity, shares, axis=1).T)


def local_weights(severity: Floats, grid: Floats) -> Floats:
    """Weights ``[c, s, d]`` of the draws near each grid severity, with one sum for all of a cause."""
    apart = (grid[:, :, None] - severity[:, None, :]) / _NEAR
    weight = np.exp(-0.5 * apart * apart)
    # At the ends only one side has draws: they count for more, or the ends would lean back to the middle.
    count = weight.sum(axis=2, keepdims=True)
    return np.asarray(weight * count.mean(axis=1, keepdims=True) / count)


def basis(severity: Floats) -> Floats:
    """Basis functions of severity on a new last axis: constant, slope, bumps."""
    s = severity[..., None]
    bumps = np.exp(-0.5 * ((s - _BUMPS) / _BUMP_WIDTH) ** 2)
    return np.concatenate([np.ones_like(s), s - 0.5, bumps], axis=-1)


def fit_curves(transformed: Floats, severity: Floats, known: Floats, grid: Floats) -> CurveFit:
    """Fit ``transformed[c, d, r]`` (``NaN``: not there) on ``severity[c, d]`` and ``known[d, k]``."""
    there = np.isfinite(transformed)
    weight = there.astype(np.float64)
    seen = weight.sum(axis=1)
    filled = np.where(there, transformed, 0.0)
    centre = filled.sum(axis=1) / np.maximum(seen, 1.0)
    filled = np.where(there, filled - centre[:, None, :], 0.0)
    # Penalties are numbers of draws: readings are brought to a common size first.
    size = np.sqrt((filled**2).sum(axis=(0, 1)) / np.maximum(seen.sum(axis=0), 1.0))
    size = np.where(size > 0, size, 1.0)
    filled = filled / size
    b = basis(severity)
    common = _common_slope(filled, weight, b, known)
    rest = np.where(there, filled - known @ common, 0.0)
    design = np.concatenate([b, np.broadcast_to(known, (*severity.shape, known.shape[1]))], axis=-1)
    own, residual = _own_curves(rest, weight, design, b.shape[-1], _leverage(known))
    curves = b.shape[-1]
    mean = basis(grid) @ own[:, :curves, :] * size + centre[:, None, :]
    slope = (own[:, curves:, :] + common) * size
    return CurveFit(mean, slope, np.where(there, residual * size, np.nan), seen)


def _leverage(known: Floats) -> Floats:
    """Share of each machine in its own prediction through the common slopes."""
    if known.shape[1] == 0:
        return np.zeros(known.shape[0])
    inverse = np.linalg.inv(known.T @ known + np.eye(known.shape[1]))
    return np.asarray(np.einsum("dk,kl,dl->d", known, inverse, known))


def _common_slope(y: Floats, weight: Floats, b: Floats, known: Floats) -> Floats:
    """Effect ``[k, r]`` of the known values common to all causes, each cause having its own curve.

    The curves are eliminated from the normal equations (their Schur complement), so that a slope is
    learned only from what severity does not explain.
    """
    causes, _, readings = y.shape
    names = known.shape[1]
    if names == 0:
        return np.zeros((0, readings))
    curve_penalty = np.diag([_NEARLY_NONE] * 2 + [0.3] * (b.shape[-1] - 2))
    left = np.zeros((readings, names, names))
    right = np.zeros((readings, names))
    for c in range(causes):
        weighted = weight[c].T[:, :, None]
        bb = np.matmul(b[c].T, weighted * b[c]) + curve_penalty
        bx = np.matmul(b[c].T, weighted * known)
        by = (b[c].T @ y[c]).T[:, :, None]
        solved = np.linalg.solve(bb, np.concatenate([bx, by], axis=2))
        left += np.matmul(known.T, weighted * known) - np.matmul(bx.transpose(0, 2, 1), solved[:, :, :names])
        right += (known.T @ y[c]).T - np.matmul(bx.transpose(0, 2, 1), solved[:, :, names:])[:, :, 0]
    left += causes * np.eye(names)
    return np.asarray(np.linalg.solve(left, right[:, :, None])[:, :, 0].T)


def _own_curves(
    y: Floats, weight: Floats, design: Floats, curves: int, shared: Floats
) -> tuple[Floats, Floats]:
    """Coefficients ``[c, p, r]`` and left-out residuals ``[c, d, r]`` under the best pair of penalties."""
    causes, machines, readings = y.shape
    best_error = np.full((causes, readings), np.inf)
    best = np.zeros((causes, design.shape[-1], readings))
    residual = np.zeros_like(y)
    deviations = _DEVIATION_PENALTIES if design.shape[-1] > curves else _DEVIATION_PENALTIES[:1]
    for c in range(causes):
        gram = np.matmul(design[c].T, weight[c].T[:, :, None] * design[c])
        moment = (design[c].T @ y[c]).T[:, :, None]
        for deviation, bump in product(deviations, _BUMP_PENALTIES):
            inverse = np.linalg.inv(gram + _penalty(design.shape[-1], curves, bump, deviation))
            coefficient = np.matmul(inverse, moment)[:, :, 0].T
            own = (np.matmul(design[c], inverse) * design[c]).sum(axis=2).T
            # The common slopes have seen this machine too, in as far as they are not overruled.
            through_common = shared[:, None] * deviation / (deviation + machines)
            keep = np.maximum(1.0 - own - through_common, 0.1)
            left_out = weight[c] * (y[c] - design[c] @ coefficient) / keep
            error = (left_out**2).sum(axis=0)
            better = error < _BETTER_BY * best_error[c]
            best_error[c, better] = error[better]
            best[c][:, better] = coefficient[:, better]
            residual[c][:, better] = left_out[:, better]
    return best, residual


def _penalty(size: int, curves: int, bump: float, deviation: float) -> Floats:
    diagonal = np.full(size, deviation)
    diagonal[:2] = _NEARLY_NONE
    diagonal[2:curves] = bump
    return np.diag(diagonal)
