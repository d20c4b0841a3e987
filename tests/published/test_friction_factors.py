"""Friction in round tubes: Churchill 1977, Colebrook 1939, Hagen-Poiseuille, and textbook pipes.

The grid was printed with the general-purpose library fluids 1.3.1, Colebrook solved to convergence.
"""

from __future__ import annotations

from math import pi, sqrt

import pytest

from collaudo.laws.friction import churchill_1977, colebrook_by_head
from collaudo.laws.tube import tube_flow

# Re, roughness / diameter, Colebrook, Churchill 1977 (Darcy factors, ten digits)
GRID = [
    (3000.0, 0.001, 0.04441132802, 0.04369154057),
    (4000.0, 0.0, 0.03990701406, 0.04058973296),
    (5000.0, 0.001, 0.038495359, 0.03913809436),
    (1e4, 0.0, 0.03088295035, 0.03100213065),
    (2e4, 0.00037, 0.02667666245, 0.02673326433),
    (1e5, 0.0, 0.01798977308, 0.01787482163),
    (1e5, 1e-4, 0.01851386608, 0.01846262457),
    (1e5, 1e-3, 0.02217453594, 0.02234323551),
    (1e5, 0.05, 0.07178092944, 0.07194976728),
    (1e6, 1e-4, 0.01344143769, 0.01350820275),
    (1e7, 1e-5, 0.008995711745, 0.009058892928),
]


@pytest.mark.parametrize(("reynolds", "ratio", "colebrook", "churchill"), GRID)
def test_both_laws_give_the_printed_factors(
    reynolds: float, ratio: float, colebrook: float, churchill: float
) -> None:
    """Same formula, so eight digits hold; the two laws differ by 2 % as the literature says."""
    assert churchill_1977(reynolds, ratio) == pytest.approx(churchill, rel=1e-8)
    assert colebrook_by_head(reynolds * sqrt(colebrook), ratio) == pytest.approx(
        1.0 / sqrt(colebrook), rel=1e-8
    )
    assert churchill_1977(reynolds, ratio) == pytest.approx(colebrook, rel=2e-2)


@pytest.mark.parametrize(("reynolds", "factor"), [(1.0, 64.0), (19.0, 64.0 / 19.0), (1000.0, 0.064000)])
def test_churchill_is_laminar_at_low_reynolds_numbers(reynolds: float, factor: float) -> None:
    assert churchill_1977(reynolds, 0.0) == pytest.approx(factor, rel=1e-6)


def test_churchill_begins_to_bend_at_re_2000() -> None:
    assert churchill_1977(2000.0, 0.0) == pytest.approx(0.03204331743, rel=1e-8)


def test_smooth_tube_at_re_10000_agrees_with_blasius() -> None:
    """Blasius, 0.3164 Re^-0.25 = 0.03164; his law and Colebrook's differ by 2.5 % there."""
    assert churchill_1977(1e4, 0.0) == pytest.approx(0.03164, rel=2.5e-2)


@pytest.mark.parametrize("reynolds", [50.0, 900.0, 2400.0, 7000.0, 4e5])
@pytest.mark.parametrize("ratio", [0.0, 3e-4, 0.02])
def test_churchill_agrees_with_an_independent_library(reynolds: float, ratio: float) -> None:
    friction = pytest.importorskip("fluids.friction")
    assert churchill_1977(reynolds, ratio) == pytest.approx(
        friction.Churchill_1977(reynolds, ratio), rel=1e-12
    )


WATER_20C = (998.2071505, 0.001001596143)

# bore [mm], length [m], flow [ml/min], drop [Pa]: 128 mu L Q / (pi d^4), water at 20 degC, Re 264 to 1762
HAGEN_POISEUILLE = [
    (4.0, 1.0, 50.0, 132.8408),
    (2.0, 0.5, 100.0, 2125.4530),
    (3.0, 1.0, 250.0, 2099.2129),
]


@pytest.mark.parametrize(("bore_mm", "length_m", "flow_ml_per_min", "drop_Pa"), HAGEN_POISEUILLE)
def test_laminar_tubes(bore_mm: float, length_m: float, flow_ml_per_min: float, drop_Pa: float) -> None:
    """Seven printed digits of an exact law."""
    rho, mu = WATER_20C
    flow, slope = tube_flow(drop_Pa, rho, mu, bore_mm / 1e3, length_m, 1.5e-6, 0.0)
    assert flow / rho * 6e7 == pytest.approx(flow_ml_per_min, rel=1e-6)
    assert slope * drop_Pa == pytest.approx(flow, rel=1e-12)


def test_a_turbulent_small_tube() -> None:
    """6 mm, 2 m, 2 l/min at 20 degC: Re 7050, f 0.03426943, 7924.08 Pa (fluids, Colebrook)."""
    rho, mu = WATER_20C
    flow, _ = tube_flow(7924.08, rho, mu, 6e-3, 2.0, 1.5e-6, 0.0)
    assert flow / rho * 6e4 == pytest.approx(2.0, rel=3e-3)


def test_a_transitional_tube_lies_between_laminar_and_turbulent() -> None:
    """4 mm, 1 m, 500 ml/min: Re 2644, laminar 1328 Pa, Colebrook 2501 Pa; nothing outside is possible."""
    rho, mu = WATER_20C
    target = 500.0 / 6e7 * rho
    assert tube_flow(1328.41, rho, mu, 4e-3, 1.0, 1.5e-6, 0.0)[0] < target
    assert tube_flow(2500.79, rho, mu, 4e-3, 1.0, 1.5e-6, 0.0)[0] > target


def test_oil_in_a_cast_iron_pipe() -> None:
    """White, Fluid Mechanics, turbulent-pipe example: 0.2 m3/s, d 0.2 m, e 0.26 mm, 500 m, head lost 117 m.

    The printed head has three digits (0.4 %); head goes with the square of flow.
    """
    rho, nu = 900.0, 1e-5
    flow, _ = tube_flow(117.0 * rho * 9.81, rho, rho * nu, 0.2, 500.0, 0.26e-3, 0.0)
    assert flow / rho == pytest.approx(0.2, rel=5e-3)


def test_an_inclined_laminar_oil_pipe() -> None:
    """White, Fluid Mechanics, laminar-pipe example: d 60 mm, 10 m, 40 degrees up, 100 kPa: 0.0076 m3/s.

    Head lost 4.90 m; the two printed digits of the flow allow 0.7 %.
    """
    rho, nu = 900.0, 2e-4
    flow, _ = tube_flow(4.90 * rho * 9.81, rho, rho * nu, 0.06, 10.0, 0.0, 0.0)
    assert flow / rho == pytest.approx(0.0076, rel=7e-3)


@pytest.mark.parametrize("karman", [1200.0, 3e3, 5e4])
@pytest.mark.parametrize("ratio", [0.0, 1e-3, 0.02])
def test_tube_and_friction_law_are_the_same_turbulent_law(karman: float, ratio: float) -> None:
    """A tube driven at a Karman number flows at ``Re = karman / sqrt(f)``, here above 4000."""
    rho, mu, bore_m, length_m = 965.0, 3.1e-4, 4e-3, 0.7
    drop_Pa = karman**2 * mu**2 * length_m / (2.0 * rho * bore_m**3)
    flow, _ = tube_flow(drop_Pa, rho, mu, bore_m, length_m, ratio * bore_m, 0.0)
    reynolds = 4.0 * flow / (pi * bore_m * mu)
    assert reynolds == pytest.approx(karman * colebrook_by_head(karman, ratio), rel=3e-3)
