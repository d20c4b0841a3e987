"""Discharge coefficients of small jets.

Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7 (1965) 210, fitted from Re 10 to 2e4 (formed with the
ideal velocity) and L/d 2 to 10; two points printed in public thermal-hydraulic codes. Thin plate:
Encyclopaedia Britannica, 11th ed., "Hydraulics". Jet flows: the formula, water at 20 degC, exact arithmetic.
"""

from __future__ import annotations

from math import pi, sqrt

import pytest

from collaudo.errors import QuantityError
from collaudo.laws.orifice import THIN_PLATE, jet_coefficient, lichtarowicz_1965
from collaudo.laws.throat import throat_flow

RHO, MU = 998.38970, 1.0014737e-3

# bore [mm], drop [bar], Re_ideal, flow of a thin plate, C at L/d 2, flow [ml/s], C at L/d 4, flow [ml/s]
JETS = [
    (0.5, 1.0, 7055.0, 1.69521, 0.80632, 2.2408, 0.78773, 2.1891),
    (0.5, 3.0, 12219.6, 2.93620, 0.80842, 3.8913, 0.79099, 3.8074),
    (0.5, 9.0, 21164.9, 5.08564, 0.80886, 6.7436, 0.79142, 6.5981),
    (0.6, 1.0, 8466.0, 2.44111, 0.80755, 3.2317, 0.78979, 3.1606),
    (0.6, 9.0, 25397.9, 7.32333, 0.80902, 9.7126, 0.79161, 9.5037),
    (0.7, 1.0, 9877.0, 3.32262, 0.80808, 4.4016, 0.79059, 4.3063),
    (0.7, 9.0, 29630.9, 9.96786, 0.80915, 13.2221, 0.79179, 12.9384),
    (0.8, 1.0, 11288.0, 4.33975, 0.80832, 5.7507, 0.79090, 5.6267),
    (0.8, 9.0, 33863.9, 13.01925, 0.80925, 17.2719, 0.79194, 16.9025),
]


@pytest.mark.parametrize(
    ("reynolds", "length_ratio", "coefficient"), [(2e4, 2.0, 0.8088165976866), (100.0, 2.0, 0.4284155081877)]
)
def test_the_two_printed_coefficients(reynolds: float, length_ratio: float, coefficient: float) -> None:
    assert lichtarowicz_1965(length_ratio, reynolds) == pytest.approx(coefficient, rel=1e-12)


@pytest.mark.parametrize("row", JETS, ids=lambda row: f"{row[0]} mm, {row[1]} bar")
def test_flow_of_the_jets_of_a_machine(row: tuple[float, ...]) -> None:
    """Five printed digits of arithmetic. The laminar share of the throat law costs at most 3 % at one bar."""
    bore_mm, drop_bar, reynolds, thin_ml, c2, flow2_ml, c4, flow4_ml = row
    assert bore_mm / 1e3 * sqrt(2.0 * RHO * drop_bar * 1e5) / MU == pytest.approx(reynolds, rel=1e-5)
    area_m2 = pi / 4.0 * (bore_mm / 1e3) ** 2
    for length_ratio, coefficient, flow_ml in (
        (0.3, THIN_PLATE, thin_ml),
        (2.0, c2, flow2_ml),
        (4.0, c4, flow4_ml),
    ):
        found = jet_coefficient(length_ratio, reynolds)
        assert found == pytest.approx(coefficient, rel=1e-5)
        assert found * area_m2 * sqrt(2.0 * drop_bar * 1e5 / RHO) * 1e6 == pytest.approx(flow_ml, rel=3e-5)
        through, _ = throat_flow(drop_bar * 1e5, RHO, MU, found * area_m2, 0.0)
        assert through / RHO * 1e6 == pytest.approx(flow_ml, rel=3e-2)


# head of water [ft], coefficient of a circular hole of 0.196 in2
SHARP_EDGED = [(1.0, 0.620), (4.0, 0.608), (10.0, 0.605), (20.0, 0.603)]


def test_a_sharp_edged_hole() -> None:
    """One coefficient stands for the column: it lies within it, and within 0.005 of its mean."""
    values = [coefficient for _, coefficient in SHARP_EDGED]
    assert min(values) < THIN_PLATE < max(values)
    assert pytest.approx(sum(values) / len(values), abs=0.005) == THIN_PLATE


def test_the_thin_plate_is_the_free_streamline() -> None:
    """Kirchhoff's slit, pi / (pi + 2) = 0.611."""
    assert pytest.approx(pi / (pi + 2.0), abs=2e-3) == THIN_PLATE


def test_a_short_tube_passes_eight_tenths() -> None:
    """Textbook class 'short tube, L/d 2 to 4': 0.81 +- 0.02."""
    assert jet_coefficient(2.0, 2e4) == pytest.approx(0.81, abs=0.02)
    assert jet_coefficient(4.0, 2e4) == pytest.approx(0.81, abs=0.02)


def test_coefficient_never_falls_as_the_jet_grows_to_two_bores() -> None:
    values = [jet_coefficient(0.1 * i, 1e4) for i in range(21)]
    assert values == sorted(values)
    assert (values[0], values[-1]) == (THIN_PLATE, lichtarowicz_1965(2.0, 1e4))


@pytest.mark.parametrize(
    ("length_ratio", "reynolds"), [(1.0, 1e4), (12.0, 1e4), (3.0, 5.0), (float("nan"), 1e4)]
)
def test_lichtarowicz_refuses_what_was_not_measured(length_ratio: float, reynolds: float) -> None:
    with pytest.raises(QuantityError, match="the correlation holds from"):
        lichtarowicz_1965(length_ratio, reynolds)
