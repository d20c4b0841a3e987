"""Platinum sensors against the standard's table, NTC sensors against printed tables and worked examples."""

from __future__ import annotations

import math

import pytest

from collaudo.errors import QuantityError
from collaudo.laws.ntc import (
    Curve,
    beta_between_K,
    curve_resistance_ohm,
    curve_temperature_K,
    curve_through,
    ntc_resistance_ohm,
    ntc_slope_share_per_K,
    ntc_temperature_K,
)
from collaudo.laws.platinum import platinum_resistance_ohm, platinum_temperature_K

ZERO = 273.15

# IEC 60751, table of resistances of the 100 ohm sensor (temperature in degC, ohm), as reprinted by sellers of
# sensors; two digits behind the point: half a unit of the second, 0.005 ohm (0.013 K).
IEC_60751 = {
    -200: 18.52,
    -190: 22.83,
    -180: 27.10,
    -150: 39.72,
    -100: 60.26,
    -50: 80.31,
    -10: 96.09,
    0: 100.00,
    10: 103.90,
    20: 107.79,
    30: 111.67,
    40: 115.54,
    50: 119.40,
    60: 123.24,
    70: 127.08,
    80: 130.90,
    90: 134.71,
    100: 138.51,
    110: 142.29,
    120: 146.07,
    130: 149.83,
    140: 153.58,
    150: 157.33,
    200: 175.86,
    300: 212.05,
    400: 247.09,
    500: 280.98,
    600: 313.71,
}


@pytest.mark.parametrize(("t_degC", "ohm"), IEC_60751.items())
def test_platinum_has_the_resistance_of_the_standards_table(t_degC: float, ohm: float) -> None:
    assert platinum_resistance_ohm(t_degC + ZERO, 100.0) == pytest.approx(ohm, abs=0.00501)
    assert platinum_resistance_ohm(t_degC + ZERO, 1000.0) == pytest.approx(10.0 * ohm, abs=0.0501)


@pytest.mark.parametrize(("t_degC", "ohm"), IEC_60751.items())
def test_platinum_shows_the_temperature_of_the_standards_table(t_degC: float, ohm: float) -> None:
    # 0.005 ohm at the least slope of the range, 0.33 ohm/K.
    assert platinum_temperature_K(ohm, 100.0) - ZERO == pytest.approx(t_degC, abs=0.016)


def test_platinum_has_the_standards_mean_coefficient() -> None:
    """IEC 60751:2022, scope: alpha = (R100 - R0) / (R0 100 K) = 3.851e-3 per K, four digits."""
    alpha = (platinum_resistance_ohm(ZERO + 100.0, 1.0) - 1.0) / 100.0
    assert alpha == pytest.approx(3.851e-3, abs=5e-7)


@pytest.mark.parametrize(("t_degC", "ohm"), [(20.0, 1078.0), (93.0, 1358.0), (123.0, 1472.0)])
def test_platinum_reads_what_the_bench_reads(t_degC: float, ohm: float) -> None:
    """common practice, no source; whole ohms"""
    assert platinum_resistance_ohm(t_degC + ZERO) == pytest.approx(ohm, abs=1.0)


def test_platinum_rises_3_8_ohm_a_degree_at_brew_temperature() -> None:
    """common practice, no source; two digits"""
    rise = platinum_resistance_ohm(94.0 + ZERO) - platinum_resistance_ohm(93.0 + ZERO)
    assert rise == pytest.approx(3.8, abs=0.05)


@pytest.mark.parametrize("t_degC", [-199.9, -100.0, -20.0, -1e-6, 0.0, 1e-6, 93.0, 250.0, 849.9])
def test_platinum_comes_back_to_the_same_temperature(t_degC: float) -> None:
    ohm = platinum_resistance_ohm(t_degC + ZERO, 1000.0)
    assert platinum_temperature_K(ohm, 1000.0) == pytest.approx(t_degC + ZERO, abs=1e-9)


@pytest.mark.parametrize("ohm", [0.0, 1.0, 1e6, math.inf, math.nan])
def test_an_open_or_shorted_platinum_sensor_has_no_temperature(ohm: float) -> None:
    with pytest.raises(QuantityError, match="no temperature"):
        platinum_temperature_K(ohm, 1000.0)


# A common sensor of 10 kohm at 25 degC: printed table (degC, ohm), four digits: half a unit of the fourth is
# at most 5e-4 of the resistance, 0.017 K at 100 degC. The curve passes three of the points and adds their
# rounding: 0.03 K.
TEN_KILOHM = {
    20: 12490.0,
    25: 10000.0,
    30: 8057.0,
    55: 2986.0,
    60: 2488.0,
    65: 2083.0,
    90: 917.7,
    95: 788.5,
    100: 680.0,
}


@pytest.mark.parametrize(("t_degC", "ohm"), TEN_KILOHM.items())
def test_a_curve_through_three_points_finds_the_rest_of_a_printed_table(t_degC: float, ohm: float) -> None:
    curve = curve_through(((293.15, 12490.0), (333.15, 2488.0), (373.15, 680.0)))
    assert curve_temperature_K(ohm, curve) - ZERO == pytest.approx(t_degC, abs=0.03)
    assert curve_resistance_ohm(t_degC + ZERO, curve) == pytest.approx(ohm, rel=1e-3)


@pytest.mark.parametrize(("t_degC", "ohm"), TEN_KILOHM.items())
def test_the_law_by_two_numbers_keeps_within_a_kelvin_of_a_printed_table(t_degC: float, ohm: float) -> None:
    # beta from the table's own ends; 1 K is what the law claims.
    beta = beta_between_K(298.15, 10000.0, 363.15, 917.7)
    assert beta == pytest.approx(3977.0, abs=20.0)  # the value sold with this table: 3977 K between 25 and 85
    assert ntc_temperature_K(ohm, 10000.0, beta) - ZERO == pytest.approx(t_degC, abs=1.0)


def test_coefficients_of_a_worked_example() -> None:
    """25 000 ohm at 5, 10 000 ohm at 25, 4 000 ohm at 45 degC: the example of a public thermistor calculator,
    typed from memory; digits as printed."""
    curve = curve_through(((278.15, 25000.0), (298.15, 10000.0), (318.15, 4000.0)))
    assert curve.a_per_K == pytest.approx(2.108508173e-3, rel=1e-8)
    assert curve.b_per_K == pytest.approx(0.7979204727e-4, rel=1e-8)
    assert curve.c_per_K == pytest.approx(6.535076315e-7, rel=1e-8)


# Printed resistances of another sensor of 10 kohm and the printed coefficients of its class (six digits): the
# sum 1/T is then uncertain by about 5e-9 / 3e-3, 1e-5 of T or 0.005 K; the sensor's own table adds 0.003 K.
@pytest.mark.parametrize(("t_degC", "ohm"), [(-40.0, 336103.2), (0.0, 32650.9), (1.0, 31030.8), (25.0, 1e4)])
def test_printed_coefficients_give_the_printed_table(t_degC: float, ohm: float) -> None:
    curve = Curve(1.12924e-3, 2.34108e-4, 0.87755e-7)
    assert curve_temperature_K(ohm, curve) - ZERO == pytest.approx(t_degC, abs=0.008)


@pytest.mark.parametrize("t_degC", [-50.0, 0.0, 25.0, 93.0, 150.0, 199.0])
def test_ntc_laws_come_back_to_the_same_temperature(t_degC: float) -> None:
    curve = Curve(1.12924e-3, 2.34108e-4, 0.87755e-7)
    T = t_degC + ZERO
    assert curve_temperature_K(curve_resistance_ohm(T, curve), curve) == pytest.approx(T, abs=1e-9)
    assert ntc_temperature_K(ntc_resistance_ohm(T, 5e4, 4200.0), 5e4, 4200.0) == pytest.approx(T, abs=1e-9)


@pytest.mark.parametrize("beta_K", [3435.0, 3977.0, 4200.0])
def test_ntc_slope_is_that_of_the_law_and_three_to_five_per_cent(beta_K: float) -> None:
    """3 to 4 % for each kelvin between the room and brew temperature: common practice, no source."""
    step = 1e-3
    for T in (298.15, 366.15):
        ratio = ntc_resistance_ohm(T + step, 1e4, beta_K) / ntc_resistance_ohm(T - step, 1e4, beta_K)
        assert ntc_slope_share_per_K(T, beta_K) == pytest.approx(math.log(ratio) / (2.0 * step), rel=1e-8)
    assert -0.048 < ntc_slope_share_per_K(298.15, beta_K) < -0.035
    assert -0.035 < ntc_slope_share_per_K(366.15, beta_K) < -0.025


@pytest.mark.parametrize("ohm", [0.0, -5.0, math.nan])
def test_a_shorted_ntc_sensor_has_no_temperature(ohm: float) -> None:
    with pytest.raises(QuantityError, match="no temperature"):
        ntc_temperature_K(ohm, 1e4, 3977.0)


def test_an_open_ntc_sensor_has_no_temperature() -> None:
    with pytest.raises(QuantityError, match="outside the law"):
        ntc_temperature_K(1e9, 1e4, 3977.0)


def test_three_points_must_be_three() -> None:
    with pytest.raises(QuantityError, match="three temperatures"):
        curve_through(((300.0, 1e4), (300.0, 1e4), (350.0, 2e3)))
