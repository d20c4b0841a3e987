"""The standard atmosphere: pressure from altitude."""

from __future__ import annotations

from collaudo.errors import QuantityError

R_AIR = 287.05287
"""Specific gas constant of dry air, J/(kg K): ISO 2533:1975, Table 1."""

SEA_LEVEL_PA = 101325.0
_SEA_LEVEL_K = 288.15
_LAPSE_K_PER_M = 0.0065
_GRAVITY = 9.80665


def standard_pressure_Pa(altitude_m: float) -> float:
    """Pressure [Pa] of the standard atmosphere at a geopotential altitude, -1000 m to 11,000 m.

    ISO 2533:1975 (the same in the US Standard Atmosphere 1976), layer of constant lapse rate:
    ``101325 (1 - 0.0065 z / 288.15)^(g / (R 0.0065))``. Raises `QuantityError` outside.
    """
    if not -1000.0 <= altitude_m <= 11000.0:
        raise QuantityError(f"altitude {altitude_m} m is outside the standard atmosphere, -1000 m to 11000 m")
    exponent = _GRAVITY / (R_AIR * _LAPSE_K_PER_M)
    ratio: float = (1.0 - _LAPSE_K_PER_M * altitude_m / _SEA_LEVEL_K) ** exponent
    return SEA_LEVEL_PA * ratio
