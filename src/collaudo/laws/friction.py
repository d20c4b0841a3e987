"""Friction of flow in round tubes: the Darcy factor f in ``dp = f (L/D) rho v^2 / 2``."""

from __future__ import annotations

from math import log, sqrt

from collaudo.compiled import compiled

_ROUGH = 1.0 / 3.7
_SMOOTH = 2.51
_PER_LN_10 = 1.0 / log(10.0)


@compiled
def churchill_1977(reynolds: float, roughness_ratio: float) -> float:
    """Darcy friction factor at a Reynolds number > 0 and a wall roughness over bore, 0 to 0.05.

    ``f = 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12)``,
    ``A = [2.457 ln(1 / ((7/Re)^0.9 + 0.27 e/D))]^16``, ``B = (37530/Re)^16``.

    One smooth curve through laminar, transitional and turbulent flow, Re up to 1e8; within 3 % of
    Colebrook from Re 4000 on. Source: Churchill, Chem. Eng. 84 (24), 1977, 91.
    """
    # Below Re 20 the sixteenth powers overflow and the flow is laminar to the last digit.
    if reynolds < 20.0:
        return 64.0 / reynolds
    a = 2.457 * log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * roughness_ratio))
    a2 = a * a
    a8 = a2 * a2 * a2 * a2
    b = 37530.0 / reynolds
    b2 = b * b
    b8 = b2 * b2 * b2 * b2
    total = a8 * a8 + b8 * b8
    laminar = 8.0 / reynolds
    laminar3 = laminar * laminar * laminar
    laminar6 = laminar3 * laminar3
    value: float = 8.0 * (laminar6 * laminar6 + 1.0 / (total * sqrt(total))) ** (1.0 / 12.0)
    return value


@compiled
def colebrook_by_head(karman: float, roughness_ratio: float) -> float:
    """``1/sqrt(f)`` of turbulent flow from ``karman = Re sqrt(f)``, without iteration.

    ``1/sqrt(f) = -2 log10(e/D / 3.7 + 2.51 / (Re sqrt(f)))``. The pressure drop alone gives the Karman
    number, ``Re sqrt(f) = (D/mu) sqrt(2 rho dp D / L)``, so the flow follows from the head directly.
    For turbulent flow (Re above 4000, karman above about 800) and e/D to 0.05.
    Source: Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, rearranged.
    """
    return -2.0 * _PER_LN_10 * log(roughness_ratio * _ROUGH + _SMOOTH / karman)
