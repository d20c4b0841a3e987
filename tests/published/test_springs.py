"""Coil springs and the pressure under the piston they press: Shigley's worked spring, Hooke's law."""

from __future__ import annotations

from math import pi

import pytest

from collaudo.laws.spring_piston import helical_spring_rate_N_per_m, piston_pressure_Pa, spring_force_N
from collaudo.parts.spring_piston_group import SpringPistonGroup

INCH_M, POUND_FORCE_N = 0.0254, 4.4482216152605


def test_shigleys_worked_spring_has_its_printed_rate() -> None:
    """Shigley, Mechanical Engineering Design, 8th ed., example 10-1: music wire of 0.037 in on a mean diameter
    printed as 0.400 in, 10.5 active turns, G = 11.85 Mpsi; rate printed as 4.13 lbf/in, three digits, so
    0.15 %. From memory."""
    wire_m, coil_m = 0.037 * INCH_M, 0.400 * INCH_M
    shear_Pa = 11.85e6 * POUND_FORCE_N / INCH_M**2
    rate = helical_spring_rate_N_per_m(wire_m, coil_m, 10.5, shear_Pa)
    assert rate * INCH_M / POUND_FORCE_N == pytest.approx(4.13, rel=1.5e-3)


@pytest.mark.parametrize(("change", "factor"), [("wire", 16.0), ("coil", 1.0 / 8.0), ("turns", 0.5)])
def test_the_rate_goes_with_the_fourth_power_of_the_wire(change: str, factor: float) -> None:
    """Twice the wire, the coil or the turns: d^4 / (D^3 N)."""
    sizes = {"wire": 0.004, "coil": 0.04, "turns": 8.0}
    doubled = sizes | {change: 2.0 * sizes[change]}
    before, after = (
        helical_spring_rate_N_per_m(s["wire"], s["coil"], s["turns"], 79.3e9) for s in (sizes, doubled)
    )
    assert after / before == pytest.approx(factor, rel=1e-12)


def test_the_spring_of_a_group_can_be_wound() -> None:
    """32 N/mm: 6 mm wire of 79.3 GPa on a mean diameter of 40 mm, 6.3 turns."""
    group = SpringPistonGroup("group")
    rate = helical_spring_rate_N_per_m(0.006, 0.040, 6.3, 79.3e9)
    assert rate == pytest.approx(group.spring_N_per_mm * 1e3, rel=0.01)


def test_hookes_law_and_no_push_from_a_slack_spring() -> None:
    assert spring_force_N(3.2e4, 0.05) == pytest.approx(1600.0)
    assert spring_force_N(3.2e4, -0.01) == 0.0


def test_pressure_is_force_less_friction_over_area() -> None:
    """1767 N on 50 mm is 9.0 bar (pi/4 D^2 = 1963.5 mm2)."""
    assert piston_pressure_Pa(1767.1, 0.0, 0.050) == pytest.approx(9.0e5, rel=1e-4)
    assert piston_pressure_Pa(1767.1, 100.0, 0.050) == pytest.approx(1667.1 / 1.9634954e-3, rel=1e-6)
    assert piston_pressure_Pa(50.0, 100.0, 0.050) == 0.0


def test_a_sound_group_presses_as_the_trade_says() -> None:
    """8 to 10 bar at the top falling to 4 to 6, 40 to 65 ml; common practice, no source."""
    group = SpringPistonGroup("group")
    assert 8.0e5 <= group.pressure_Pa(1.0) <= 10.0e5
    assert 4.0e5 <= group.pressure_Pa(0.0) <= 6.0e5
    assert 40.0 <= group.stroke_ml <= 65.0


def test_the_work_of_a_stroke_is_that_of_the_spring_without_friction() -> None:
    """Mean pressure times volume equals k (x2^2 - x1^2) / 2, Hooke's energy."""
    group = SpringPistonGroup("group", friction_N=0.0)
    work_J = 0.5 * (group.pressure_Pa(0.0) + group.pressure_Pa(1.0)) * group.stroke_ml * 1e-6
    low_m, high_m = group.squeezed_mm * 1e-3, (group.squeezed_mm + group.stroke_mm) * 1e-3
    assert work_J == pytest.approx(0.5 * group.spring_N_per_mm * 1e3 * (high_m**2 - low_m**2), rel=1e-12)


def test_a_sagged_spring_loses_the_same_pressure_all_along() -> None:
    """10 mm less squeeze at 32 N/mm is 320 N on 1963.5 mm2: 1.63 bar."""
    sound, tired = SpringPistonGroup("group"), SpringPistonGroup("group", sagged_mm=10.0)
    lost_Pa = 320.0 / (0.25 * pi * 0.05**2)
    for raised in (0.0, 0.4, 1.0):
        assert sound.pressure_Pa(raised) - tired.pressure_Pa(raised) == pytest.approx(lost_Pa, rel=1e-9)
