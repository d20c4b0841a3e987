"""Heating elements: exact arithmetic of Ohm's and Joule's laws, printed to five or more digits."""

from __future__ import annotations

import pytest

from collaudo.laws.electric import element_current_A, element_power_W, element_resistance_ohm

# rated power [W] at 230 V, resistance [ohm], resistance at +5 % and -10 % power, current [A]
ELEMENTS = [
    (1000.0, 52.9000, 50.3810, 58.7778, 4.348),
    (2000.0, 26.4500, 25.1905, 29.3889, 8.696),
    (3000.0, 17.6333, 16.7937, 19.5926, 13.043),
    (3500.0, 15.1143, 14.3946, 16.7937, 15.217),
    (4500.0, 11.7556, 11.1958, 13.0617, 19.565),
]


@pytest.mark.parametrize(("power_W", "ohm", "low_ohm", "high_ohm", "current_A"), ELEMENTS)
def test_resistance_and_current(
    power_W: float, ohm: float, low_ohm: float, high_ohm: float, current_A: float
) -> None:
    resistance = element_resistance_ohm(power_W, 230.0)
    assert resistance == pytest.approx(ohm, abs=5.1e-5)
    assert element_resistance_ohm(1.05 * power_W, 230.0) == pytest.approx(low_ohm, abs=5.1e-5)
    assert element_resistance_ohm(0.90 * power_W, 230.0) == pytest.approx(high_ohm, abs=5.1e-5)
    assert element_current_A(resistance, 230.0) == pytest.approx(current_A, abs=5.1e-4)


@pytest.mark.parametrize(("voltage_V", "power_W"), [(230.0, 3000.0), (240.0, 3266.5406), (207.0, 2430.0)])
def test_power_goes_with_the_square_of_the_mains(voltage_V: float, power_W: float) -> None:
    assert element_power_W(element_resistance_ohm(3000.0, 230.0), voltage_V) == pytest.approx(
        power_W, rel=2e-8
    )


def test_a_clamp_meter_on_1400_w_reads_6_1_a() -> None:
    """common practice, no source"""
    assert element_current_A(element_resistance_ohm(1400.0, 230.0), 230.0) == pytest.approx(6.1, abs=0.05)
