"""Dry air as an ideal gas of constant heat capacity.

Energies count from 273.15 K, as those of water do. Good to 0.5 % from 250 K to 420 K, which is where a
machine holds air (the heat capacity of air varies by 1 % there).
"""

from __future__ import annotations

from math import sqrt

from collaudo.fluid import atmosphere

R_AIR = atmosphere.R_AIR
SEA_LEVEL_PA = atmosphere.SEA_LEVEL_PA

CP_AIR = 1006.0
"""Heat capacity of air at constant pressure, J/(kg K), about 300 K."""

CV_AIR = CP_AIR - R_AIR

ZERO_CELSIUS_K = 273.15


def air_energy(T_K: float) -> tuple[float, float]:
    """Internal energy [J/kg] of air above 273.15 K and its slope [J/(kg K)]."""
    return CV_AIR * (T_K - ZERO_CELSIUS_K), CV_AIR


def air_enthalpy(T_K: float) -> tuple[float, float]:
    """Enthalpy [J/kg] of air, ``air_energy + R T``, and its slope [J/(kg K)]."""
    return CV_AIR * (T_K - ZERO_CELSIUS_K) + R_AIR * T_K, CP_AIR


def air_viscosity(T_K: float) -> float:
    """Dynamic viscosity [Pa s] of air, 200 K to 500 K: US Standard Atmosphere 1976, eq. 51."""
    return 1.458e-6 * T_K * sqrt(T_K) / (T_K + 110.4)


def air_conductivity(T_K: float) -> float:
    """Thermal conductivity [W/(m K)] of air, 200 K to 500 K: US Standard Atmosphere 1976, eq. 53."""
    power: float = 10.0 ** (-12.0 / T_K)
    return 2.64638e-3 * T_K * sqrt(T_K) / (T_K + 245.4 * power)
