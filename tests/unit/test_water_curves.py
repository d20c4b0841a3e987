"""The water curves as the kernel needs them: exact slopes, no kinks, finite far outside the fitted range."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from itertools import pairwise
from math import isfinite
from pathlib import Path

import pytest

from collaudo.fluid import water, water_coefficients

Curve = Callable[[float], tuple[float, float]]

CURVES: list[Curve] = [
    water.saturation_pressure,
    water.liquid_density,
    water.liquid_energy,
    water.vapour_density,
    water.vapour_enthalpy,
    water.vapour_energy,
]
RISING = [curve for curve in CURVES if curve is not water.liquid_density]
JOINTS_K = [250.0, 273.15, 450.0, 640.0]


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.__name__)
@pytest.mark.parametrize("T_K", [240.0, 262.0, 274.0, 300.0, 366.0, 430.0, 449.0, 500.0, 639.0, 645.0, 700.0])
def test_slope_is_the_derivative_of_the_value(curve: Curve, T_K: float) -> None:
    """Central difference over 2 h; its own error is third-derivative h^2 / 6 plus round-off 1e-16 / h."""
    h = 0.01
    difference = (curve(T_K + h)[0] - curve(T_K - h)[0]) / (2.0 * h)
    value, slope = curve(T_K)
    assert slope == pytest.approx(difference, rel=2e-6, abs=1e-10 * abs(value))


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.__name__)
@pytest.mark.parametrize("joint_K", JOINTS_K)
def test_curves_join_without_step_or_kink(curve: Curve, joint_K: float) -> None:
    before, after = curve(joint_K - 1e-6), curve(joint_K + 1e-6)
    assert after[0] - before[0] == pytest.approx(2e-6 * before[1], rel=1e-3, abs=1e-12 * abs(before[0]))
    assert after[1] == pytest.approx(before[1], rel=1e-6)


@pytest.mark.parametrize("curve", RISING, ids=lambda curve: curve.__name__)
def test_curves_rise_and_stay_finite_from_230_to_750_K(curve: Curve) -> None:
    values = [curve(230.0 + 0.5 * i)[0] for i in range(1041)]
    assert all(isfinite(value) for value in values)
    assert all(low < high for low, high in pairwise(values))


def test_densities_stay_positive_and_liquid_stays_the_denser() -> None:
    for i in range(226):
        T_K = 250.0 + 2.0 * i
        assert 0.0 < water.vapour_density(T_K)[0] < water.liquid_density(T_K)[0]


@pytest.mark.parametrize("T_K", [200.0, 250.0, 260.0, 300.0, 395.0, 600.0, 640.0, 660.0])
def test_saturation_temperature_undoes_saturation_pressure(T_K: float) -> None:
    assert water.saturation_temperature(water.saturation_pressure(T_K)[0]) == pytest.approx(T_K, rel=1e-11)


@pytest.mark.parametrize("T_K", [260.0, 300.0, 395.0, 449.0, 520.0, 680.0])
def test_steam_enthalpy_is_energy_plus_flow_work(T_K: float) -> None:
    work = water.saturation_pressure(T_K)[0] / water.vapour_density(T_K)[0]
    assert water.vapour_energy(T_K)[0] + work == pytest.approx(water.vapour_enthalpy(T_K)[0], rel=1e-13)


def test_energy_counts_from_273_15_K() -> None:
    assert water.liquid_energy(273.15)[0] == 0.0


def test_transport_is_held_outside_the_range() -> None:
    for held in (water.liquid_viscosity, water.liquid_conductivity):
        assert held(200.0) == held(273.15)
        assert held(700.0) == held(450.0)


def test_the_committed_coefficients_are_those_the_script_fits() -> None:
    """Curves, not digits, are compared: another release of the library may move the last digits."""
    pytest.importorskip("CoolProp")
    path = Path(__file__).parents[2] / "tools" / "fit_water.py"
    spec = importlib.util.spec_from_file_location("fit_water", path)
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    for name, degree, curve, _ in script.CURVES:
        fitted, error = script.fit(curve, degree)
        committed = getattr(water_coefficients, name)
        assert error < 5e-4
        assert len(committed) == len(fitted)
        for x in (-1.0, -0.6, -0.1, 0.3, 0.8, 1.0):
            assert horner(committed, x) == pytest.approx(horner(fitted, x), rel=1e-6)


def horner(powers: tuple[float, ...], x: float) -> float:
    value = 0.0
    for power in powers:
        value = value * x + power
    return value
