"""Water and steam against IAPWS-95 and IAPWS-IF97.

The saturation table was printed with two general-purpose libraries, IAPWS-95 (CoolProp 8.0.0, saturated
states at given p) and IAPWS-IF97 (iapws 1.5.5); their difference is the honest uncertainty, and the tool
must lie within it plus its own stated error: temperature 0.01 K, heat of evaporation and steam density
0.05 %, liquid density 0.1 % (the tables) or the figure of the function's docstring (the fresh comparison).
"""

from __future__ import annotations

import pytest

from collaudo.fluid.atmosphere import standard_pressure_Pa
from collaudo.fluid.water import (
    liquid_conductivity,
    liquid_density,
    liquid_energy,
    liquid_viscosity,
    saturation_pressure,
    saturation_temperature,
    vapour_density,
    vapour_energy,
    vapour_enthalpy,
)

# p [bar abs]; each 95 / IF97: T [degC], h_f and h_fg [kJ/kg]; rho_f and rho_g [kg/m3] of 95, v_g of IF97
SATURATION = [
    (1.00000, 99.6059, 99.6059, 417.504, 417.436, 2257.444, 2257.513, 958.6315, 0.590344, 1.694023),
    (1.01325, 99.9743, 99.9743, 419.058, 418.991, 2256.472, 2256.541, 958.3675, 0.597657, 1.673295),
    (1.20000, 104.7835, 104.7838, 439.359, 439.299, 2243.694, 2243.759, 954.8644, 0.700104, 1.428445),
    (1.50000, 111.3494, 111.3500, 467.127, 467.081, 2225.979, 2226.033, 949.9154, 0.862601, 1.159357),
    (1.60000, 113.2974, 113.2982, 475.377, 475.336, 2220.659, 2220.708, 948.4105, 0.916287, 1.091429),
    (1.80000, 116.9113, 116.9124, 490.699, 490.668, 2210.707, 2210.748, 945.5750, 1.023046, 0.977534),
    (2.00000, 120.2101, 120.2115, 504.704, 504.684, 2201.527, 2201.557, 942.9372, 1.129074, 0.885735),
    (2.01325, 120.4190, 120.4204, 505.592, 505.572, 2200.942, 2200.972, 942.7686, 1.136075, 0.880277),
    (2.20000, 123.2496, 123.2514, 517.625, 517.615, 2192.982, 2193.003, 940.4653, 1.234458, 0.810119),
    (2.51325, 127.5856, 127.5879, 536.088, 536.093, 2180.645, 2180.650, 936.8705, 1.398389, 0.715146),
    (3.01325, 133.6728, 133.6757, 562.069, 562.099, 2163.016, 2162.996, 931.6884, 1.657657, 0.603287),
]


@pytest.mark.parametrize("row", SATURATION, ids=lambda row: f"{row[0]} bar")
def test_saturated_water_and_steam(row: tuple[float, ...]) -> None:
    p_bar, t95_C, t97_C, hf95, hf97, hfg95, hfg97, rho_f, rho_g, v_g = row
    T_K = saturation_temperature(p_bar * 1e5)
    liquid, steam = liquid_energy(T_K)[0], vapour_enthalpy(T_K)[0]
    assert pytest.approx(t95_C, abs=0.01) == T_K - 273.15
    assert pytest.approx(t97_C, abs=1e-4) == T_K - 273.15
    # Printed enthalpies count from the triple point, 0.04 kJ/kg above liquid at 273.15 K.
    assert liquid / 1e3 - 0.04 == pytest.approx(hf95, rel=3e-4)
    assert liquid / 1e3 - 0.04 == pytest.approx(hf97, rel=3e-4)
    assert (steam - liquid) / 1e3 == pytest.approx(hfg95, rel=5e-4)
    assert (steam - liquid) / 1e3 == pytest.approx(hfg97, rel=5e-4)
    assert liquid_density(T_K)[0] == pytest.approx(rho_f, rel=2e-4)
    assert vapour_density(T_K)[0] == pytest.approx(rho_g, rel=5e-4)
    assert 1.0 / vapour_density(T_K)[0] == pytest.approx(v_g, rel=5e-4)


# Gauge pressure [bar]; boiling point [degC] IAPWS-95 / IF97 at sea level, and at 1500 m
BOILER_GAUGE = [
    (0.6, 113.54793, 113.54878, 110.24438, 110.24496),
    (0.7, 115.38635, 115.38736, 112.25043, 112.25117),
    (0.8, 117.13886, 117.14002, 114.15258, 114.15348),
    (0.9, 118.81396, 118.81528, 115.96219, 115.96325),
    (1.0, 120.41896, 120.42043, 117.68879, 117.69000),
    (1.1, 121.96012, 121.96175, 119.34048, 119.34185),
    (1.2, 123.44288, 123.44467, 120.92418, 120.92571),
    (1.3, 124.87202, 124.87396, 122.44589, 122.44757),
    (1.4, 126.25171, 126.25380, 123.91082, 123.91266),
    (1.5, 127.58565, 127.58789, 125.32353, 125.32552),
]


@pytest.mark.parametrize("row", BOILER_GAUGE, ids=lambda row: f"{row[0]} bar")
def test_boiler_temperature_follows_gauge_pressure_and_altitude(row: tuple[float, ...]) -> None:
    """Tolerance 0.003 K: the two formulations differ by 0.0022 K, the two atmospheres by 0.001 K."""
    gauge_bar, low95, low97, high95, high97 = row
    low_C = saturation_temperature(gauge_bar * 1e5 + standard_pressure_Pa(0.0)) - 273.15
    high_C = saturation_temperature(gauge_bar * 1e5 + standard_pressure_Pa(1500.0)) - 273.15
    assert (low_C, high_C) == pytest.approx((low95, high95), abs=3e-3)
    assert (low_C, high_C) == pytest.approx((low97, high97), abs=1.1e-3)


# t [degC], p_sat [kPa] IAPWS-95 / IF97, printed to seven or more digits
SATURATION_PRESSURE = [
    (20.0, 2.339318, 2.339215),
    (60.0, 19.946434, 19.945802),
    (88.0, 65.016869, 65.017441),
    (90.0, 70.181766, 70.182361),
    (93.0, 78.567502, 78.568059),
    (95.0, 84.608466, 84.608938),
    (100.0, 101.417997, 101.417978),
    (120.0, 198.674420, 198.665400),
    (125.0, 232.238152, 232.224183),
]


@pytest.mark.parametrize(("temperature_C", "p95_kPa", "p97_kPa"), SATURATION_PRESSURE)
def test_vapour_pressure(temperature_C: float, p95_kPa: float, p97_kPa: float) -> None:
    p_kPa = saturation_pressure(temperature_C + 273.15)[0] / 1e3
    assert p_kPa == pytest.approx(p97_kPa, rel=3e-7)
    assert p_kPa == pytest.approx(p95_kPa, rel=1e-4)


# At one atmosphere: t [degC], rho [kg/m3], mu [uPa s], k [W/(m K)], cp [J/(kg K)], expansion 95 / IF97 [1/K]
LIQUID = [
    (10.0, 999.7025, 1305.900, 0.57878, 4195.16, 8.793374e-5, 8.813493e-5),
    (15.0, 999.1026, 1137.568, 0.58880, 4188.46, 1.508431e-4, 1.508609e-4),
    (20.0, 998.2072, 1001.596, 0.59801, 4184.05, 2.068062e-4, 2.066101e-4),
    (25.0, 997.0476, 890.022, 0.60652, 4181.31, 2.572889e-4, 2.569112e-4),
    (40.0, 992.2164, 652.729, 0.62849, 4179.41, 3.854793e-4, 3.849474e-4),
    (60.0, 983.1958, 466.035, 0.65100, 4184.95, 5.232525e-4, 5.231333e-4),
    (80.0, 971.7904, 354.051, 0.66699, 4196.75, 6.413642e-4, 6.416588e-4),
    (90.0, 965.3096, 314.175, 0.67279, 4205.21, 6.966121e-4, 6.969967e-4),
    (93.0, 963.2708, 303.719, 0.67426, 4208.12, 7.129067e-4, 7.133015e-4),
    (95.0, 961.8879, 297.085, 0.67517, 4210.17, 7.237192e-4, 7.241167e-4),
    # 120 degC is printed at 10 bar abs, 8 bar above saturation: 0.042 % denser (5.3e-10 per Pa).
    (120.0, 943.5076 * (1.0 - 5.29633e-10 * 8.013e5), 232.246, 0.68273, 4241.46, 8.558500e-4, 8.560490e-4),
]


@pytest.mark.parametrize("row", LIQUID, ids=lambda row: f"{row[0]} degC")
def test_liquid_water(row: tuple[float, ...]) -> None:
    temperature_C, rho, mu_uPa_s, k, cp, expansion95, expansion97 = row
    T_K = temperature_C + 273.15
    density, slope = liquid_density(T_K)
    assert density == pytest.approx(rho, rel=1e-4)
    assert liquid_viscosity(T_K) * 1e6 == pytest.approx(mu_uPa_s, rel=5e-3)
    assert liquid_conductivity(T_K) == pytest.approx(k, rel=5e-3)
    assert liquid_energy(T_K)[1] == pytest.approx(cp, rel=2e-3)
    assert -slope / density == pytest.approx(expansion95, rel=1e-2)
    assert -slope / density == pytest.approx(expansion97, rel=1e-2)


def test_liquid_water_at_25_degC_is_that_of_the_standard() -> None:
    """IAPWS SR6-08(2011), Table 8, at 0.1 MPa and 298.15 K; tolerances are the curves' own."""
    density, viscosity, conductivity = 997.047013, 889.996774e-6, 0.606502308
    assert liquid_density(298.15)[0] == pytest.approx(density, rel=2e-5)
    assert liquid_viscosity(298.15) == pytest.approx(viscosity, rel=1e-3)
    assert liquid_conductivity(298.15) == pytest.approx(conductivity, rel=1e-3)


TEMPERATURES_K = [273.16, 278.0, 283.15, 300.0, 325.0, 350.0, 366.15, 373.2, 395.0, 420.0, 435.0, 450.0]


@pytest.mark.parametrize("T_K", TEMPERATURES_K)
def test_curves_hold_their_stated_error_against_iapws_95(T_K: float) -> None:
    """Computed afresh by an independent library; the tolerances are those the docstrings promise."""
    props = pytest.importorskip("CoolProp.CoolProp").PropsSI
    p_Pa = max(101325.0, props("P", "T", T_K, "Q", 0, "Water"))
    state = ("Q", 0) if p_Pa > 101325.0 else ("P", p_Pa)

    def saturated(name: str, quality: int) -> float:
        return float(props(name, "T", T_K, "Q", quality, "Water"))

    zero = float(props("H", "T", 273.16, "Q", 0, "Water")) - 0.01 * 4220.0
    assert liquid_density(T_K)[0] == pytest.approx(props("D", "T", T_K, *state, "Water"), rel=2e-4)
    assert liquid_viscosity(T_K) == pytest.approx(props("V", "T", T_K, *state, "Water"), rel=5e-3)
    assert liquid_conductivity(T_K) == pytest.approx(props("L", "T", T_K, *state, "Water"), rel=5e-3)
    assert vapour_density(T_K)[0] == pytest.approx(saturated("D", 1), rel=5e-4)
    assert vapour_enthalpy(T_K)[0] == pytest.approx(saturated("H", 1) - zero, rel=5e-5)
    assert vapour_energy(T_K)[0] == pytest.approx(saturated("U", 1) - zero, rel=5e-5)
    if T_K >= 283.0:
        assert liquid_energy(T_K)[0] == pytest.approx(saturated("H", 0) - zero, rel=3e-4)


@pytest.mark.parametrize("p_bar", [0.05, 0.5, 1.0, 2.1, 5.0, 9.0])
def test_saturation_agrees_with_an_independent_if97(p_bar: float) -> None:
    """IF97's steam region and IAPWS-95, to which the curves are fitted, differ by up to 0.03 %."""
    iapws = pytest.importorskip("iapws")
    steam, liquid = iapws.IAPWS97(P=p_bar / 10.0, x=1), iapws.IAPWS97(P=p_bar / 10.0, x=0)
    T_K = saturation_temperature(p_bar * 1e5)
    assert pytest.approx(steam.T, abs=1e-5) == T_K
    assert vapour_density(T_K)[0] == pytest.approx(steam.rho, rel=5e-4)
    assert vapour_enthalpy(T_K)[0] - liquid_energy(T_K)[0] == pytest.approx(
        (steam.h - liquid.h) * 1e3, rel=5e-4
    )
