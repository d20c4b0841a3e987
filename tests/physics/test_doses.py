"""Flow meters, doses and windows: what is counted, when a dose ends, what ends it otherwise."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from iapws import IAPWS95

from collaudo.parts.circuit import Circuit, Command, Contact, Device
from collaudo.twin.audit import balances
from collaudo.twin.results import Results
from collaudo.twin.run import Run
from tests.physics.small import (
    COLD_K,
    Say,
    bench,
    chamber,
    dosed,
    happened,
    reservoir,
    throat,
    values,
    worst_slope,
)

DOSE_ML = 40.0


def water(circuit: Circuit, level: float = 1.0, gauge_Pa: float = 2.0e5) -> None:
    """Mains, the wheel's throat, a little box, a valve that the dose opens."""
    reservoir(circuit, "mains", gauge_Pa, level)
    chamber(circuit, "box", 2.0e-5, 2.0e-13)
    throat(circuit, "wheel", "mains.out", "box.in", 1.5)
    throat(circuit, "valve", "box.out", "room.in", 1.2, command=Command("device", "dose"))


def dosing(*says: Say, rtol: float = 1e-3, mains_V: float = 230.0, **dose: float | bool) -> Run:
    """The above with a dose control, at rest for a second."""
    say = partial(dosed, **{"dose_ml": DOSE_ML, **dose})  # type: ignore[arg-type]
    run = bench(water, say, *says, rtol=rtol, mains_V=mains_V)
    run.advance(1.0)
    return run


def press(run: Run, seconds: float = 0.3) -> None:
    run.set_input("brew", 1.0)
    run.advance(seconds)
    run.set_input("brew", 0.0)


def counted_ml(run: Run, time_s: float) -> float:
    return Results(run).series("metered meter").at(time_s)


# -- exactness


@pytest.mark.parametrize("rtol", [1e-3, 1e-6])
@pytest.mark.parametrize("dose_ml", [0.02, 0.1, DOSE_ML])
def test_a_dose_ends_exactly_when_its_volume_has_passed_the_meter(rtol: float, dose_ml: float) -> None:
    """The end is found to 1e-9 of a step, in which some millilitres pass. The small doses end while the box
    still empties and the flow is far from steady."""
    run = dosing(rtol=rtol, dose_ml=dose_ml)
    before = counted_ml(run, run.time_s)
    press(run)
    run.advance(20.0)
    (begins, on), (ends, off) = happened(run, "dose")
    assert (begins, on, off) == (1.0, 1.0, 0.0)
    assert counted_ml(run, ends) - before == pytest.approx(dose_ml, abs=1e-8)
    assert values(run, "flow valve")[Results(run).time_s > ends + 0.1].max() == 0.0


@pytest.mark.parametrize("dose_ml", [7.0, 15.0, 25.0])
def test_a_dose_out_of_a_slackening_bladder_ends_as_exactly(dose_ml: float) -> None:
    """The flow falls by a good part within one step, in which counts bend."""

    def slack(circuit: Circuit) -> None:
        chamber(circuit, "bladder", 1.0e-3, 2.0e-10)
        throat(circuit, "wheel", "bladder.out", "room.in", 1.5, command=Command("device", "dose"))

    run = bench(slack, partial(dosed, dose_ml=dose_ml))
    run.y[run.tables.zone[0].mass] += 998.0 * 2.0e-10 * 2.0e5
    press(run, 20.0)
    ends = happened(run, "dose")[1][0]
    flow = values(run, "flow wheel")
    assert np.max(np.abs(np.diff(flow)[flow[1:] > 1.0])) > 0.02 * flow.max()
    assert counted_ml(run, ends) == pytest.approx(dose_ml, abs=1e-8)


def test_the_time_a_dose_takes_does_not_hang_on_the_tolerance() -> None:
    took = []
    for rtol in (1e-3, 1e-6):
        run = dosing(rtol=rtol)
        press(run)
        run.advance(20.0)
        took.append(happened(run, "dose")[1][0])
    assert took[0] == pytest.approx(took[1], rel=1e-4)


def test_what_the_meter_counted_is_what_left_the_mains() -> None:
    """Density of water at 22 degC and 2 bar above 1 atm: IAPWS-95 (R6-95 (2018)); the twin keeps that of
    saturation, 1e-4 less."""
    run = dosing()
    press(run)
    run.advance(20.0)
    drawn_g = -(values(run, "mass mains")[-1] - values(run, "mass mains")[0])
    density = IAPWS95(T=COLD_K, P=0.301325).rho
    assert drawn_g / values(run, "metered meter")[-1] == pytest.approx(density * 1e-3, rel=3e-4)
    books = balances(run)
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9
    assert books["energy"] < 1e-9


# -- what a meter counts


def poured_g(run: Run) -> float:
    press(run)
    run.advance(30.0)
    return float(values(run, "mass room")[-1])


def test_a_wheel_that_counts_half_pours_twice_the_dose() -> None:
    whole, half = poured_g(dosing()), poured_g(dosing(counted_share=0.5))
    assert half == pytest.approx(2.0 * whole, rel=1e-3)
    assert whole == pytest.approx(DOSE_ML * 0.998, abs=0.1)


def test_a_stuck_wheel_pours_until_the_time_out() -> None:
    run = dosing(counted_share=0.0, time_out_s=7.3)
    press(run)
    run.advance(20.0)
    assert happened(run, "dose") == [(1.0, 1.0), (1.0 + 7.3, 0.0)]
    assert values(run, "metered meter")[-1] == 0.0
    assert values(run, "mass room")[-1] > 50.0


def test_air_turns_the_wheel_too() -> None:
    """Air at 2 bar above the room: the volume counted is that under pressure, its mass by the ideal gas law
    (287.05 J/(kg K), U.S. Standard Atmosphere 1976)."""

    def dry(circuit: Circuit) -> None:
        reservoir(circuit, "bottle", 2.0e5, 0.0)
        chamber(circuit, "box", 2.0e-5, 2.0e-13, water_m3=1.0e-6, metal_J_per_K=50.0)
        throat(circuit, "wheel", "bottle.out", "box.in", 0.5)
        throat(circuit, "valve", "box.out", "room.in", 2.0, command=Command("device", "dose"))

    run = bench(dry, partial(dosed, dose_ml=500.0))
    press(run)
    run.advance(20.0)
    time_s, flow = Results(run).time_s, values(run, "flow wheel")
    # the flow's rows are those the integrator worked with; trapezoids over them are good to a percent
    passed_kg = float(np.sum(0.5 * (flow[1:] + flow[:-1]) * np.diff(time_s))) * 1e-3
    density = (101325.0 + 2.0e5) / (287.05 * COLD_K)
    assert values(run, "metered meter")[-1] > 499.0
    assert values(run, "metered meter")[-1] * 1e-6 == pytest.approx(passed_kg / density, rel=0.02)


def test_water_that_runs_back_turns_the_wheel_as_well() -> None:
    """A pick-up cannot tell which way (common practice, no source)."""

    def backward(circuit: Circuit) -> None:
        reservoir(circuit, "high", 2.0e5, 1.0)
        chamber(circuit, "box", 2.0e-5, 2.0e-13)
        throat(circuit, "wheel", "room.in", "box.in", 1.5)
        throat(circuit, "valve", "box.out", "high.in", 1.2, command=Command("device", "dose"))

    run = bench(backward, partial(dosed, dose_ml=DOSE_ML))
    run.advance(1.0)
    press(run)
    run.advance(20.0)
    assert values(run, "flow wheel").min() < -5.0
    assert [phase for _, phase in happened(run, "dose")] == [1.0, 0.0]


# -- what ends and starts a dose


def test_pressed_again_it_stops_and_pressed_once_more_it_begins_anew() -> None:
    run = dosing()
    press(run)
    run.advance(0.7)
    press(run)
    run.advance(1.0)
    stopped_ml = counted_ml(run, run.time_s)
    press(run)
    run.advance(20.0)
    times = happened(run, "dose")
    assert [phase for _, phase in times] == [1.0, 0.0, 1.0, 0.0]
    assert [t for t, _ in times[:3]] == pytest.approx([1.0, 2.0, 3.3], abs=1e-9)
    assert counted_ml(run, times[3][0]) - stopped_ml == pytest.approx(DOSE_ML, abs=1e-7)


def test_a_button_that_is_held_pours_one_dose() -> None:
    run = dosing()
    run.set_input("brew", 1.0)
    run.advance(60.0)
    assert [phase for _, phase in happened(run, "dose")] == [1.0, 0.0]


def test_a_forced_dose_control_does_not_listen() -> None:
    run = dosing()
    run.force("dose", on=False)
    press(run)
    run.advance(5.0)
    assert values(run, "mass room")[-1] == 0.0


def switched(circuit: Circuit) -> None:
    circuit.inputs["power"] = 0.0
    circuit.devices.append(Device("main_switch", "input", input="power"))
    circuit.contacts.append(Contact("main_switch", "live", "board.live", Command("device", "main_switch")))


def test_without_current_the_button_does_nothing_and_is_not_remembered() -> None:
    run = dosing(switched, supply=True)
    press(run)
    run.set_input("power", 1.0)
    run.advance(5.0)
    assert happened(run, "dose") == []
    press(run)
    run.advance(1.0)
    assert [phase for _, phase in happened(run, "dose")] == [1.0]


def test_a_dose_ends_with_the_supply_and_does_not_come_back_with_it() -> None:
    run = dosing(switched, supply=True)
    run.set_input("power", 1.0)
    press(run)
    run.advance(1.0)
    run.set_input("power", 0.0)
    run.advance(1.0)
    run.set_input("power", 1.0)
    run.advance(30.0)
    poured = Results(run).series("mass room")
    assert poured.at(2.4) == pytest.approx(poured.at(33.0), abs=0.05)
    assert 5.0 < poured.at(33.0) < DOSE_ML - 5.0


# -- windows


@pytest.mark.parametrize(
    ("position", "closed"), [(0.0, False), (0.3, True), (0.49, True), (0.5, False), (1.0, False)]
)
def test_a_window_is_on_from_its_lower_end_up_to_its_upper(position: float, closed: bool) -> None:
    def selector(circuit: Circuit) -> None:
        water(circuit)
        circuit.inputs["knob"] = 0.0
        circuit.devices.append(Device("dose", "window", input="knob", low=0.3, high=0.5))

    run = bench(selector)
    run.set_input("knob", position)
    run.advance(1.0)
    assert (values(run, "device dose")[-1] == 1.0) == closed
    assert (values(run, "flow valve")[-1] > 1.0) == closed


# -- slopes


@pytest.mark.parametrize("level", [1.0, 0.0])
def test_slopes_of_counts_are_those_of_small_differences(level: float) -> None:
    run = bench(partial(water, level=level), partial(dosed, dose_ml=1e3))
    run.advance(0.5)
    press(run, 0.4)
    worst, where = worst_slope(run)
    assert worst < 1e-3, where


@pytest.mark.parametrize("seconds", [0.02, 0.1, 0.3])
def test_slopes_of_a_count_where_water_and_air_leave_a_vessel_together(seconds: float) -> None:
    """The wheel sits at the foot of a vessel that runs empty: its water stands 0.1 m high when full."""

    def emptying(circuit: Circuit) -> None:
        reservoir(circuit, "bottle", 1.0e4, 0.0)
        chamber(circuit, "box", 2.0e-5, 2.0e-13, water_m3=1.0e-6, metal_J_per_K=50.0, height_m=0.1)
        throat(circuit, "air", "bottle.out", "box.in", 1.0)
        throat(circuit, "wheel", "box.out", "room.in", 1.5)

    run = bench(emptying, partial(dosed, dose_ml=1e3))
    run.advance(seconds)
    worst, where = worst_slope(run)
    assert worst < 1e-3, where
