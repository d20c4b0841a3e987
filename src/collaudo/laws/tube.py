"""Flow through a round tube for a given pressure difference, laminar to turbulent, without iteration.

With the head number ``K = Re sqrt(f) = sqrt(2 rho |dp| d^3 / (L mu^2))`` the Colebrook equation is explicit:
``1/sqrt(f) = -2 log10(roughness/3.7 + 2.51/K)`` and ``Re = K / sqrt(f)``; laminar flow is ``Re = K^2 / 64``.
Between Re 2000 and 4000 the two are joined smoothly in the logarithms. Losses of fittings lengthen the tube by
``K_fittings d / f`` (two passes).
"""

from __future__ import annotations

from math import log, pi, sqrt

from collaudo.compiled import compiled

_LAMINAR_K2 = 64.0 * 2000.0


@compiled
def _turbulent_reynolds(k: float, roughness_ratio: float) -> float:
    return k * (-2.0 / log(10.0)) * log(roughness_ratio / 3.7 + 2.51 / k)


@compiled
def _reynolds(k2: float, roughness_ratio: float) -> tuple[float, float]:
    """Reynolds number for the squared head number, and d ln Re / d ln K^2."""
    if k2 <= _LAMINAR_K2:
        return k2 / 64.0, 1.0
    k = sqrt(k2)
    # where the turbulent branch reaches Re = 4000 (one Newton-like correction is exact to 0.1 %)
    k4 = 800.0
    for _ in range(3):
        k4 *= 4000.0 / _turbulent_reynolds(k4, roughness_ratio)
    if k >= k4:
        re = _turbulent_reynolds(k, roughness_ratio)
        inner = roughness_ratio / 3.7 + 2.51 / k
        slope = 0.5 * (1.0 - (2.51 / k) / inner / log(inner))
        return re, slope
    x0, x1 = log(_LAMINAR_K2), 2.0 * log(k4)
    y0, y1 = log(2000.0), log(_turbulent_reynolds(k4, roughness_ratio))
    inner = roughness_ratio / 3.7 + 2.51 / k4
    m1 = 0.5 * (1.0 - (2.51 / k4) / inner / log(inner)) * (x1 - x0)
    m0 = 0.0 * m1 + min(1.0 * (x1 - x0), 3.0 * (y1 - y0))
    s = (log(k2) - x0) / (x1 - x0)
    s2, s3 = s * s, s * s * s
    y = (2 * s3 - 3 * s2 + 1) * y0 + (s3 - 2 * s2 + s) * m0 + (3 * s2 - 2 * s3) * y1 + (s3 - s2) * m1
    dy = (6 * s2 - 6 * s) * y0 + (3 * s2 - 4 * s + 1) * m0 + (6 * s - 6 * s2) * y1 + (3 * s2 - 2 * s) * m1
    return 2.718281828459045**y, dy / (x1 - x0)


@compiled
def tube_flow(
    difference_Pa: float, rho: float, mu: float, bore_m: float, length_m: float, roughness_m: float, fittings: float
) -> tuple[float, float]:
    """Mass flow [kg/s] for a pressure difference [Pa] (same sign), and its derivative [kg/(s Pa)].

    Darcy-Weisbach with Colebrook friction (Re >= 4000) or 64/Re (Re <= 2000), plus fittings losses ``fittings``
    on the tube's velocity head. Agrees with the implicit equation within 0.3 %.
    """
    size = abs(difference_Pa)
    ratio = roughness_m / bore_m
    base = 2.0 * rho * bore_m * bore_m * bore_m / (mu * mu)
    k2 = base * size / length_m
    if k2 <= 0.0:
        return 0.0, 0.25 * pi * bore_m * mu * base / (64.0 * length_m)
    re, slope = _reynolds(k2, ratio)
    if fittings > 0.0:
        for _ in range(3):
            friction = max(k2 / (re * re), 1e-6)
            k2 = base * size / (length_m + fittings * bore_m / friction)
            re, slope = _reynolds(k2, ratio)
        # implicit derivative: fittings behave as slope 1/2, friction as the tube's own slope
        friction = k2 / (re * re)
        part = fittings * bore_m / (fittings * bore_m + friction * length_m)
        slope = 1.0 / (2.0 * part + (1.0 - part) / slope)
    q = 0.25 * pi * bore_m * mu * re
    return (q if difference_Pa >= 0.0 else -q), q * slope / size
