"""Air and the standard atmosphere.

ISO 2533:1975 and the US Standard Atmosphere 1976 print the same pressures in the lowest layer; pressures
there in pascal to six digits.
"""

from __future__ import annotations

import pytest

from collaudo.errors import QuantityError
from collaudo.fluid.air import (
    CP_AIR,
    air_conductivity,
    air_energy,
    air_enthalpy,
    air_viscosity,
)
from collaudo.fluid.atmosphere import standard_pressure_Pa

# Geopotential altitude [m], pressure [Pa]: base and top of the lowest layer (US Standard Atmosphere 1976,
# Table I), and the closed form at 1500 m.
PRESSURES = [(0.0, 101325.0, 1e-12), (1500.0, 84555.9935, 1e-7), (11000.0, 22632.06, 1e-6)]


@pytest.mark.parametrize(("altitude_m", "pressure_Pa", "tolerance"), PRESSURES)
def test_pressure_of_the_standard_atmosphere(altitude_m: float, pressure_Pa: float, tolerance: float) -> None:
    assert standard_pressure_Pa(altitude_m) == pytest.approx(pressure_Pa, rel=tolerance)


@pytest.mark.parametrize("altitude_m", [-200.0, 500.0, 1500.0, 2500.0, 4000.0])
def test_pressure_agrees_with_an_independent_atmosphere(altitude_m: float) -> None:
    """The library takes geometric altitude; at 4000 m that is 2.5 m, or 0.03 %, from geopotential."""
    atmosphere = pytest.importorskip("fluids").ATMOSPHERE_1976
    assert standard_pressure_Pa(altitude_m) == pytest.approx(atmosphere(altitude_m).P, rel=4e-4)


@pytest.mark.parametrize("altitude_m", [-2000.0, 12000.0, float("nan")])
def test_altitudes_outside_the_layer_are_refused(altitude_m: float) -> None:
    with pytest.raises(QuantityError, match="standard atmosphere"):
        standard_pressure_Pa(altitude_m)


@pytest.mark.parametrize("T_K", [260.0, 295.15, 330.0, 375.0, 415.0])
def test_transport_and_heat_of_air(T_K: float) -> None:
    """Against the reference equations of Lemmon for air; 1976 transport formulas are within 2 % of them."""
    props = pytest.importorskip("CoolProp.CoolProp").PropsSI
    assert air_viscosity(T_K) == pytest.approx(props("V", "T", T_K, "P", 101325.0, "Air"), rel=1e-2)
    assert air_conductivity(T_K) == pytest.approx(props("L", "T", T_K, "P", 101325.0, "Air"), rel=2e-2)
    assert pytest.approx(props("C", "T", T_K, "P", 101325.0, "Air"), rel=1e-2) == CP_AIR
    assert air_enthalpy(T_K)[0] - air_energy(T_K)[0] == pytest.approx(
        101325.0 / props("D", "T", T_K, "P", 101325.0, "Air"), rel=1e-3
    )
