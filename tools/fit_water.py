"""Fit the polynomials of ``collaudo.fluid.water`` to IAPWS-95 and write ``water_coefficients.py``.

Run from the top of the repository, with the development dependency CoolProp installed:

    python tools/fit_water.py

Each curve is fitted by least squares on Chebyshev nodes in the scaled temperature
``x = (T - T_MIDDLE_K) / T_HALF_WIDTH_K`` (-1 to 1 over the fitted range) and written as plain powers,
highest first. The largest error on a fine grid is printed and written beside each table.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PropsSI
from numpy.polynomial import Chebyshev, Polynomial
from numpy.typing import NDArray

Curve = NDArray[np.float64]

TARGET = Path(__file__).parent.parent / "src" / "collaudo" / "fluid" / "water_coefficients.py"
T_LOW_K, T_HIGH_K = 273.15, 450.0
T_TRIPLE_K = 273.16
T_ZERO_K = 273.15
ATMOSPHERE_PA = 101325.0
GAS_CONSTANT = 461.526
MIDDLE_K = 0.5 * (T_LOW_K + T_HIGH_K)
HALF_WIDTH_K = 0.5 * (T_HIGH_K - T_LOW_K)

HEAD = '''"""Coefficients of the water curves: written by ``tools/fit_water.py``, not by hand.

Polynomials in ``x = (T_K - T_MIDDLE_K) / T_HALF_WIDTH_K``, highest power first, fitted to IAPWS-95
(IAPWS R6-95(2018), viscosity IAPWS R12-08, conductivity IAPWS R15-11) from {low} K to {high} K.
"""

T_LOW_K = {low}
T_HIGH_K = {high}
T_MIDDLE_K = {middle!r}
T_HALF_WIDTH_K = {half!r}
'''


def saturated(name: str, quality: float, t_K: float) -> float:
    """Property of saturated water; just below the triple point it is continued linearly."""
    if t_K >= T_TRIPLE_K:
        return float(PropsSI(name, "T", t_K, "Q", quality, "Water"))
    at, beyond = T_TRIPLE_K, T_TRIPLE_K + 0.1
    low = float(PropsSI(name, "T", at, "Q", quality, "Water"))
    return low + (t_K - at) * (float(PropsSI(name, "T", beyond, "Q", quality, "Water")) - low) / 0.1


def liquid(name: str, t_K: float) -> float:
    """Property of liquid water at one atmosphere, or at saturation where that is higher."""
    if saturated("P", 0.0, t_K) > ATMOSPHERE_PA:
        return saturated(name, 0.0, t_K)
    # 273.15 K lies 3 mK below the melting point at one atmosphere.
    return float(PropsSI(name, "T", max(t_K, T_TRIPLE_K), "P", ATMOSPHERE_PA, "Water"))


def vapour_correction(t_K: float) -> float:
    """Density of dry saturated steam over that of an ideal gas at the same pressure."""
    return saturated("D", 1.0, t_K) * GAS_CONSTANT * t_K / saturated("P", 1.0, t_K)


H_ZERO = saturated("H", 0.0, T_ZERO_K)


def mean_heat(t_K: float) -> float:
    """Enthalpy of saturated liquid above 273.15 K, over the temperature difference."""
    rise_K = max(t_K - T_ZERO_K, 0.5)
    return (saturated("H", 0.0, T_ZERO_K + rise_K) - H_ZERO) / rise_K


CURVES: tuple[tuple[str, int, Callable[[float], float], str], ...] = (
    ("LIQUID_DENSITY", 7, lambda t: liquid("D", t), "kg/m3, at one atmosphere or saturation"),
    ("MEAN_HEAT", 6, mean_heat, "J/(kg K), liquid enthalpy above 273.15 K over (T - 273.15 K)"),
    ("VAPOUR_CORRECTION", 5, vapour_correction, "density of dry saturated steam times R T / p"),
    ("VAPOUR_ENTHALPY", 5, lambda t: saturated("H", 1.0, t) - H_ZERO, "J/kg, on the liquid's zero"),
    ("LIQUID_FLUIDITY", 6, lambda t: 1.0 / liquid("V", t), "1/(Pa s), one over the viscosity"),
    ("LIQUID_CONDUCTIVITY", 5, lambda t: liquid("L", t), "W/(m K)"),
)


def fit(curve: Callable[[float], float], degree: int) -> tuple[list[float], float]:
    """Powers of x, highest first, and the largest relative error on a fine grid."""
    nodes = np.cos(np.pi * (np.arange(240) + 0.5) / 240)
    truth = np.array([curve(MIDDLE_K + HALF_WIDTH_K * x) for x in nodes])
    powers = Chebyshev.fit(nodes, truth, degree, domain=[-1, 1], w=1.0 / truth).convert(kind=Polynomial)
    rounded = [float(f"{value:.12g}") for value in powers.coef]
    grid = np.linspace(-1.0, 1.0, 1001)
    target: Curve = np.array([curve(MIDDLE_K + HALF_WIDTH_K * x) for x in grid])
    return rounded[::-1], float(np.max(np.abs(Polynomial(rounded)(grid) / target - 1.0)))


def main() -> None:
    """Fit every curve and write the coefficients."""
    text = HEAD.format(low=T_LOW_K, high=T_HIGH_K, middle=MIDDLE_K, half=HALF_WIDTH_K)
    for name, degree, curve, meaning in CURVES:
        powers, error = fit(curve, degree)
        print(f"{name}: degree {degree}, largest relative error {error:.1e}")
        rows = "".join(f"    {value!r},\n" for value in powers)
        text += f"\n# {meaning}; largest relative error of the fit {error:.1e}\n{name} = (\n{rows})\n"
    TARGET.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
