"""Liquid through throats: jets, valves, strainers, coffee beds, seats held by a spring.

All of them are a linear and a quadratic resistance in series. In mass flow ``q`` [kg/s] for density ``rho``
[kg/m3] and viscosity ``mu`` [Pa s]:

    p1 - p2 = bed mu q / rho + q^2 / (2 rho area^2)

with ``area`` the product of discharge coefficient and bore area [m2] (throats in series add as
``1 / area^2``) and ``bed`` the Darcy resistance ``L / (permeability A)`` [1/m3].
"""

from __future__ import annotations

from math import sqrt

from collaudo.compiled import compiled
from collaudo.laws.closing import opening_share

# A square root has no finite slope at rest. Without a coffee bed the flow is therefore rounded there:
# ``area sqrt(2 rho) dp / (dp^2 + ROUNDED_BELOW_PA^2)^(1/4)``. It is numerical, not measured: the flow falls
# short
# by 16 % at 100 Pa, 0.25 % at 1 kPa and 0.0025 % at 0.1 bar.
ROUNDED_BELOW_PA = 100.0

# Sub-cooled liquid cannot be drawn down below F_F times its vapour pressure in the throat
# (IEC 60534-2-1:2011, eq. 3: F_F = 0.96 - 0.28 sqrt(p_sat / p_critical)); p_critical of water 220.64 bar.
CRITICAL_PRESSURE_PA = 22.064e6


@compiled
def throat_flow(
    difference_Pa: float, rho: float, mu: float, area_m2: float, bed_per_m3: float
) -> tuple[float, float]:
    """Mass flow [kg/s] for a pressure difference [Pa] (same sign), and its derivative [kg/(s Pa)].

    Any difference; ``area_m2`` and ``bed_per_m3`` 0 or more (no area: no flow). The rounding at rest is that
    of `ROUNDED_BELOW_PA`.
    """
    if area_m2 <= 0.0:
        return 0.0, 0.0
    if bed_per_m3 <= 0.0:
        square = difference_Pa * difference_Pa + ROUNDED_BELOW_PA * ROUNDED_BELOW_PA
        slope = area_m2 * sqrt(2.0 * rho) / sqrt(sqrt(square))
        return slope * difference_Pa, slope * (1.0 - 0.5 * difference_Pa * difference_Pa / square)
    quadratic = 0.5 / (rho * area_m2 * area_m2)
    linear = bed_per_m3 * mu / rho
    size = abs(difference_Pa)
    root = sqrt(linear * linear + 4.0 * quadratic * size)
    q = 2.0 * size / (linear + root)
    return (q if difference_Pa >= 0.0 else -q), 1.0 / root


@compiled
def lifted_throat_flow(
    difference_Pa: float, rho: float, area_m2: float, cracking_Pa: float, full_lift_Pa: float
) -> tuple[float, float]:
    """Mass flow [kg/s] forward through a seat held shut by a spring, and its derivative [kg/(s Pa)].

    The seat begins to lift at ``cracking_Pa`` (> 0) and stands fully open ``full_lift_Pa`` above it.
    Never backward: a seat's leak is a throat of its own.
    """
    share, slope = opening_share((difference_Pa - cracking_Pa) / full_lift_Pa)
    if share <= 0.0:
        return 0.0, 0.0
    speed = sqrt(2.0 * rho * difference_Pa)
    q = area_m2 * share * speed
    return q, area_m2 * (slope / full_lift_Pa * speed + share * rho / speed)


@compiled
def flashing_limit(p1_Pa: float, p_sat_Pa: float, dp_sat_dT: float) -> tuple[float, float]:
    """Largest pressure difference [Pa] that still drives more liquid through a throat, and its derivative by
    the liquid's temperature [Pa/K].

    ``p1 - F_F p_sat`` (IEC 60534-2-1:2011, eq. 3 and 4 with F_L = 1): beyond it the liquid flashes in the
    throat and the flow is choked. Never below 1 % of ``p_sat``: there the derivative by ``p1`` is zero, else
    one.
    """
    fall = 0.28 * sqrt(p_sat_Pa / CRITICAL_PRESSURE_PA)
    limit = p1_Pa - (0.96 - fall) * p_sat_Pa
    if limit < 0.01 * p_sat_Pa:
        return 0.01 * p_sat_Pa, 0.01 * dp_sat_dT
    return limit, -(0.96 - 1.5 * fall) * dp_sat_dT
