"""Discharge coefficient of small jets: real flow over ``area sqrt(2 rho dp)``."""

from __future__ import annotations

from math import log10

from collaudo.errors import QuantityError

THIN_PLATE = 0.61
"""Discharge coefficient of a sharp-edged hole in a thin plate, Re above 1e4 (Kirchhoff: pi / (pi + 2))."""

_SEPARATED_LENGTH_RATIO = 0.5
_ATTACHED_LENGTH_RATIO = 2.0
LARGEST_LENGTH_RATIO = 10.0
"""Length over bore up to which the correlation holds."""


def lichtarowicz_1965(length_ratio: float, reynolds_ideal: float) -> float:
    """Discharge coefficient of a drilled hole with sharp inlet, length over bore 2 to 10.

    ``reynolds_ideal`` is formed with the ideal velocity ``sqrt(2 dp / rho)`` and the bore:

    ``C_u = 0.827 - 0.0085 L/d``
    ``1/C = 1/C_u + (20/Re)(1 + 2.25 L/d) - 0.005 (L/d) / (1 + 7.5 [log10(1.5e-4 Re)]^2)``

    Fitted from Re 10 to 2e4; above that it stays at C_u within 1 %, as the measurements do.
    Raises `QuantityError` outside 2 <= L/d <= 10 or below Re 10.
    Source: Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7 (1965) 210.
    """
    if not _ATTACHED_LENGTH_RATIO <= length_ratio <= LARGEST_LENGTH_RATIO:
        raise QuantityError(f"jet length over bore is {length_ratio:g}; the correlation holds from 2 to 10")
    if not reynolds_ideal >= 10.0:
        raise QuantityError(f"jet Reynolds number is {reynolds_ideal:g}; the correlation holds from 10 on")
    ultimate = 0.827 - 0.0085 * length_ratio
    viscous = 20.0 / reynolds_ideal * (1.0 + 2.25 * length_ratio)
    dip = 0.005 * length_ratio / (1.0 + 7.5 * log10(1.5e-4 * reynolds_ideal) ** 2)
    return 1.0 / (1.0 / ultimate + viscous - dip)


def jet_coefficient(length_ratio: float, reynolds_ideal: float) -> float:
    """Discharge coefficient of a jet of any length over bore from 0 to 10.

    From L/d = 2 on `lichtarowicz_1965`; up to 0.5 the stream leaves the edge and never touches the
    bore, `THIN_PLATE`; a straight line between the two (an interpolation, no source).
    """
    if not length_ratio >= 0.0:
        raise QuantityError(f"jet length over bore is {length_ratio:g}; it must be 0 or more")
    attached = lichtarowicz_1965(max(length_ratio, _ATTACHED_LENGTH_RATIO), reynolds_ideal)
    span = _ATTACHED_LENGTH_RATIO - _SEPARATED_LENGTH_RATIO
    share = min(max((length_ratio - _SEPARATED_LENGTH_RATIO) / span, 0.0), 1.0)
    return THIN_PLATE + share * (attached - THIN_PLATE)
