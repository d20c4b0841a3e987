"""Heat from the wall of a round channel to the water that flows in it."""

from __future__ import annotations

from math import log, pi, sqrt

LAMINAR_UP_TO = 2300.0
"""Reynolds number up to which the flow in a tube stays laminar."""
TURBULENT_FROM = 4000.0
"""Reynolds number from which it is turbulent."""

# Water at 80 degC and 9 bar, rounded to three digits (IAPWS-95 and the IAPWS releases on viscosity and
# conductivity). Between 50 and 95 degC the coefficient changes by a fifth either way.
CONDUCTIVITY_W_PER_M_K = 0.670
VISCOSITY_PA_S = 3.55e-4
PRANDTL = 2.22


def petukhov_friction(reynolds: float) -> float:
    """Darcy friction factor of turbulent flow in a smooth tube, Re 3000 to 5e6: ``(0.79 ln Re - 1.64)^-2``.

    Source: Petukhov, Adv. Heat Transfer 6 (1970) 503.
    """
    root: float = 0.79 * log(reynolds) - 1.64
    return 1.0 / (root * root)


def gnielinski_nusselt(reynolds: float, prandtl: float, friction: float) -> float:
    """Nusselt number of turbulent flow in a tube, Re 3000 to 5e6, Pr 0.5 to 2000; within about 10 %.

    ``Nu = (f/8) (Re - 1000) Pr / (1 + 12.7 sqrt(f/8) (Pr^(2/3) - 1))``, f the Darcy friction factor.
    Source: Gnielinski, Int. Chem. Eng. 16 (1976) 359.
    """
    share = friction / 8.0
    below: float = 1.0 + 12.7 * sqrt(share) * (prandtl ** (2.0 / 3.0) - 1.0)
    return share * (reynolds - 1000.0) * prandtl / below


def hausen_nusselt(reynolds: float, prandtl: float, bore_over_length: float) -> float:
    """Mean Nusselt number of laminar flow in a tube with a wall of one temperature, from its mouth on.

    ``Nu = 3.66 + 0.0668 Gz / (1 + 0.04 Gz^(2/3))``, ``Gz = Re Pr D/L``; 3.66 where nothing flows.
    Source: Hausen, Z. VDI Beih. Verfahrenstechnik 4 (1943) 91.
    """
    graetz = reynolds * prandtl * bore_over_length
    value: float = 3.66 + 0.0668 * graetz / (1.0 + 0.04 * graetz ** (2.0 / 3.0))
    return value


def tube_nusselt(reynolds: float, prandtl: float, bore_over_length: float) -> float:
    """Mean Nusselt number in a round tube: laminar by Hausen, turbulent by Gnielinski, straight between.

    The straight line between Re 2300 and 4000 follows Gnielinski, Int. J. Heat Mass Transfer 63 (2013) 134.
    """
    if reynolds <= LAMINAR_UP_TO:
        return hausen_nusselt(reynolds, prandtl, bore_over_length)
    laminar = hausen_nusselt(LAMINAR_UP_TO, prandtl, bore_over_length)
    fast = max(reynolds, TURBULENT_FROM)
    turbulent = gnielinski_nusselt(fast, prandtl, petukhov_friction(fast))
    share = min((reynolds - LAMINAR_UP_TO) / (TURBULENT_FROM - LAMINAR_UP_TO), 1.0)
    return laminar + share * (turbulent - laminar)


def channel_conductance_W_per_K(flow_kg_per_s: float, bore_m: float, length_m: float) -> float:
    """Heat [W/K] from the wall of a straight round channel to water of about 80 degC flowing through it.

    ``Nu k pi L``: the bore matters through the Reynolds number alone. Bends, which stir, are left out.
    """
    reynolds = 4.0 * flow_kg_per_s / (pi * bore_m * VISCOSITY_PA_S)
    return tube_nusselt(reynolds, PRANDTL, bore_m / length_m) * CONDUCTIVITY_W_PER_M_K * pi * length_m
