"""A piston under hand and spring: what it holds, how it presses, and that nothing is lost beneath it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from iapws import IAPWS97
from scipy.optimize import brentq

from collaudo.parts.circuit import Circuit, Command, Link, Piston
from collaudo.twin.audit import balances
from collaudo.twin.kernel.piston import HAND_S
from collaudo.twin.results import Results
from collaudo.twin.run import Run
from tests.physics.small import COLD_K, bench, chamber, reservoir, throat, values, worst_slope

VOLUME_M3, STROKE_M3 = 1.0e-5, 5.0e-5
PRELOAD_PA, COMPLIANCE = 5.0e5, 5.0e-5 / 4.0e5
OWN = 1.0e-12
"""What the chamber itself gives [m3/Pa]."""
ROOM_PA = 101325.0


def lever(
    *,
    water_m3: float | None = None,
    boiler_K: float = COLD_K,
    preload_Pa: float = PRELOAD_PA,
    puck_mm: float = 0.35,
    rtol: float = 1e-3,
    piston: bool = True,
) -> Run:
    """A boiler at 1 bar, a chamber under a piston that fills from it while held up, a puck."""

    def say(circuit: Circuit) -> None:
        reservoir(circuit, "boiler", 1.0e5, 1.0, boiler_K)
        circuit.inputs["lever"] = 0.0
        closed_by = Piston("lever", STROKE_M3, preload_Pa, COMPLIANCE) if piston else None
        chamber(circuit, "box", VOLUME_M3, OWN, gas_floor=1e-3, water_m3=water_m3, piston=closed_by)
        opens = Command("input", "lever", start=0.5, full=1.0)
        throat(circuit, "inlet", "boiler.out", "box.in", 2.0, command=opens)
        if puck_mm > 0.0:
            throat(circuit, "puck", "box.out", "room.in", puck_mm)
        circuit.walls["group"] = (1500.0, COLD_K)
        circuit.links.append(Link("fixed", "group", "box.water", 30.0))
        circuit.links.append(Link("fixed", "group", "room", 1.0))

    return bench(say, rtol=rtol)


def closed(water_m3: float) -> Run:
    """The chamber alone, shut on all sides."""

    def say(circuit: Circuit) -> None:
        circuit.inputs["lever"] = 0.0
        spring = Piston("lever", STROKE_M3, PRELOAD_PA, COMPLIANCE)
        chamber(circuit, "box", VOLUME_M3, OWN, gas_floor=1e-3, water_m3=water_m3, piston=spring)

    return bench(say)


def pull(run: Run, seconds: float = 8.0) -> None:
    run.set_input("lever", 1.0)
    run.advance(seconds)


def pull_full(run: Run) -> None:
    """Up and filled without the air that comes in by the puck."""
    puck = run.tables.member[run.assembly.names.elements["puck"]]
    area, puck.area = float(puck.area), 0.0
    pull(run)
    puck.area = area


def let_go(run: Run, seconds: float) -> None:
    run.set_input("lever", 0.0)
    run.advance(seconds)


def liquid_m3(run: Run) -> float:
    """Volume of the water in the chamber, were it all liquid."""
    zone = run.tables.zone[0]
    return float((run.y[zone.mass] + zone.mass_reference) / run.work.rho[0])


def gauge_Pa(run: Run) -> float:
    return float(run.work.zone[0].pressure) - ROOM_PA


# -- where it stands


def test_held_up_it_holds_the_stroke_more_and_is_rigid() -> None:
    run = lever(puck_mm=0.0)
    run.advance(1.0)
    before_m3, before_Pa = liquid_m3(run), gauge_Pa(run)
    pull(run, 20.0)
    assert gauge_Pa(run) == pytest.approx(1.0e5, abs=10.0)
    stretched = OWN * (gauge_Pa(run) - before_Pa)
    assert liquid_m3(run) - before_m3 - stretched == pytest.approx(STROKE_M3, rel=1e-4)


def test_drawn_up_it_sucks_and_draws_in_what_it_can() -> None:
    run = lever()
    pull(run, 20.0)
    assert -1.013 < values(run, "pressure box").min() < -0.1
    assert values(run, "flow puck").min() < 0.0


@pytest.mark.parametrize("share", [0.9, 0.6, 0.3])
def test_let_go_it_presses_as_its_spring_is_compressed(share: float) -> None:
    """What it holds beyond the rest volume, the vessel's own 1e-12 m3/Pa taken off, bears preload and excess
    over compliance."""
    run = lever()
    pull_full(run)
    let_go(run, 1.0)
    while run.work.zone[0].rise > share * STROKE_M3:
        run.advance(0.05)
    assert run.work.zone[0].rise > (share - 0.1) * STROKE_M3
    spring_Pa = PRELOAD_PA + float(run.work.zone[0].rise) / COMPLIANCE
    assert gauge_Pa(run) == pytest.approx(spring_Pa, rel=1e-9)
    stretched = OWN * (gauge_Pa(run) + ROOM_PA)
    excess = liquid_m3(run) + float(run.work.zone[0].gas_volume) - VOLUME_M3 - stretched
    assert float(run.work.zone[0].rise) == pytest.approx(excess, rel=1e-3)


def test_once_down_it_presses_no_more() -> None:
    run = lever()
    pull(run)
    let_go(run, 60.0)
    assert run.work.zone[0].rise < 1e-9 * STROKE_M3
    assert gauge_Pa(run) == pytest.approx(0.0, abs=100.0)


def test_the_pressure_falls_while_it_pours_and_never_leaves_the_springs_range() -> None:
    run = lever()
    pull_full(run)
    time_s = run.time_s
    let_go(run, 40.0)
    results = Results(run)
    pressure = results.series("pressure box").between(time_s + 5.0 * HAND_S, time_s + 15.0)
    assert np.all(np.diff(pressure) < 0.0)
    assert pressure.min() > 1e-5 * PRELOAD_PA
    assert values(run, "pressure box").max() < 1e-5 * (PRELOAD_PA + STROKE_M3 / COMPLIANCE)
    room = results.series("mass room")
    # density 997.8 kg/m3 at 22 degC; the chamber's own give from 1 bar to nothing is 0.1 g
    poured_g = room.at(time_s + 40.0) - room.at(time_s)
    assert poured_g == pytest.approx(997.8e3 * STROKE_M3 + 0.1, abs=0.05)


def test_air_beneath_it_follows_boyles_law_when_it_is_drawn_up_and_let_go() -> None:
    """Half water, half air, shut: p V of the air stays the same (Boyle 1662; the vapour's 2.64 kPa at 22 degC
    by IAPWS-IF97 besides), and let go everything is as before."""
    run = closed(5.0e-6)
    run.advance(1.0)
    vapour_Pa = IAPWS97(T=COLD_K, x=0.0).P * 1e6
    air_Pa = gauge_Pa(run) + ROOM_PA - vapour_Pa
    pull(run, 20.0)
    stretched_Pa = gauge_Pa(run) + ROOM_PA - vapour_Pa
    # drawn-up vapour chills the water by a tenth of a kelvin, 20 Pa of its pressure
    assert stretched_Pa == pytest.approx(air_Pa * 5.0 / 55.0, abs=40.0)
    let_go(run, 20.0)
    assert gauge_Pa(run) == pytest.approx(0.0, abs=20.0)
    books = balances(run)
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9


def test_spring_and_compressed_air_hold_each_other() -> None:
    """Thirty times the air: gas volume and rise where the spring's line meets Boyle's curve."""
    run = closed(5.0e-6)
    run.y[run.tables.zone[0].air] *= 30.0
    run.advance(1.0)
    vapour_Pa = float(run.work.zone[0].saturation)
    amount_J = 30.0 * (ROOM_PA - IAPWS97(T=COLD_K, x=0.0).P * 1e6) * 5.0e-6

    def short(rise: float) -> float:
        return float(vapour_Pa + amount_J / (5.0e-6 + rise) - ROOM_PA - PRELOAD_PA - rise / COMPLIANCE)

    rise = brentq(short, 0.0, STROKE_M3)
    assert 0.1 * STROKE_M3 < rise < 0.9 * STROKE_M3
    assert float(run.work.zone[0].rise) == pytest.approx(rise, rel=2e-3)
    assert gauge_Pa(run) == pytest.approx(PRELOAD_PA + rise / COMPLIANCE, rel=1e-3)


def test_a_broken_spring_leaves_it_where_the_boilers_pressure_lifts_it() -> None:
    """Hardly any preload, the least stiffness: let go and fed at 1 bar it stands at its upper stop."""
    run = lever(preload_Pa=1.0e3, puck_mm=0.0)
    run.tables.piston[0].compliance = 100.0 * COMPLIANCE
    run.tables.member[0].start = -1.0
    run.tables.member[0].full = -0.5
    run.advance(20.0)
    assert float(run.work.zone[0].rise) == pytest.approx(STROKE_M3, rel=1e-9)
    assert gauge_Pa(run) == pytest.approx(1.0e5, abs=50.0)


def test_a_vessel_without_piston_is_what_it_was() -> None:
    run = lever(piston=False)
    pull(run, 5.0)
    assert run.tables.piston.size == 0
    assert run.work.zone[0].rise == 0.0
    assert liquid_m3(run) < VOLUME_M3 + OWN * 2.1e5


# -- books


CASES: list[dict[str, Any]] = [
    {},
    {"water_m3": 2.0e-6},
    {"boiler_K": 366.15},
    {"water_m3": 0.0, "boiler_K": 366.15},
]


@pytest.mark.parametrize("case", CASES)
def test_nothing_appears_or_vanishes_beneath_it(case: dict[str, Any]) -> None:
    """Energy follows temperatures, so to the tolerance: here 0.01 K of 50 g over some 15 kJ moved."""
    run = lever(rtol=1e-4, **case)
    for _ in range(2):
        pull(run)
        let_go(run, 40.0)
    books = balances(run)
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9
    assert books["energy"] < 1e-5


def falling(row: str, _: str) -> bool:
    return row.startswith("temperature of box")


def nothing(_row: str, _column: str) -> bool:
    return False


@pytest.mark.parametrize("case", CASES)
def test_slopes_of_the_rates_are_those_of_small_differences(case: dict[str, Any]) -> None:
    """How vapour condenses under a moving hand follows all states; the change of it is left out."""
    run = lever(**case)
    moves = ((1.0, 0.1), (1.0, 0.5), (1.0, 4.0), (0.0, 0.05), (0.0, 1.0), (0.0, 8.0), (0.0, 60.0))
    for lever_up, seconds in moves:
        run.set_input("lever", lever_up)
        run.advance(seconds)
        moving = seconds < 5.0 * HAND_S
        worst, where = worst_slope(run, falling if moving else nothing)
        assert worst < 5e-3, (lever_up, seconds, where)
