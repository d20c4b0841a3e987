"""Resistance of sensors whose resistance falls with temperature (NTC).

Two laws. By two numbers, for what is printed on a sensor: ``R = R25 exp(beta (1/T - 1/298.15 K))``. By three,
good to some hundredths of a kelvin over 100 K: ``1/T = a + b ln(R/ohm) + c ln(R/ohm)^3`` (J. S. Steinhart and
S. R. Hart, Calibration curves for thermistors, Deep-Sea Research 15 (1968) 497-503).
"""

from __future__ import annotations

from math import exp, log, sqrt
from typing import NamedTuple

from collaudo.errors import QuantityError

REFERENCE_K = 298.15
LOWEST_K, HIGHEST_K = 218.15, 473.15


class Curve(NamedTuple):
    """Coefficients of Steinhart and Hart's law, resistance in ohm."""

    a_per_K: float
    b_per_K: float
    c_per_K: float


def ntc_resistance_ohm(temperature_K: float, nominal_ohm: float, beta_K: float) -> float:
    """Resistance [ohm] at a temperature [K] of a sensor of ``nominal_ohm`` at 25 degC.

    ``beta_K`` (3000 to 4500 K as a rule) is commonly given between 25 and 85 degC; up to 100 degC the law
    then keeps within 1 K of a real sensor. From -55 to 200 degC; `QuantityError` beyond.
    """
    _within(temperature_K)
    return nominal_ohm * exp(beta_K * (1.0 / temperature_K - 1.0 / REFERENCE_K))


def ntc_temperature_K(resistance_ohm: float, nominal_ohm: float, beta_K: float) -> float:
    """Temperature [K] of a sensor that measures ``resistance_ohm``; the inverse of `ntc_resistance_ohm`."""
    return _within(1.0 / (1.0 / REFERENCE_K + log(_positive(resistance_ohm) / nominal_ohm) / beta_K))


def ntc_slope_share_per_K(temperature_K: float, beta_K: float) -> float:
    """Share [1/K] by which its resistance changes for each kelvin: ``-beta / T^2`` (-0.03 to -0.045)."""
    return -beta_K / (_within(temperature_K) * temperature_K)


def beta_between_K(first_K: float, first_ohm: float, second_K: float, second_ohm: float) -> float:
    """The beta [K] of a sensor measured at two temperatures [K]."""
    return log(_positive(first_ohm) / _positive(second_ohm)) / (1.0 / first_K - 1.0 / second_K)


def curve_temperature_K(resistance_ohm: float, curve: Curve) -> float:
    """Temperature [K] of a sensor that measures ``resistance_ohm``, by Steinhart and Hart's law."""
    x = log(_positive(resistance_ohm))
    return _within(1.0 / (curve.a_per_K + x * (curve.b_per_K + curve.c_per_K * x * x)))


def curve_resistance_ohm(temperature_K: float, curve: Curve) -> float:
    """Resistance [ohm] at a temperature [K]: the real root of the cubic in ``ln R`` (Cardano)."""
    half = 0.5 * (curve.a_per_K - 1.0 / _within(temperature_K)) / curve.c_per_K
    third = curve.b_per_K / (3.0 * curve.c_per_K)
    root = sqrt(half * half + third * third * third)
    # Of the two cube roots the larger is free of cancellation; their product is the third of b/c.
    large = (root + abs(half)) ** (1.0 / 3.0)
    x = large - third / large
    return exp(-x if half > 0.0 else x)


def curve_through(points: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]) -> Curve:
    """The curve through three measured points, each temperature [K] and resistance [ohm].

    Best 40 K or more apart, the ends a little inside the range wanted. `QuantityError` where two are one.
    """
    (u1, x1), (u2, x2), (u3, x3) = ((1.0 / _within(T), log(_positive(R))) for T, R in points)
    if len({x1, x2, x3}) < 3 or len({u1, u2, u3}) < 3:
        raise QuantityError("two of the three points are one -- measure at three temperatures")
    slope2, slope3 = (u2 - u1) / (x2 - x1), (u3 - u1) / (x3 - x1)
    c = (slope3 - slope2) / ((x3 - x2) * (x1 + x2 + x3))
    b = slope2 - c * (x1 * x1 + x1 * x2 + x2 * x2)
    return Curve(u1 - x1 * (b + c * x1 * x1), b, c)


def _within(temperature_K: float) -> float:
    if not LOWEST_K <= temperature_K <= HIGHEST_K:
        raise QuantityError(
            f"{temperature_K:g} K is outside the law of NTC sensors -- from 218.15 to 473.15 K"
        )
    return temperature_K


def _positive(resistance_ohm: float) -> float:
    if not resistance_ohm > 0.0:
        raise QuantityError(f"{resistance_ohm:g} ohm is no temperature -- the sensor or its lead is shorted")
    return resistance_ohm
