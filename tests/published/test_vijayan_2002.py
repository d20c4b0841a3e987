"""Natural circulation in a loop of uniform bore.

Vijayan, Nucl. Eng. Des. 215 (2002) 139: constants of the generalised correlation. Worked points: exact
solution of the momentum balance with constant properties of water (CoolProp, 3 bar), eight digits.
"""

from __future__ import annotations

from math import pi

import pytest

from collaudo.errors import QuantityError
from collaudo.laws.circulation import (
    FrictionLaw,
    LoopFluid,
    LoopSegment,
    loop_reynolds_vijayan,
    steady_loop_flow_kg_per_s,
)

# law, C, r; the paper prints 0.1768 and 1.96
CONSTANTS: list[tuple[FrictionLaw, float, float]] = [
    ("laminar", 0.1767766953, 0.5),
    ("turbulent", 1.9561286906, 0.3636363636),
    ("transition", 0.3548221142, 0.4299965600),
]

HOT = (971.8795, 3.541041e-4, 4196.318, 6.411388e-4)
WARM = (992.3035, 6.527537e-4, 4178.926, 3.855354e-4)

# bore, length, height [m], heat [W], law, (rho, mu, cp, beta), Gr_m / N_G, Re, flow [kg/s], rise [K]
Row = tuple[float, float, float, float, FrictionLaw, tuple[float, ...], float, float, float, float]
LOOPS: list[Row] = [
    (0.008, 1.6, 0.4, 30.0, "laminar", HOT, 1.947995e7, 780.2233, 1.7359199e-3, 4.11835),
    (0.010, 1.6, 0.5, 20.0, "laminar", HOT, 2.536451e7, 890.3039, 2.4760481e-3, 1.92487),
    (0.020, 3.0, 1.0, 2000.0, "turbulent", HOT, 1.082219e10, 8714.4370, 4.8471909e-2, 9.83267),
    (0.0232, 7.23, 2.2, 3000.0, "turbulent", WARM, 2.003795e9, 4719.4294, 5.6132796e-2, 12.78910),
]


@pytest.mark.parametrize(("law", "factor", "exponent"), CONSTANTS)
def test_the_constants_of_the_correlation(law: FrictionLaw, factor: float, exponent: float) -> None:
    """Ten digits of ``C = (2/p)^r`` and ``r = 1/(3-b)``; C is the value at one."""
    assert loop_reynolds_vijayan(1.0, law) == pytest.approx(factor, rel=1e-9)
    assert loop_reynolds_vijayan(1e9, law) == pytest.approx(factor * 1e9**exponent, rel=1e-8)


@pytest.mark.parametrize("row", LOOPS, ids=["N1", "N2", "N3", "N4"])
def test_worked_loops(row: Row) -> None:
    """Seven printed digits."""
    bore_m, length_m, height_m, heat_W, law, (rho, mu, cp, beta), ratio, reynolds, flow, _ = row
    area_m2 = pi / 4.0 * bore_m**2
    rise_K = heat_W * height_m / (area_m2 * mu * cp)
    grashof = bore_m**3 * rho**2 * beta * 9.80665 * rise_K / mu**2
    assert grashof * bore_m / length_m == pytest.approx(ratio, rel=2e-6)
    found = loop_reynolds_vijayan(grashof * bore_m / length_m, law)
    assert found == pytest.approx(reynolds, rel=2e-6)
    assert found * area_m2 * mu / bore_m == pytest.approx(flow, rel=2e-6)


def boussinesq(properties: tuple[float, ...], mean_K: float) -> LoopFluid:
    rho, mu, cp, beta = properties
    return LoopFluid(
        density_kg_per_m3=lambda T_K: rho * (1.0 - beta * (T_K - mean_K)),
        viscosity_Pa_s=lambda _: mu,
        enthalpy_J_per_kg=lambda T_K: cp * T_K,
        temperature_K=lambda h: h / cp,
    )


def square_loop(bore_m: float, length_m: float, height_m: float) -> list[LoopSegment]:
    """Heater below, cooler above, both level, joined by two upright legs."""
    area_m2 = pi / 4.0 * bore_m**2
    level_m = 0.5 * length_m - height_m
    return [
        LoopSegment(bore_m, level_m, area_m2, 0.0, heat_share=1.0),
        LoopSegment(bore_m, height_m, area_m2, height_m),
        LoopSegment(bore_m, level_m, area_m2, 0.0, heat_share=-1.0),
        LoopSegment(bore_m, height_m, area_m2, -height_m),
    ]


@pytest.mark.parametrize("row", LOOPS, ids=["N1", "N2", "N3", "N4"])
def test_the_momentum_balance_finds_the_same_flow(row: Row) -> None:
    """Laminar loops to 0.1 % (density varies by that much along the loop). The turbulent ones use Churchill
    friction where the worked points use Blasius: up to 3 % apart in f, so 1.5 % in flow."""
    bore_m, length_m, height_m, heat_W, law, properties, _, _, flow, rise_K = row
    start_K = 353.15 - 0.5 * rise_K
    fluid = boussinesq(properties, 353.15)
    found = steady_loop_flow_kg_per_s(
        square_loop(bore_m, length_m, height_m), fluid, heat_W, start_K, (0.1 * flow, 10.0 * flow)
    )
    assert found == pytest.approx(flow, rel=1e-3 if law == "laminar" else 1.5e-2)
    assert heat_W / (found * properties[2]) == pytest.approx(rise_K, rel=1.6e-2)


def test_a_loop_that_does_not_close_is_refused() -> None:
    segments = square_loop(0.01, 1.6, 0.4)[:-1]
    with pytest.raises(QuantityError, match="does not close"):
        steady_loop_flow_kg_per_s(segments, boussinesq(HOT, 350.0), 30.0, 350.0, (1e-5, 1.0))


def test_a_loop_that_keeps_heat_is_refused() -> None:
    first, *rest = square_loop(0.01, 1.6, 0.4)
    segments = [LoopSegment(first.diameter_m, first.length_m, first.area_m2, 0.0, heat_share=0.5), *rest]
    with pytest.raises(QuantityError, match="keeps heat"):
        steady_loop_flow_kg_per_s(segments, boussinesq(HOT, 350.0), 30.0, 350.0, (1e-5, 1.0))


def test_a_loop_heated_from_above_does_not_circulate() -> None:
    below, up, above, down = square_loop(0.01, 1.6, 0.4)
    with pytest.raises(QuantityError, match="no steady circulation"):
        steady_loop_flow_kg_per_s([above, down, below, up], boussinesq(HOT, 350.0), -30.0, 350.0, (1e-5, 1.0))
