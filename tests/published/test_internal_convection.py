"""Heat from a tube's wall to the water in it: Gnielinski, Petukhov, Hausen, and water's own properties.

Printed numbers come from the general-purpose libraries ht 1.2 and fluids 1.3, or are named with their book.
"""

from __future__ import annotations

from math import pi

import pytest

from collaudo.laws.internal_convection import (
    CONDUCTIVITY_W_PER_M_K,
    PRANDTL,
    TURBULENT_FROM,
    VISCOSITY_PA_S,
    channel_conductance_W_per_K,
    gnielinski_nusselt,
    hausen_nusselt,
    petukhov_friction,
    tube_nusselt,
)

internal = pytest.importorskip("ht.conv_internal")


def test_gnielinski_gives_the_printed_number() -> None:
    """Re 1e5, Pr 1.2, f 0.0185 (ht's printed example); the same formula, so nine digits hold."""
    assert gnielinski_nusselt(1e5, 1.2, 0.0185) == pytest.approx(254.6268275, rel=1e-9)


@pytest.mark.parametrize("reynolds", [4e3, 2e4, 3e5])
@pytest.mark.parametrize("prandtl", [0.7, 2.2, 7.0])
def test_gnielinski_agrees_with_an_independent_library(reynolds: float, prandtl: float) -> None:
    friction = petukhov_friction(reynolds)
    theirs = internal.turbulent_Gnielinski(Re=reynolds, Pr=prandtl, fd=friction)
    assert gnielinski_nusselt(reynolds, prandtl, friction) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("reynolds", [1e4, 5e4, 1e5])
def test_gnielinski_lies_within_a_quarter_of_dittus_and_boelter(reynolds: float) -> None:
    """Textbooks give Dittus and Boelter an error of up to 25 % (Bergman, Introduction to Heat Transfer, 8.5).
    At Re 1e5, Pr 1.2 the printed number of theirs is 247.4003641."""
    theirs = internal.turbulent_Dittus_Boelter(Re=reynolds, Pr=PRANDTL)
    ours = gnielinski_nusselt(reynolds, PRANDTL, petukhov_friction(reynolds))
    assert ours == pytest.approx(theirs, rel=0.25)
    assert internal.turbulent_Dittus_Boelter(Re=1e5, Pr=1.2) == pytest.approx(247.4003641, rel=1e-9)


@pytest.mark.parametrize("reynolds", [1e4, 1e5, 1e6])
def test_petukhov_lies_on_the_smooth_tube_of_colebrook(reynolds: float) -> None:
    """Petukhov, Adv. Heat Transfer 6 (1970) 503, claims 1 to 2 % of the smooth law over this range."""
    friction = pytest.importorskip("fluids.friction")
    assert petukhov_friction(reynolds) == pytest.approx(friction.Colebrook(reynolds, 0.0), rel=0.02)


@pytest.mark.parametrize(("reynolds", "length_m"), [(200.0, 0.5), (900.0, 2.0), (2200.0, 0.1)])
def test_hausen_agrees_with_an_independent_library(reynolds: float, length_m: float) -> None:
    """ht rounds the constant to 3.66 too, so the digits of a double hold."""
    theirs = internal.laminar_entry_thermal_Hausen(Re=reynolds, Pr=PRANDTL, L=length_m, Di=0.004)
    assert hausen_nusselt(reynolds, PRANDTL, 0.004 / length_m) == pytest.approx(theirs, rel=1e-12)


def test_a_long_laminar_tube_has_the_limit_of_nusselt() -> None:
    """3.66 for a wall of one temperature: 3.6568 by the series of Graetz, three digits printed in any book."""
    assert hausen_nusselt(1e-9, PRANDTL, 1e-3) == pytest.approx(3.6568, rel=1e-3)
    assert internal.laminar_T_const() == pytest.approx(3.66)


@pytest.mark.parametrize("ratio", [0.001, 0.002, 0.04])
def test_between_laminar_and_turbulent_nothing_jumps(ratio: float) -> None:
    before = tube_nusselt(2299.99, PRANDTL, ratio)
    after = tube_nusselt(2300.01, PRANDTL, ratio)
    assert after == pytest.approx(before, rel=1e-4)
    fast = tube_nusselt(TURBULENT_FROM, PRANDTL, ratio)
    assert fast == pytest.approx(
        gnielinski_nusselt(TURBULENT_FROM, PRANDTL, petukhov_friction(TURBULENT_FROM)), rel=1e-12
    )
    values = [tube_nusselt(re, PRANDTL, ratio) for re in range(100, 12_000, 100)]
    assert values == sorted(values)


def test_the_water_it_reckons_with_is_that_of_the_steam_tables() -> None:
    """At 80 degC and 9 bar, against the library iapws (IAPWS-97); three digits are kept, so half a percent."""
    iapws = pytest.importorskip("iapws")
    water = iapws.IAPWS97(T=353.15, P=1.0)
    assert pytest.approx(water.k, rel=5e-3) == CONDUCTIVITY_W_PER_M_K
    assert pytest.approx(water.mu, rel=5e-3) == VISCOSITY_PA_S
    assert pytest.approx(water.Prandt, rel=5e-3) == PRANDTL


def test_the_channel_is_nusselt_times_conductivity_times_length() -> None:
    """A channel of 4 mm and 2 m at 8 g/s, by the library's own chain of functions."""
    bore_m, length_m, flow_kg_per_s = 0.004, 2.0, 8.0e-3
    reynolds = 4.0 * flow_kg_per_s / (pi * bore_m * VISCOSITY_PA_S)
    nusselt = internal.turbulent_Gnielinski(Re=reynolds, Pr=PRANDTL, fd=petukhov_friction(reynolds))
    expected_W_per_K = nusselt * CONDUCTIVITY_W_PER_M_K / bore_m * pi * bore_m * length_m
    assert channel_conductance_W_per_K(flow_kg_per_s, bore_m, length_m) == pytest.approx(
        expected_W_per_K, rel=1e-9
    )
