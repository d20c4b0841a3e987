"""Resistance of industrial platinum sensors (IEC 60751:2022, section 4.2: Callendar and Van Dusen).

``R(t) = R0 (1 + A t + B t^2 + C (t - 100 degC) t^3)`` with ``t`` in degC; the last term below 0 degC only.
"""

from __future__ import annotations

from math import sqrt

from collaudo.errors import QuantityError

A_PER_K = 3.9083e-3
B_PER_K2 = -5.775e-7
C_PER_K4 = -4.183e-12
LOWEST_K, HIGHEST_K = 73.1, 1123.2
"""-200 to 850 degC, and as much beyond as the rounding of a printed resistance makes."""
_ZERO_K = 273.15


def platinum_resistance_ohm(temperature_K: float, nominal_ohm: float = 1000.0) -> float:
    """Resistance [ohm] at a temperature [K] of a sensor of ``nominal_ohm`` at 0 degC (100 or 1000 as a rule).

    From -200 to 850 degC; `QuantityError` beyond. Source: IEC 60751:2022, 4.2.
    """
    if not LOWEST_K <= temperature_K <= HIGHEST_K:
        raise QuantityError(
            f"{temperature_K:g} K is outside the law of platinum -- from {LOWEST_K:g} to {HIGHEST_K:g} K"
        )
    return nominal_ohm * _share(temperature_K - _ZERO_K)


def platinum_temperature_K(resistance_ohm: float, nominal_ohm: float = 1000.0) -> float:
    """Temperature [K] of a sensor of ``nominal_ohm`` at 0 degC that measures ``resistance_ohm``.

    The inverse of `platinum_resistance_ohm` to rounding, over the same range; `QuantityError` beyond: an
    open or shorted sensor has no temperature.
    """
    share = resistance_ohm / nominal_ohm
    if not _share(LOWEST_K - _ZERO_K) <= share <= _share(HIGHEST_K - _ZERO_K):
        raise QuantityError(
            f"{resistance_ohm:g} ohm is no temperature of a sensor of {nominal_ohm:g} ohm -- it can have "
            f"{_share(LOWEST_K - _ZERO_K) * nominal_ohm:.4g} to "
            f"{_share(HIGHEST_K - _ZERO_K) * nominal_ohm:.4g} ohm"
        )
    t = (sqrt(A_PER_K * A_PER_K - 4.0 * B_PER_K2 * (1.0 - share)) - A_PER_K) / (2.0 * B_PER_K2)
    if share < 1.0:
        # The square law is at most 2.5 K off; the quartic is so nearly straight that four steps are many.
        for _ in range(4):
            t -= (_share(t) - share) / (A_PER_K + 2.0 * B_PER_K2 * t + C_PER_K4 * t * t * (4.0 * t - 300.0))
    return t + _ZERO_K


def _share(t: float) -> float:
    """Resistance at ``t`` [degC] against that at 0 degC."""
    below = C_PER_K4 * (t - 100.0) * t * t * t if t < 0.0 else 0.0
    return 1.0 + t * (A_PER_K + B_PER_K2 * t) + below
