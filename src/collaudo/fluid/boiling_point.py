"""Boiling point of water in plain Python, for rules and texts that need it with no compiler at hand."""

from __future__ import annotations

from math import sqrt

SATURATION = (
    *(0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7),
    *(0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3),
)
"""n1 to n10 of the saturation line: IAPWS R7-97(2012), Table 34."""


def boiling_point_K(pressure_Pa: float) -> float:
    """Temperature [K] at which water boils, 612 Pa to 20 MPa: IAPWS R7-97(2012), eq. 31."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = SATURATION
    beta = sqrt(sqrt(1e-6 * pressure_Pa))
    e = (beta + n3) * beta + n6
    f = (n1 * beta + n4) * beta + n7
    g = (n2 * beta + n5) * beta + n8
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    total = n10 + d
    return 0.5 * (total - sqrt(total * total - 4.0 * (n9 + n10 * d)))
