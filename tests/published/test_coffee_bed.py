"""Hydraulics of the coffee bed: Darcy's law, Kozeny-Carman, and the ranges seen in the literature."""

from __future__ import annotations

from math import pi

import pytest

from collaudo.fluid.water import liquid_density, liquid_viscosity
from collaudo.laws.bed import darcy_flow, darcy_resistance, kozeny_carman_permeability
from collaudo.laws.throat import throat_flow

HOT_K = 363.15
HOT_VISCOSITY = 3.144191565e-4
"""Pa s, water at 90 degC and 10 bar (CoolProp 8.0.0, IAPWS R12-08)."""


def test_the_moka_pot_bed() -> None:
    """Varlamov & Balestrino, Il Nuovo Saggiatore 17 (2001) 59: 1 cm, 10 cm2, 4e4 Pa, 200 g/min.

    They print 'of the order of 1e-12 m2'; their arithmetic gives 8.3333e-13.
    """
    flow = darcy_flow(8.333333333e-13, 10e-4, 4e4, 1e-3, 1e-2)
    assert flow * 6e7 == pytest.approx(200.0, rel=1e-9)


# permeability [m2], flow [ml/s]: 10 mm, 58.5 mm across, 9 bar, 90 degC
ESPRESSO = [(1e-14, 7.6937), (2e-15, 1.5387), (1e-13, 76.937)]


@pytest.mark.parametrize(("permeability_m2", "flow_ml_per_s"), ESPRESSO)
def test_an_espresso_bed(permeability_m2: float, flow_ml_per_s: float) -> None:
    """Five printed digits, 4e-5 of 1.5387.

    Permeabilities: the range of Corrochano et al., J. Food Eng. 150 (2015) 106, and that of a whole shot.
    """
    area_m2 = pi / 4.0 * 0.0585**2
    assert darcy_flow(permeability_m2, area_m2, 9e5, HOT_VISCOSITY, 0.010) * 1e6 == pytest.approx(
        flow_ml_per_s, rel=4e-5
    )


def test_the_throat_law_of_the_twin_passes_what_darcy_says() -> None:
    """A bed in series with a throat so wide that it costs nothing; the water is the tool's own."""
    area_m2 = pi / 4.0 * 0.0585**2
    resistance = darcy_resistance(2e-15, 0.010, area_m2)
    rho, mu = liquid_density(HOT_K)[0], liquid_viscosity(HOT_K)
    mass_flow, slope = throat_flow(9e5, rho, mu, area_m2, resistance)
    assert mass_flow / rho * 1e6 == pytest.approx(1.5387, rel=1e-3)
    assert slope * 9e5 == pytest.approx(mass_flow, rel=1e-3)


def test_the_italian_definition_of_a_shot_implies_a_tight_bed() -> None:
    """25 ml in 25 s at 9 bar through 10 mm of 58 mm: 1.322271e-15 m2."""
    flow = darcy_flow(1.322271e-15, pi / 4.0 * 0.058**2, 9e5, HOT_VISCOSITY, 0.010)
    assert flow * 1e6 == pytest.approx(1.0, rel=1e-6)


# grain [um], porosity, permeability [m2]: eps^3 d^2 / (180 (1 - eps)^2), ten digits
KOZENY_CARMAN = [
    (30.0, 0.30, 2.755102041e-13),
    (50.0, 0.20, 1.736111111e-13),
    (100.0, 0.40, 9.876543210e-12),
]


@pytest.mark.parametrize(("grain_um", "porosity", "permeability_m2"), KOZENY_CARMAN)
def test_kozeny_carman(grain_um: float, porosity: float, permeability_m2: float) -> None:
    """Carman, Trans. Inst. Chem. Eng. 15 (1937) 150."""
    assert kozeny_carman_permeability(grain_um * 1e-6, porosity) == pytest.approx(permeability_m2, rel=1e-9)


def test_inertia_is_below_one_per_cent_of_the_drop() -> None:
    """Ergun 1952, general-purpose library: at espresso speed his inertial term is 5.81e-4 of 3601.609 Pa, so
    Darcy is enough; his viscous constant is 150 where Carman's is 180."""
    fluids = pytest.importorskip("fluids")
    speed, grain_m, porosity = 3.784898e-4, 30e-6, 0.30
    ergun_Pa = fluids.Ergun(dp=grain_m, voidage=porosity, vs=speed, rho=965.3, mu=HOT_VISCOSITY, L=0.010)
    assert ergun_Pa == pytest.approx(3601.609, rel=1e-6)
    resistance = darcy_resistance(kozeny_carman_permeability(grain_m, porosity), 0.010, 1.0)
    viscous_Pa = resistance * HOT_VISCOSITY * speed * 150.0 / 180.0
    assert 1.0 - viscous_Pa / ergun_Pa == pytest.approx(5.81e-4, rel=5e-3)
