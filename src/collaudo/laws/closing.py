"""Functions that really close.

A smoothed opening such as ``(x + sqrt(x^2 + e)) / 2`` is never zero: a shut valve would then pump water
against a pressure difference. These are exactly zero below zero, have one continuous derivative, and are
exactly linear beyond the rounding width.
"""

from __future__ import annotations

from collaudo.compiled import compiled


@compiled
def positive_part(x: float, width: float) -> tuple[float, float]:
    """``max(x, 0)`` with a rounded corner, and its derivative.

    Zero for ``x <= 0``, ``x^2 / (2 width)`` up to ``width``, ``x - width / 2`` beyond. ``width > 0``, in the
    unit of ``x``.
    """
    if x <= 0.0:
        return 0.0, 0.0
    if x < width:
        return 0.5 * x * x / width, x / width
    return x - 0.5 * width, 1.0


@compiled
def unit_ramp(x: float) -> tuple[float, float]:
    """Smooth step from 0 at ``x <= 0`` to 1 at ``x >= 1`` (``3 x^2 - 2 x^3``), and its derivative."""
    if x <= 0.0:
        return 0.0, 0.0
    if x >= 1.0:
        return 1.0, 0.0
    return x * x * (3.0 - 2.0 * x), 6.0 * x * (1.0 - x)


@compiled
def linear_share(x: float, width: float) -> tuple[float, float]:
    """0 at ``x <= 0``, 1 at ``x >= 1``, straight between with both corners rounded over ``width``, and its
    derivative.

    ``width`` (0 to 0.5) lies within 0 and 1 at either end, so that both ends are exact.
    """
    low, dlow = positive_part(x, width)
    over, dover = positive_part(x - 1.0 + width, width)
    whole = 1.0 / (1.0 - width)
    return min((low - over) * whole, 1.0), (dlow - dover) * whole


@compiled
def opening_share(x: float) -> tuple[float, float]:
    """Opening of a spring-loaded seat, 0..1, for an over-set of ``x`` full-lift widths, and its derivative.

    Zero up to the set point, linear lift between; the lower corner is rounded up to 0.2 of the width, the
    upper from 0.9 on: wide open, and exactly 1, from 1.3 on.
    """
    low, dlow = positive_part(x, 0.2)
    if low <= 0.8:
        return low, dlow
    if low >= 1.2:
        return 1.0, 0.0
    over = low - 0.8
    return low - over * over / 0.8, dlow * (1.0 - 2.0 * over / 0.8)
