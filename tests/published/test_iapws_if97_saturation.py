"""IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997: saturation line.

Tables in the release's own units, kelvin and megapascal. The tool uses the release's own equations 30 and 31,
so the tolerance is half a unit in the ninth printed digit.
"""

from __future__ import annotations

import pytest

from collaudo.fluid.boiling_point import boiling_point_K
from collaudo.fluid.water import (
    WATER_GAS_CONSTANT,
    liquid_density,
    liquid_energy,
    saturation_pressure,
    saturation_temperature,
    vapour_density,
    vapour_enthalpy,
)

# Table 35: T [K], p_sat [MPa]
TABLE_35 = [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)]

# Table 36: p [MPa], T_sat [K]
TABLE_36 = [(0.1, 0.372755919e3), (1.0, 0.453035632e3), (10.0, 0.584149488e3)]


@pytest.mark.parametrize(("temperature_K", "pressure_MPa"), TABLE_35)
def test_saturation_pressure_is_that_of_table_35(temperature_K: float, pressure_MPa: float) -> None:
    assert saturation_pressure(temperature_K)[0] == pytest.approx(pressure_MPa * 1e6, rel=5e-9)


@pytest.mark.parametrize(("pressure_MPa", "temperature_K"), TABLE_36)
def test_saturation_temperature_is_that_of_table_36(pressure_MPa: float, temperature_K: float) -> None:
    assert saturation_temperature(pressure_MPa * 1e6) == pytest.approx(temperature_K, rel=2e-9)
    assert boiling_point_K(pressure_MPa * 1e6) == pytest.approx(temperature_K, rel=2e-9)


def test_the_gas_constant_is_that_of_equation_1() -> None:
    assert WATER_GAS_CONSTANT == 461.526


@pytest.mark.parametrize("temperature_C", [10.0, 60.0, 93.0, 120.0, 150.0, 175.0])
def test_slope_obeys_clapeyron(temperature_C: float) -> None:
    """``dp/dT = h_fg / (T (v_g - v_f))`` ties five curves together; their tolerances add up to 0.1 %."""
    T_K = temperature_C + 273.15
    _, slope = saturation_pressure(T_K)
    heat_of_evaporation = vapour_enthalpy(T_K)[0] - liquid_energy(T_K)[0]
    volume_step = 1.0 / vapour_density(T_K)[0] - 1.0 / liquid_density(T_K)[0]
    assert slope == pytest.approx(heat_of_evaporation / (T_K * volume_step), rel=1e-3)
