"""Water and dry saturated steam as functions of temperature alone, for the kernel.

Saturation is IAPWS-IF97 region 4 (IAPWS R7-97(2012)), exact. The other curves are polynomials fitted
to IAPWS-95 by ``tools/fit_water.py`` from 273.15 K to 450 K (0 to 176.85 degC, up to 9 bar); outside
they go on along the tangent at the end of the range, so that they stay finite, positive and smooth
from 250 K to 700 K, but claim no accuracy there.

Energies count from saturated liquid at 273.15 K. Temperatures in K, pressures in Pa absolute.
"""

from __future__ import annotations

from math import exp, log, sqrt

from collaudo.compiled import compiled
from collaudo.fluid.boiling_point import SATURATION
from collaudo.fluid.water_coefficients import (
    LIQUID_CONDUCTIVITY,
    LIQUID_DENSITY,
    LIQUID_FLUIDITY,
    MEAN_HEAT,
    T_HALF_WIDTH_K,
    T_HIGH_K,
    T_LOW_K,
    T_MIDDLE_K,
    VAPOUR_CORRECTION,
    VAPOUR_ENTHALPY,
)

WATER_GAS_CONSTANT = 461.526
"""Specific gas constant of water, J/(kg K): IAPWS R7-97(2012), eq. 1."""

ZERO_CELSIUS_K = 273.15

_N1, _N2, _N3, _N4, _N5, _N6, _N7, _N8, _N9, _N10 = SATURATION

# Equation 30 is singular at 650.2 K and is left along its tangent before that; its value and slope there.
_T_COLD_K, _P_COLD_PA, _DP_COLD = 250.0, 95.25391540511556, 8.445751856257024
_T_HOT_K, _P_HOT_PA, _DP_HOT = 640.0, 20265942.167297546, 242357.85834564574
_PER_HALF_WIDTH = 1.0 / T_HALF_WIDTH_K


@compiled
def _equation_30(T_K: float) -> tuple[float, float]:
    pole = 1.0 / (T_K - _N10)
    theta = T_K + _N9 * pole
    a = (theta + _N1) * theta + _N2
    b = (_N3 * theta + _N4) * theta + _N5
    c = (_N6 * theta + _N7) * theta + _N8
    root = sqrt(b * b - 4.0 * a * c)
    beta = 2.0 * c / (root - b)
    # From a beta^2 + b beta + c = 0 (eq. 29), in which 2 a beta + b = -root.
    slope = (((2.0 * theta + _N1) * beta + 2.0 * _N3 * theta + _N4) * beta + 2.0 * _N6 * theta + _N7) / root
    cube = 1e6 * beta * beta * beta
    return cube * beta, 4.0 * cube * slope * (1.0 - _N9 * pole * pole)


@compiled
def saturation_pressure(T_K: float) -> tuple[float, float]:
    """Saturation pressure [Pa] and its slope [Pa/K] at ``T_K``.

    IAPWS-IF97 eq. 30, exact from 273.15 K to 640 K and extended to supercooled water down to 250 K.
    Below 250 K it decays exponentially, above 640 K it follows the tangent: rising and smooth everywhere.
    """
    if T_K < _T_COLD_K:
        p_Pa = _P_COLD_PA * exp(_DP_COLD / _P_COLD_PA * (T_K - _T_COLD_K))
        return p_Pa, p_Pa * (_DP_COLD / _P_COLD_PA)
    if T_K > _T_HOT_K:
        return _P_HOT_PA + _DP_HOT * (T_K - _T_HOT_K), _DP_HOT
    return _equation_30(T_K)


@compiled
def saturation_temperature(p_Pa: float) -> float:
    """Saturation temperature [K] at ``p_Pa`` > 0: the inverse of `saturation_pressure`.

    IAPWS-IF97 eq. 31, exact from 611 Pa to 20 MPa; outside, the inverse of the continuations there.
    """
    if p_Pa < _P_COLD_PA:
        return _T_COLD_K + log(p_Pa / _P_COLD_PA) * (_P_COLD_PA / _DP_COLD)
    if p_Pa > _P_HOT_PA:
        return _T_HOT_K + (p_Pa - _P_HOT_PA) / _DP_HOT
    beta = sqrt(sqrt(1e-6 * p_Pa))
    e = (beta + _N3) * beta + _N6
    f = (_N1 * beta + _N4) * beta + _N7
    g = (_N2 * beta + _N5) * beta + _N8
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    total = _N10 + d
    return 0.5 * (total - sqrt(total * total - 4.0 * (_N9 + _N10 * d)))


@compiled
def _curve(powers: tuple[float, ...], T_K: float) -> tuple[float, float]:
    """Polynomial and its slope per K, along the tangent outside the fitted range."""
    inside_K = min(max(T_K, T_LOW_K), T_HIGH_K)
    x = (inside_K - T_MIDDLE_K) * _PER_HALF_WIDTH
    value = powers[0]
    slope = 0.0
    for i in range(1, len(powers)):
        slope = slope * x + value
        value = value * x + powers[i]
    slope *= _PER_HALF_WIDTH
    return value + slope * (T_K - inside_K), slope


@compiled
def liquid_density(T_K: float) -> tuple[float, float]:
    """Density [kg/m3] of liquid water and its slope [kg/(m3 K)].

    At 1.01325 bar, or at saturation where that is higher. Within 2e-4 of IAPWS-95 from 273.15 K to
    450 K; tangent outside (positive to 700 K).
    """
    return _curve(LIQUID_DENSITY, T_K)


@compiled
def liquid_energy(T_K: float) -> tuple[float, float]:
    """Enthalpy of saturated liquid above 273.15 K [J/kg] and its slope, the heat capacity [J/(kg K)].

    Within 3e-4 of IAPWS-95 from 283 K to 450 K; the slope is the exact derivative. Constant heat
    capacity outside 273.15 K to 450 K.
    """
    inside_K = min(max(T_K, T_LOW_K), T_HIGH_K)
    mean, slope = _curve(MEAN_HEAT, inside_K)
    rise_K = inside_K - ZERO_CELSIUS_K
    capacity = mean + rise_K * slope
    return mean * rise_K + capacity * (T_K - inside_K), capacity


@compiled
def vapour_density(T_K: float) -> tuple[float, float]:
    """Density [kg/m3] of dry saturated steam and its slope [kg/(m3 K)].

    ``psat / (R T)`` times a correction (1.00 to 1.06). Within 5e-4 of IAPWS-95 from 273.15 K to 450 K;
    outside, the correction goes on along its tangent (between 0.99 and 1.3 from 250 K to 700 K).
    """
    p_Pa, dp = saturation_pressure(T_K)
    return vapour_density_at(T_K, p_Pa, dp)


@compiled
def vapour_density_at(T_K: float, p_Pa: float, dp: float) -> tuple[float, float]:
    """As `vapour_density`, where `saturation_pressure` and its slope are known already."""
    factor, dfactor = _curve(VAPOUR_CORRECTION, T_K)
    per_T = 1.0 / T_K
    ideal = p_Pa * per_T * (1.0 / WATER_GAS_CONSTANT)
    dideal = dp * per_T * (1.0 / WATER_GAS_CONSTANT) - ideal * per_T
    return ideal * factor, dideal * factor + ideal * dfactor


@compiled
def vapour_enthalpy(T_K: float) -> tuple[float, float]:
    """Enthalpy [J/kg] of dry saturated steam above liquid at 273.15 K, and its slope [J/(kg K)].

    Less `liquid_energy` it is the heat of evaporation, within 5e-4 from 273.15 K to 450 K; tangent outside.
    """
    return _curve(VAPOUR_ENTHALPY, T_K)


@compiled
def vapour_energy(T_K: float) -> tuple[float, float]:
    """Internal energy [J/kg] of dry saturated steam on the same zero, and its slope [J/(kg K)].

    `vapour_enthalpy` less pressure over `vapour_density`, in which the pressure cancels.
    """
    h, dh = _curve(VAPOUR_ENTHALPY, T_K)
    factor, dfactor = _curve(VAPOUR_CORRECTION, T_K)
    per_factor = 1.0 / factor
    work_per_K = WATER_GAS_CONSTANT * per_factor
    return h - work_per_K * T_K, dh - work_per_K * (1.0 - T_K * dfactor * per_factor)


@compiled
def liquid_viscosity(T_K: float) -> float:
    """Dynamic viscosity [Pa s] of liquid water, within 0.5 % of IAPWS R12-08 from 273.15 K to 450 K.

    Held at the end values outside.
    """
    fluidity, _ = _curve(LIQUID_FLUIDITY, min(max(T_K, T_LOW_K), T_HIGH_K))
    return 1.0 / fluidity


@compiled
def liquid_viscosity_and_slope(T_K: float) -> tuple[float, float]:
    """As `liquid_viscosity`, and its slope [Pa s/K]; held at the end values outside 273.15 K to 450 K."""
    if T_K < T_LOW_K or T_K > T_HIGH_K:
        return liquid_viscosity(T_K), 0.0
    fluidity, slope = _curve(LIQUID_FLUIDITY, T_K)
    return 1.0 / fluidity, -slope / (fluidity * fluidity)


@compiled
def liquid_conductivity(T_K: float) -> float:
    """Thermal conductivity [W/(m K)] of liquid water, within 0.5 % of IAPWS R15-11 from 273.15 K to 450 K.

    Held at the end values outside.
    """
    value, _ = _curve(LIQUID_CONDUCTIVITY, min(max(T_K, T_LOW_K), T_HIGH_K))
    return value
