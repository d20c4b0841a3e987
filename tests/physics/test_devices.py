"""What acts when: contacts, coils, timers and lock-outs of a whole machine, on the compiled kernel."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from collaudo.machine.load import find_machine
from collaudo.parts.circuit import Site
from collaudo.twin.audit import balances
from collaudo.twin.kernel.devices import CHATTER_TOGGLES
from collaudo.twin.results import Results
from collaudo.twin.run import Run

ON_DELAY_S, OFF_DELAY_S, TIME_OUT_S = 2.0, 1.0, 90.0
"""Level control as the machine file leaves it."""


def cold(changes: dict[str, float | str] | None = None, **site: float) -> Run:
    return Run.of(find_machine("hx-vibration").with_fields(changes or {}), Site(**site))


def switched_on(seconds: float, changes: dict[str, float | str] | None = None, **site: float) -> Run:
    run = cold(changes, **site)
    run.set_input("power", 1.0)
    run.advance(seconds)
    return run


def energised(run: Run) -> set[str]:
    """Loads that have current now."""
    return {name for name, k in run.assembly.names.loads.items() if run.mode.energised[k] > 0.0}


def happened(run: Run, device: str) -> list[tuple[float, float]]:
    """Times and phases of a device's changes."""
    return [(t, phase) for t, name, phase in run.events if name == device]


def values(run: Run, name: str) -> Any:
    return Results(run).series(name).values


# -- closed paths


@pytest.mark.parametrize("lever", [0.0, 1.0])
def test_switched_off_nothing_has_current(lever: float) -> None:
    run = cold({"boiler.filled_share": 0.5})
    run.set_input("lever", lever)
    run.advance(30.0)
    assert energised(run) == set()
    assert run.events == []
    assert values(run, "power heating_element").max() == 0.0


def test_switched_on_cold_the_element_heats_and_the_board_has_its_supply() -> None:
    assert energised(switched_on(1.0)) == {"heating_element", "level_control", "power_lamp", "heating_lamp"}


def test_a_tripped_cut_out_stops_the_heat_alone() -> None:
    """Board and pump keep their supply: a cold machine with its lamps on (common practice, no source)."""
    run = switched_on(1.0)
    run.force("cut_out", on=True)
    run.set_input("lever", 1.0)
    run.advance(1.0)
    assert energised(run) == {"pump", "level_control", "power_lamp"}


def test_the_lever_starts_the_pump_where_its_switch_closes() -> None:
    run = switched_on(1.0)
    for position, pumps in ((0.89, False), (0.9, True), (1.0, True), (0.89, False)):
        run.set_input("lever", position)
        run.advance(0.1)
        assert ("pump" in energised(run)) == pumps, position


def test_no_mains_nothing_works() -> None:
    assert energised(switched_on(1.0, mains_V=0.0)) == set()


# -- forced devices


def test_a_forced_contact_stays_as_it_is_held_and_is_free_again_afterwards() -> None:
    run = switched_on(100.0)
    run.force("pressure_switch", on=True)
    run.advance(10.0)
    assert "heating_element" not in energised(run)
    run.force("pressure_switch", on=None)
    run.advance(1.0)
    assert "heating_element" in energised(run)
    assert happened(run, "pressure_switch") == []


def test_a_welded_pressure_switch_lifts_the_safety_valve() -> None:
    """Set to lift at 1.8 bar, and able to pass all the steam 1400 W raises (common practice, no source)."""
    run = cold()
    run.force("pressure_switch", on=False)
    run.set_input("power", 1.0)
    run.advance(1200.0)
    highest = values(run, "pressure boiler").max()
    assert 1.8 < highest < 1.1 * 1.8 + 0.1
    assert values(run, "flow safety_valve")[-1] > 0.0


# -- devices already beyond their threshold


def test_a_cut_out_that_starts_too_hot_trips_at_once() -> None:
    run = switched_on(5.0, {"cut_out.opens_degC": 60.0}, room_K=273.15 + 65.0)
    assert happened(run, "cut_out") == [(0.0, 1.0)]
    assert values(run, "power heating_element").max() == 0.0


def test_a_switch_set_below_the_pressure_there_is_opens_at_once() -> None:
    run = switched_on(500.0)
    assert "heating_element" in energised(run)
    run.change({"pressure_switch.opens_bar": 0.6})
    run.advance(1.0)
    assert happened(run, "pressure_switch") == [(500.0, 1.0)]
    assert "heating_element" not in energised(run)


# -- level control


def test_the_board_waits_fills_and_stops() -> None:
    run = switched_on(60.0, {"boiler.filled_share": 0.58})
    times = happened(run, "level_control")
    assert [phase for _, phase in times] == [1.0, 2.0, 3.0, 0.0]
    (dry, _), (filling, _), (wet, _), (stops, _) = times
    assert (dry, filling) == (0.0, ON_DELAY_S)
    assert stops == pytest.approx(wet + OFF_DELAY_S, abs=1e-12)
    time_s, level = Results(run).time_s, values(run, "level boiler")
    pump, valve = values(run, "load pump"), values(run, "load fill_valve")
    inside = (time_s > filling) & (time_s < stops)
    outside = (time_s < filling) | (time_s > stops)
    assert pump[inside].min() == valve[inside].min() == 1.0
    assert pump[outside].max() == valve[outside].max() == 0.0
    assert np.interp(wet, time_s, level) == pytest.approx(0.62, abs=1e-6)
    assert level[time_s < filling].max() < 0.581
    assert level[-1] > 0.62


def test_timers_are_hit_exactly() -> None:
    run = switched_on(10.0, {"boiler.filled_share": 0.5, "level_control.on_delay_s": 3.7})
    assert [t for t, _ in happened(run, "level_control")] == [0.0, 3.7]
    assert 3.7 in Results(run).time_s


def test_water_the_probe_does_not_feel_is_filled_until_the_time_out() -> None:
    """Too pure for the probe (common practice, no source): filling ends by the board's longest run alone."""
    run = switched_on(200.0, conductivity_uS_per_cm=10.0)
    assert happened(run, "level_control") == [
        (0.0, 1.0),
        (ON_DELAY_S, 2.0),
        (ON_DELAY_S + TIME_OUT_S, 4.0),
    ]
    assert energised(run).isdisjoint({"pump", "fill_valve"})
    assert values(run, "level boiler")[-1] > 0.9


def test_a_lock_out_ends_with_the_supply() -> None:
    run = switched_on(200.0, conductivity_uS_per_cm=10.0)
    run.set_input("power", 0.0)
    run.advance(5.0)
    run.set_input("power", 1.0)
    run.advance(5.0)
    assert happened(run, "level_control")[3:] == [(205.0, 1.0), (205.0 + ON_DELAY_S, 2.0)]


def test_a_board_whose_supply_fails_forgets_its_call() -> None:
    run = switched_on(1.0, {"boiler.filled_share": 0.5})
    run.set_input("power", 0.0)
    run.advance(10.0)
    assert happened(run, "level_control") == [(0.0, 1.0)]
    assert "fill_valve" not in energised(run)


# -- chatter


def test_a_contact_whose_points_overlap_chatters_and_is_held() -> None:
    run = switched_on(300.0)
    switch = run.tables.device[run.assembly.names.devices["pressure_switch"]]
    switch.low = switch.high + 1.0e5
    run.advance(600.0)
    held = happened(run, "pressure_switch chatters")
    assert len(held) == 1
    assert len(happened(run, "pressure_switch")) == CHATTER_TOGGLES + 1
    assert run.time_s == 900.0


# -- what goes wrong


def test_with_an_empty_tank_the_pump_draws_air_and_the_run_goes_on() -> None:
    run = switched_on(1.0, {"tank.water_l": 0.1})
    run.set_input("lever", 1.0)
    run.advance(90.0)
    tank = values(run, "mass tank")
    assert tank.min() > -1.0
    assert tank[-1] < 10.0
    flow = Results(run).series("flow strainer")
    assert flow.at(5.0) > 4.0
    assert flow.at(90.0) < 0.5
    assert values(run, "pressure check_valve.out")[-1] < 1.0
    assert run.time_s == 91.0
    assert balances(run)["water"] < 1e-9


def test_air_drawn_from_an_empty_tank_is_not_lost() -> None:
    run = switched_on(1.0, {"tank.water_l": 0.1})
    run.set_input("lever", 1.0)
    run.advance(90.0)
    assert balances(run)["air"] < 1e-9


def test_a_boiler_steamed_low_trips_the_cut_out_before_the_element_burns() -> None:
    """Level control disconnected, steam tap left open: the element is bared (common practice, no source)."""
    run = switched_on(900.0)
    run.force("level_control", on=False)
    run.set_input("steam_tap", 1.0)
    run.advance(5400.0)
    trips = happened(run, "cut_out")
    assert [phase for _, phase in trips] == [1.0]
    tripped_s = trips[0][0]
    element, level = (Results(run).series(name) for name in ("temperature heating_element", "level boiler"))
    assert level.at(tripped_s) < 0.3
    assert element.at(tripped_s) > 165.0
    assert element.values.max() < 400.0
    assert all(b <= a + 1e-9 for a, b in pairwise(element.between(tripped_s + 1.0, run.time_s)))
    assert "heating_element" not in energised(run)
    assert "level_control" in energised(run)
    assert balances(run)["water"] < 1e-9


def test_a_boiler_steamed_dry_goes_over_to_steam_hotter_than_it_boils() -> None:
    """As above, the cut-out's contact stuck shut: why there is one. The run goes on without any water."""
    run = switched_on(900.0)
    run.force("level_control", on=False)
    run.force("cut_out", on=False)
    run.set_input("steam_tap", 1.0)
    run.advance(2100.0)
    assert values(run, "mass boiler")[-1] < 10.0
    assert values(run, "temperature boiler.upper")[-1] > 110.0
    assert abs(values(run, "pressure boiler")[-1]) < 0.02
    assert balances(run)["water"] < 1e-9


def boiler_gain_g(fitted: str) -> float:
    """What the boiler gains in 28 s of lever up with a blind disc fitted, level control disconnected."""
    run = switched_on(60.0, {"fill_valve.fitted": fitted, "portafilter.holds": "blind"})
    run.force("level_control", on=False)
    boiler = values(run, "mass boiler")[-1]
    run.set_input("lever", 1.0)
    run.advance(28.0)
    return float(values(run, "mass boiler")[-1] - boiler)


def test_a_fill_valve_screwed_in_the_wrong_way_round_fills_the_boiler_during_a_shot() -> None:
    """The pump's pressure beneath the plunger lifts it (common practice, no source)."""
    assert boiler_gain_g("reversed") > 20.0
    assert abs(boiler_gain_g("forward")) < 0.5
