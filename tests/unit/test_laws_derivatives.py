"""Every law returns the slope of the very flow it returns: checked against central differences.

A wrong slope is not seen in any reading; it shows as rejected steps and lost time. Central differences of a
smooth function with a relative step h err by h^2, and by the rounding 1e-16 / h; h = 1e-6 leaves about 1e-9.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt

import pytest

from collaudo.laws.closing import opening_share, positive_part, unit_ramp
from collaudo.laws.pump import vane_pump_flow, vibration_pump_flow
from collaudo.laws.throat import ROUNDED_BELOW_PA, flashing_limit, lifted_throat_flow, throat_flow
from collaudo.laws.tube import ROUNDED_BELOW_PA as TUBE_ROUNDED_BELOW_PA
from collaudo.laws.tube import rounded_tube_flow, tube_flow, tube_flow_between, turbulent_from
from collaudo.laws.vapour_throat import CRITICAL_RATIO, expansion_psi, vapour_throat_flow

RHO, MU = 958.0, 2.8e-4  # water near 100 degC
STEP = 1e-6


def central(function: Callable[[float], float], x: float, step: float) -> float:
    """Slope of ``function`` at ``x`` from both sides."""
    return (function(x + step) - function(x - step)) / (2.0 * step)


def spread(low: float, high: float, count: int) -> list[float]:
    """``count`` values from low to high, even in their logarithms."""
    return [low * (high / low) ** (k / (count - 1)) for k in range(count)]


# -- closing functions


@pytest.mark.parametrize("x", [0.0, -1e-300, -1e-12, -1.0, -1e9])
def test_closing_functions_are_exactly_zero_below_zero(x: float) -> None:
    for value, slope in (positive_part(x, 0.3), unit_ramp(x), opening_share(x)):
        assert (value, slope) == (0.0, 0.0)


@pytest.mark.parametrize("x", [1.3, 2.0, 1e9])
def test_a_seat_wide_open_is_exactly_one(x: float) -> None:
    assert opening_share(x) == (1.0, 0.0)
    assert unit_ramp(x) == (1.0, 0.0)


@pytest.mark.parametrize("x", [0.01, 0.05, 0.15, 0.35, 0.7, 0.85, 0.95, 1.05, 1.15, 1.25])
@pytest.mark.parametrize(
    "law", [lambda x: positive_part(x, 0.3), unit_ramp, opening_share], ids=["part", "ramp", "seat"]
)
def test_closing_functions(law: Callable[[float], tuple[float, float]], x: float) -> None:
    assert law(x)[1] == pytest.approx(central(lambda v: law(v)[0], x, STEP), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("corner", [0.0, 0.2, 0.3, 0.9, 1.0, 1.3])
@pytest.mark.parametrize(
    "law", [lambda x: positive_part(x, 0.3), unit_ramp, opening_share], ids=["part", "ramp", "seat"]
)
def test_closing_functions_have_no_jump_in_value_or_slope(
    law: Callable[[float], tuple[float, float]], corner: float
) -> None:
    """Second derivatives stay below 10, so 1e-9 to both sides moves value and slope by less than 2e-8."""
    below, above = law(corner - 1e-9), law(corner + 1e-9)
    assert above == pytest.approx(below, abs=2e-8)


# -- tubes


@pytest.mark.parametrize("fittings", [0.0, 0.5, 1.5, 4.0, 20.0])
@pytest.mark.parametrize("bore_mm", [2.0, 8.0])
@pytest.mark.parametrize("length_m", [0.02, 0.35, 2.0])
@pytest.mark.parametrize("roughness_m", [0.0, 1.5e-6, 1e-4])
def test_tubes_with_fittings(fittings: float, bore_mm: float, length_m: float, roughness_m: float) -> None:
    """Reynolds numbers 10 to 1e5; flow grows with the difference all the way."""

    def flow(difference_Pa: float) -> float:
        return tube_flow(difference_Pa, RHO, MU, bore_mm / 1e3, length_m, roughness_m, fittings)[0]

    last, tried = 0.0, 0
    for difference_Pa in spread(1e-4, 1e8, 241):
        q, slope = tube_flow(difference_Pa, RHO, MU, bore_mm / 1e3, length_m, roughness_m, fittings)
        assert q > last
        last = q
        if 10.0 <= 4.0 * q / (pi * bore_mm / 1e3 * MU) <= 1e5:
            tried += 1
            assert slope == pytest.approx(central(flow, difference_Pa, STEP * difference_Pa), rel=1e-4)
    assert tried >= 60


@pytest.mark.parametrize("fittings", [0.0, 1.5, 20.0])
@pytest.mark.parametrize("reynolds", [500.0, 1999.0, 2001.0, 3000.0, 3999.0, 2e4])
def test_tube_and_fittings_share_the_pressure_difference(fittings: float, reynolds: float) -> None:
    """Darcy and Weisbach: the tube alone at this flow, plus ``fittings rho v^2 / 2``, is all of it.

    The passes stop when the flow is certain to about 1e-9.
    """
    bore_m, length_m = 4e-3, 0.4
    target = reynolds * pi * bore_m * MU / 4.0
    low, high = 1e-6, 1e7
    for _ in range(200):
        middle = sqrt(low * high)
        if tube_flow(middle, RHO, MU, bore_m, length_m, 1.5e-6, 0.0)[0] < target:
            low = middle
        else:
            high = middle
    speed = target / (RHO * pi / 4.0 * bore_m**2)
    whole = low + fittings * 0.5 * RHO * speed**2
    assert tube_flow(whole, RHO, MU, bore_m, length_m, 1.5e-6, fittings)[0] == pytest.approx(target, rel=1e-8)


HOSE = (4e-3, 0.4, 1.5e-6, 4.0, turbulent_from(1.5e-6 / 4e-3))


@pytest.mark.parametrize("difference_Pa", [-3e3, -80.0, 0.0, 2.0, 150.0, 2e4, 9e5])
def test_the_rounded_flow_of_a_tube_by_difference_viscosity_and_density(difference_Pa: float) -> None:
    _, by_d, by_mu, by_rho = rounded_tube_flow(difference_Pa, RHO, MU, *HOSE)
    step = STEP * max(abs(difference_Pa), 1.0)
    slope = central(lambda d: rounded_tube_flow(d, RHO, MU, *HOSE)[0], difference_Pa, step)
    assert by_d == pytest.approx(slope, rel=1e-4)
    slope = central(lambda mu: rounded_tube_flow(difference_Pa, RHO, mu, *HOSE)[0], MU, STEP * MU)
    assert by_mu == pytest.approx(slope, rel=1e-4, abs=1e-9)
    slope = central(lambda rho: rounded_tube_flow(difference_Pa, rho, MU, *HOSE)[0], RHO, STEP * RHO)
    assert by_rho == pytest.approx(slope, rel=1e-4, abs=1e-12)


@pytest.mark.parametrize(("difference_Pa", "short"), [(100.0, 0.16), (1e3, 0.0025)])
def test_the_rounding_of_a_tube_at_rest_is_at_most_what_it_says(difference_Pa: float, short: float) -> None:
    """Against Darcy and Weisbach with nothing rounded; the percentages stand beside its constant."""
    assert TUBE_ROUNDED_BELOW_PA == 100.0
    ideal = tube_flow_between(difference_Pa, RHO, MU, *HOSE)[0]
    missing = 1.0 - rounded_tube_flow(difference_Pa, RHO, MU, *HOSE)[0] / ideal
    assert 0.5 * short < missing < short


def test_a_laminar_tube_is_not_rounded() -> None:
    """Hagen and Poiseuille: ``pi rho d^4 dp / (128 mu L)``; 1 mm bore, 2 m long, Re 20 at 120 Pa."""
    law = pi * RHO * 1e-12 * 50.0 / (128.0 * MU * 2.0)
    laminar = (1e-3, 2.0, 0.0, 0.0, turbulent_from(0.0))
    assert rounded_tube_flow(50.0, RHO, MU, *laminar)[0] == pytest.approx(law, rel=1e-9)


@pytest.mark.parametrize("difference_Pa", [1e-9, 3.0, 4e3, 2e6])
def test_tubes_and_throats_are_the_same_both_ways(difference_Pa: float) -> None:
    forward, slope = tube_flow(difference_Pa, RHO, MU, 4e-3, 0.4, 1.5e-6, 4.0)
    assert tube_flow(-difference_Pa, RHO, MU, 4e-3, 0.4, 1.5e-6, 4.0) == (-forward, slope)
    forward, slope = throat_flow(difference_Pa, RHO, MU, 1e-6, 1e9)
    assert throat_flow(-difference_Pa, RHO, MU, 1e-6, 1e9) == (-forward, slope)


@pytest.mark.parametrize("fittings", [0.0, 20.0])
def test_a_tube_at_rest(fittings: float) -> None:
    flow, slope = tube_flow(0.0, RHO, MU, 4e-3, 0.4, 1.5e-6, fittings)
    assert flow == 0.0
    assert slope == pytest.approx(tube_flow(1e-6, RHO, MU, 4e-3, 0.4, 1.5e-6, fittings)[0] / 1e-6, rel=1e-6)


# -- throats


@pytest.mark.parametrize("bed_per_m3", [0.0, 1.75e15])
@pytest.mark.parametrize("difference_Pa", spread(1e-2, 1e6, 17))
def test_throats_and_beds(difference_Pa: float, bed_per_m3: float) -> None:
    def flow(x: float) -> float:
        return throat_flow(x, RHO, MU, 2.7e-7, bed_per_m3)[0]

    slope = throat_flow(difference_Pa, RHO, MU, 2.7e-7, bed_per_m3)[1]
    assert slope == pytest.approx(central(flow, difference_Pa, STEP * difference_Pa), rel=1e-6)


@pytest.mark.parametrize(
    ("difference_Pa", "short"), [(100.0, 0.159), (1e3, 0.0025), (1e4, 2.5e-5)]
)
def test_the_rounding_of_a_throat_at_rest_is_what_it_says(difference_Pa: float, short: float) -> None:
    """Bernoulli, ``area sqrt(2 rho dp)``; the percentages stand beside ROUNDED_BELOW_PA, to their digits."""
    ideal = 2.7e-7 * sqrt(2.0 * RHO * difference_Pa)
    assert ROUNDED_BELOW_PA == 100.0
    assert 1.0 - throat_flow(difference_Pa, RHO, MU, 2.7e-7, 0.0)[0] / ideal == pytest.approx(short, rel=0.02)


def test_a_shut_throat_passes_nothing() -> None:
    assert throat_flow(9e5, RHO, MU, 0.0, 0.0) == (0.0, 0.0)


@pytest.mark.parametrize("over", [0.05, 0.15, 0.5, 0.95, 1.2, 1.5, 4.0])
def test_seats_held_by_a_spring(over: float) -> None:
    def flow(x: float) -> float:
        return lifted_throat_flow(x, RHO, 7e-6, 1e4, 2e4)[0]

    difference_Pa = 1e4 + over * 2e4
    slope = lifted_throat_flow(difference_Pa, RHO, 7e-6, 1e4, 2e4)[1]
    assert slope == pytest.approx(central(flow, difference_Pa, STEP * difference_Pa), rel=1e-6)


@pytest.mark.parametrize("difference_Pa", [-9e5, 0.0, 9.9e3, 1e4])
def test_a_seat_below_its_cracking_pressure_passes_exactly_nothing(difference_Pa: float) -> None:
    assert lifted_throat_flow(difference_Pa, RHO, 7e-6, 1e4, 2e4) == (0.0, 0.0)


def saturation(temperature_K: float) -> tuple[float, float]:
    """A saturation curve to differentiate through: 1 bar at 373 K, doubling every 20 K or so."""
    p = 1.013e5 * 2.0 ** ((temperature_K - 373.15) / 20.0)
    return p, p * 0.034657359027997264


@pytest.mark.parametrize("p1_Pa", [1.2e5, 9e5])
@pytest.mark.parametrize("temperature_K", [340.0, 373.0, 395.0])
def test_the_flashing_limit_by_temperature(p1_Pa: float, temperature_K: float) -> None:
    """Both regimes: at 395 K and 1.2 bar the limit is its floor."""

    def limit(value_K: float) -> float:
        return flashing_limit(p1_Pa, *saturation(value_K))[0]

    by_temperature = flashing_limit(p1_Pa, *saturation(temperature_K))[1]
    assert by_temperature == pytest.approx(central(limit, temperature_K, 1e-3), rel=1e-6)


# -- steam


@pytest.mark.parametrize("ratio", [0.1, 0.5, 0.58, 0.65, 0.8, 0.95, 0.99, 0.999, 0.9999])
def test_expansion(ratio: float) -> None:
    step = STEP * max(1.0 - ratio, 1e-3)
    slope = central(lambda r: expansion_psi(r)[0], ratio, step)
    assert expansion_psi(ratio)[1] == pytest.approx(slope, rel=1e-5, abs=1e-12)


def test_the_slope_at_equal_pressures_is_the_limit() -> None:
    """One step of 1e-9 away from equal pressures; the curve bends over a thousandth of the span."""
    assert expansion_psi(1.0)[1] == pytest.approx(-expansion_psi(1.0 - 1e-9)[0] / 1e-9, rel=1e-4)


@pytest.mark.parametrize("p2_Pa", [0.5e5, 1.0e5, 1.5e5, 2.0e5, 2.2e5])
def test_steam_by_both_pressures(p2_Pa: float) -> None:
    p1_Pa, rho1, area_m2 = 2.21e5, 1.24, 3e-6
    assert (p2_Pa / p1_Pa < CRITICAL_RATIO) == (p2_Pa <= 1.0e5)
    _, by_1, by_2 = vapour_throat_flow(p1_Pa, p2_Pa, rho1, area_m2)
    slope_1 = central(lambda p: vapour_throat_flow(p, p2_Pa, rho1, area_m2)[0], p1_Pa, 0.1)
    slope_2 = central(lambda p: vapour_throat_flow(p1_Pa, p, rho1, area_m2)[0], p2_Pa, 0.1)
    assert by_1 == pytest.approx(slope_1, rel=1e-6)
    assert by_2 == pytest.approx(slope_2, rel=1e-6, abs=1e-18)


# -- pumps


@pytest.mark.parametrize("rise_bar", [-2.0, -1e-3, 1e-3, 3.0, 9.0, 15.0, 15.3, 15.4, 16.0])
@pytest.mark.parametrize("bend", [-0.3, 0.0, 0.16])
def test_vibration_pumps(rise_bar: float, bend: float) -> None:
    slope = central(lambda x: vibration_pump_flow(x, 1.083e-5, 15.5e5, bend)[0], rise_bar * 1e5, 1.0)
    assert vibration_pump_flow(rise_bar * 1e5, 1.083e-5, 15.5e5, bend)[1] == pytest.approx(
        slope, rel=1e-6, abs=1e-18
    )


def test_a_vibration_pump_has_no_jump_where_it_is_pushed() -> None:
    """Free flow, then one pascal to both sides: the slope alone parts them, 1.2 millionths of the flow."""
    pushed, free, against = (vibration_pump_flow(rise, 1.083e-5, 15.5e5, 0.16) for rise in (-1.0, 0.0, 1.0))
    assert free[0] == pytest.approx(1.083e-5, rel=1e-12)
    assert pushed[0] == pytest.approx(free[0], rel=1e-6)
    assert against[0] == pytest.approx(free[0], rel=1e-6)
    assert pushed[1] == pytest.approx(against[1], rel=1e-5)


@pytest.mark.parametrize(
    ("rise_bar", "flow_ml_per_min"), [(0, 650), (3, 510), (6, 380), (9, 250), (12, 120), (15.5, 0), (20, 0)]
)
def test_a_sound_vibration_pump_follows_the_trades_figures(rise_bar: float, flow_ml_per_min: float) -> None:
    """Common practice, no source; the figures are rounded to 10 ml/min."""
    flow, _ = vibration_pump_flow(rise_bar * 1e5, 650e-6 / 60.0, 15.5e5, 0.16)
    assert flow * 6e7 == pytest.approx(flow_ml_per_min, abs=10.0)


@pytest.mark.parametrize("rise_bar", [-1.0, 0.0, 5.0, 8.95, 9.05, 9.15, 9.3])
def test_vane_pumps(rise_bar: float) -> None:
    """Before, in and beyond the rounded opening of the bypass, which spans 9.0 to 9.2 bar."""
    given = (5.56e-5, 3.7e-12, 9.0e5, 1e-10)
    slope = central(lambda x: vane_pump_flow(x, *given)[0], rise_bar * 1e5, 1.0)
    assert vane_pump_flow(rise_bar * 1e5, *given)[1] == pytest.approx(slope, rel=1e-6)
