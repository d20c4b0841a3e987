"""Dry saturated steam through an ideal throat: Napier, ASME, ISO 4126 and homogeneous equilibrium.

The table of maximum mass flux was computed as isentropic homogeneous-equilibrium flow (HEM) of IAPWS-95
steam, maximised over the throat pressure.
The tool's law, a gas of exponent 1.135 between stagnation pressure and
density, promises 0.5 % of that.
"""

from __future__ import annotations

from math import pi

import pytest

from collaudo.fluid.water import saturation_temperature, vapour_density
from collaudo.laws.vapour_throat import CRITICAL_RATIO, expansion_psi, steam_mass_flux, vapour_throat_flow

ATMOSPHERE_PA = 101325.0
# Napier's rule, W [lb/s] = P [psia] A [in2] / 70, in kg/(s m2 Pa).
NAPIER = 0.45359237 / 70.0 / 6.894757293168e3 / 0.0254**2

# p0 [bar abs], G of HEM, Napier with 51.5, ISO 4126-1 with k 1.135 [kg/(s m2)], v_g [m3/kg]
CHOKED = [
    (1.61325, 245.435, 235.335, 245.269, 1.082972),
    (2.01325, 304.250, 293.685, 303.916, 0.880224),
    (2.21325, 333.522, 322.860, 333.100, 0.805530),
    (2.51325, 377.287, 366.623, 376.732, 0.715108),
    (2.99325, 447.005, 436.644, 446.235, 0.607041),
    (5.0, 735.575, 729.380, 733.977, 0.374806),
    (10.0, 1443.969, 1458.761, 1441.435, 0.194362),
]


@pytest.mark.parametrize("row", CHOKED, ids=lambda row: f"{row[0]} bar")
def test_choked_steam(row: tuple[float, ...]) -> None:
    """ISO 4126 is the same formula, its constant rounded by 0.02 %; Napier is off by up to 4.5 %."""
    p_bar, hem, napier, iso, volume = row
    flux = steam_mass_flux(p_bar * 1e5, 0.3 * p_bar * 1e5, 1.0 / volume)
    assert flux == pytest.approx(iso, rel=3e-4)
    assert flux == pytest.approx(hem, rel=5e-3)
    assert flux == pytest.approx(napier, rel=4.5e-2)


@pytest.mark.parametrize("row", CHOKED, ids=lambda row: f"{row[0]} bar")
def test_choked_steam_with_the_tools_own_density(row: tuple[float, ...]) -> None:
    p_Pa = row[0] * 1e5
    density, _ = vapour_density(saturation_temperature(p_Pa))
    assert steam_mass_flux(p_Pa, 0.0, density) == pytest.approx(row[1], rel=5e-3)


def test_napiers_rule_and_the_code_formulas_agree_with_the_law_near_3_bar() -> None:
    """ASME VIII-2 App. 10-100, 51.5 lb/(h in2 psia); API 520, 190.5 kPa mm2 h/kg; fits to all pressures."""
    asme = 51.5 / 3600.0 * 0.45359237 / 6.894757293168e3 / 0.0254**2
    api = 190.5e-6 * 1e3 * 3600.0
    assert pytest.approx(0.00145673745, rel=1e-8) == NAPIER
    assert asme == pytest.approx(0.00145876069, rel=1e-8)
    assert 1.0 / api == pytest.approx(0.00145815106, rel=1e-8)
    flux_per_Pa = steam_mass_flux(2.99325e5, ATMOSPHERE_PA, 1.0 / 0.607041) / 2.99325e5
    assert flux_per_Pa == pytest.approx(NAPIER, rel=3e-2)


def test_the_critical_ratio_is_that_of_exponent_1_135() -> None:
    assert pytest.approx(0.5774304, rel=1e-7) == CRITICAL_RATIO


# gauge pressure [bar], HEM flux to one atmosphere [kg/(s m2)], flow [kg/h] of holes of 1, 1.5, 2 and 3 mm
TO_ATMOSPHERE = [
    (0.6, 243.850, 0.6895, 1.5513, 2.7579, 6.2052),
    (0.8, 274.891, 0.7772, 1.7488, 3.1089, 6.9951),
    (1.0, 304.250, 0.8602, 1.9356, 3.4410, 7.7422),
    (1.2, 333.522, 0.9430, 2.1218, 3.7720, 8.4871),
    (1.5, 377.287, 1.0668, 2.4002, 4.2670, 9.6008),
]


@pytest.mark.parametrize("row", TO_ATMOSPHERE, ids=lambda row: f"{row[0]} bar")
def test_wand_tips_to_the_room(row: tuple[float, ...]) -> None:
    """0.6 bar is not choked; the printed flow then lies 0.65 % below the choked one."""
    gauge_bar, hem, *flows = row
    p_Pa = gauge_bar * 1e5 + ATMOSPHERE_PA
    density, _ = vapour_density(saturation_temperature(p_Pa))
    assert steam_mass_flux(p_Pa, ATMOSPHERE_PA, density) == pytest.approx(hem, rel=5e-3)
    for bore_mm, flow_kg_per_h in zip((1.0, 1.5, 2.0, 3.0), flows, strict=True):
        flow, _, _ = vapour_throat_flow(p_Pa, ATMOSPHERE_PA, density, pi / 4e6 * bore_mm**2)
        assert flow * 3600.0 == pytest.approx(flow_kg_per_h, rel=5e-3)


def test_0_6_bar_is_not_choked_and_0_8_bar_is() -> None:
    assert ATMOSPHERE_PA / 1.61325e5 > CRITICAL_RATIO > ATMOSPHERE_PA / 1.81325e5
    assert expansion_psi(ATMOSPHERE_PA / 1.61325e5)[1] < 0.0
    assert expansion_psi(ATMOSPHERE_PA / 1.81325e5)[1] == 0.0


@pytest.mark.parametrize("ratio", [0.6, 0.7, 0.8, 0.9, 0.97])
def test_below_choking_the_flow_follows_the_isentropic_curve(ratio: float) -> None:
    """``psi^2 = 2k/(k-1) (r^(2/k) - r^((k+1)/k))`` (de Saint-Venant & Wantzel 1839).

    Towards equal pressures an ellipse through the critical point falls short by
    ``1 - psi_c / sqrt(1 - r_c)``, 2.2 %; the rounding at zero flow adds 0.7 % at a ratio of 0.97.
    """
    k = 1.135
    exact = (2.0 * k / (k - 1.0) * (ratio ** (2.0 / k) - ratio ** ((k + 1.0) / k))) ** 0.5
    assert expansion_psi(ratio)[0] == pytest.approx(exact, rel=2.9e-2)


def test_a_quarter_inch_hole_at_50_psi() -> None:
    """Public engineering chart: about 98 lb/h through 1/4 in at 50 psig, discharge coefficient 0.60.

    The chart is Napier's rule, and Napier lies up to 3 % under the equilibrium flow at this pressure.
    """
    p_Pa = (50.0 + 14.696) * 6894.757
    density, _ = vapour_density(saturation_temperature(p_Pa))
    area_m2 = 0.60 * pi / 4.0 * (0.25 * 0.0254) ** 2
    flow, _, _ = vapour_throat_flow(p_Pa, ATMOSPHERE_PA, density, area_m2)
    assert flow * 3600.0 / 0.45359237 == pytest.approx(98.0, rel=3e-2)
