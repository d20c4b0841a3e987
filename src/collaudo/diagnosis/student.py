"""The t distribution with an even number of degrees of freedom, in closed form.

Residuals of machines and readings have heavier tails than the normal law; the t distribution has one
number for that. For even degrees its distribution function is a finite sum (Abramowitz & Stegun,
Handbook of Mathematical Functions, 26.7.4). All spreads here are standard deviations, not scales:
``scale = sd * sqrt((degrees - 2) / degrees)``.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from collaudo.diagnosis.signature_set import Floats

_CHOICES = (4, 6, 8, 12, 20, 30)


def log_density(square: ArrayLike, log_determinant: ArrayLike, size: int, degrees: int) -> Floats:
    """Log density of a ``size``-variate t with covariance C, from ``square = r' C^-1 r`` and ``log |C|``."""
    shrink = (degrees - 2.0) / degrees
    constant = (
        math.lgamma(0.5 * (degrees + size))
        - math.lgamma(0.5 * degrees)
        - 0.5 * size * math.log(math.pi * degrees * shrink)
    )
    inside = np.log1p(np.asarray(square) / (shrink * degrees))
    return np.asarray(constant - 0.5 * np.asarray(log_determinant) - 0.5 * (degrees + size) * inside)


def below(standard: ArrayLike, degrees: int) -> Floats:
    """Chance of a value below ``standard`` standard deviations (even ``degrees`` of 4 or more)."""
    t = np.asarray(standard, dtype=np.float64) / math.sqrt((degrees - 2.0) / degrees)
    cos_square = degrees / (degrees + t * t)
    term = np.ones_like(t)
    total = np.ones_like(t)
    for k in range(1, degrees // 2):
        term = term * cos_square * (2 * k - 1) / (2 * k)
        total = total + term
    # Far out the sum cancels to round-off, on either side of none and all.
    return np.asarray(np.clip(0.5 + 0.5 * total * t / np.sqrt(degrees + t * t), 0.0, 1.0))


@lru_cache(maxsize=8)
def _below_table(degrees: int) -> tuple[Floats, Floats]:
    standard = np.linspace(-25.0, 25.0, 4001)
    return standard, below(standard, degrees)


def below_nearly(standard: ArrayLike, degrees: int) -> Floats:
    """:func:`below` to five decimals, from a table: for searches that ask often."""
    at, chance = _below_table(degrees)
    return np.asarray(np.interp(np.asarray(standard, dtype=np.float64), at, chance))


def outside(standard: ArrayLike, degrees: int) -> Floats:
    """Chance of a value further from the mean than ``standard`` standard deviations, on either side."""
    return np.asarray(2.0 * below(-np.abs(np.asarray(standard, dtype=np.float64)), degrees))


def fit_degrees(standard: Floats) -> int:
    """Degrees of freedom under which standardised residuals are likeliest (0 marks a missing one)."""
    values = standard[standard != 0.0]
    if values.size < 100:
        return 8
    return max(_CHOICES, key=lambda degrees: float(log_density(values**2, 0.0, 1, degrees).sum()))
