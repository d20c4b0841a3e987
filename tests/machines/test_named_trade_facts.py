"""What every technician knows about these machines, one fact a test, each on every machine it fits.

Ways of working that hold for a construction whatever its numbers; all common practice, no source.
Electric facts stand in test_lost_legs_and_phases.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from collaudo.checks.roles import bind_roles
from collaudo.machine.load import find_machine, library_ids
from collaudo.machine.site import home_site
from collaudo.twin.results import Results
from collaudo.twin.run import Run
from tests.machines.construction_bench import amount, bench, do, first_time, value
from tests.machines.construction_readings import boiling_degC

JUST_WARM_s = 2700.0


def on(*roles: str) -> pytest.MarkDecorator:
    """Run a test on every machine that has a part for each role; there must be some."""
    found = [name for name in library_ids() if set(roles) <= set(bind_roles(find_machine(name)))]
    assert found
    return pytest.mark.parametrize("machine", found)


def pump_bar(machine: str, changes: dict[str, float], seconds_s: float = 10.0) -> float:
    """What the pump raises against the blind disc."""
    run = bench(machine).branch()
    run.change({"portafilter.holds": "blind", **changes})
    do(run, f"brew: on; wait: {seconds_s:g} s")
    return value(run, "pressure pump.out")


# -- what sets brew pressure


@on("vibration_pump", "relief_valve")
def test_a_vibration_machines_relief_valve_sets_brew_pressure(machine: str) -> None:
    """9 to 10 bar; a bar on its screw is a bar at the coffee. Common practice, no source."""
    own = float(find_machine(machine).value("relief_valve.set_bar"))
    assert 9.0 <= own <= 10.0
    fall = pump_bar(machine, {}) - pump_bar(machine, {"relief_valve.set_bar": own - 1.0})
    assert fall == pytest.approx(1.0, abs=0.2)


@on("vane_pump", "relief_valve")
def test_in_a_rotary_machine_the_bypass_sets_brew_pressure_and_the_relief_valve_stands_above(
    machine: str,
) -> None:
    """The relief valve at 11 to 12 bar only safeguards. Common practice, no source."""
    found = find_machine(machine)
    relief, bypass = (float(found.value(key)) for key in ("relief_valve.set_bar", "pump.bypass_set_bar"))
    assert 11.0 <= relief <= 12.0
    own = pump_bar(machine, {})
    assert own < relief - 1.0
    assert own - pump_bar(machine, {"pump.bypass_set_bar": bypass - 1.0}) == pytest.approx(1.0, abs=0.15)
    assert pump_bar(machine, {"relief_valve.set_bar": relief - 0.5}) == pytest.approx(own, abs=0.05)


@on("vane_pump", "line_regulator")
def test_brew_pressure_follows_inlet_pressure_with_a_bypass_on_the_difference(machine: str) -> None:
    """Nearly one to one. Common practice, no source."""
    high, low = (pump_bar(machine, {"line_regulator.set_bar": bar}) for bar in (2.0, 1.0))
    fall = high - low
    assert fall == pytest.approx(1.0, abs=0.15)


@on("vane_pump", "inlet_selector")
def test_turned_from_tank_to_line_the_brew_pressure_rises_by_the_lines(machine: str) -> None:
    """Set the bypass on the inlet really used. Common practice, no source."""
    place = bench(machine)
    run = place.branch()
    do(run, "select: line; wait: 1 s")
    lower = {"pump.bypass_set_bar": 7.0}
    run.change({"portafilter.holds": "blind", **lower})
    do(run, "brew: on; wait: 10 s")
    rise = value(run, "pressure pump.out") - pump_bar(machine, lower)
    feed_bar = home_site(place.machine).feed_Pa * 1e-5
    assert rise == pytest.approx(feed_bar, abs=0.35)


# -- filling

FILL_WAYS = ("fill_valve", "fill_valve.plunger")
"""Through the opened seat, and past a plunger lifted from beneath."""


@on("fill_valve", "fill_check_valve", "check_valve")
def test_a_fill_solenoid_fitted_backwards_fills_the_boiler_during_every_shot(machine: str) -> None:
    """The pump lifts the plunger from beneath and passes the check valve. Common practice, no source."""
    filled = {}
    for fitted in ("forward", "reversed"):
        run = bench(machine).branch()
        run.change({"fill_valve.fitted": fitted, "portafilter.holds": "puck"})
        start = run.time_s
        do(run, "brew: on; wait: 28 s; brew: off; wait: 1 s")
        calls = [t for t, name, phase in run.events if name == "level_control" and phase == 2.0 and t > start]
        assert not calls
        passed = (amount(run, f"flow {name}", start, run.time_s) for name in FILL_WAYS)
        filled[fitted] = sum(passed)
    assert filled["forward"] < 0.1
    assert filled["reversed"] > 50.0


@on("fill_valve", "fill_check_valve", "tank")
def test_the_fill_lines_check_valve_stops_only_the_boilers_back_flow(machine: str) -> None:
    """The boiler lifts the plunger of a solenoid fitted the right way; only the check valve keeps its water
    from the pump's line. Fitted backwards the boiler itself holds the plunger down. Common practice, no
    source."""
    reached = {}
    for fitted, leak in (("forward", 0.002), ("forward", 400.0), ("reversed", 400.0)):
        run = bench(machine).branch()
        run.change({"fill_valve.fitted": fitted, "fill_check_valve.leak_ml_per_min_at_9_bar": leak})
        start = run.time_s
        do(run, "wait: 120 s")
        reached[fitted, leak] = -amount(run, "flow fill_check_valve", start, run.time_s)
    assert reached["forward", 0.002] < 0.1 * reached["forward", 400.0]
    # Backwards only the little space between the two valves fills.
    assert reached["reversed", 400.0] < 0.5 * reached["forward", 400.0]
    assert reached["forward", 400.0] > 3e-3


# -- steam boilers


@on("vacuum_valve")
def test_an_open_vacuum_valve_hisses_before_its_flow_shuts_it(machine: str) -> None:
    """Common practice, no source."""
    place = bench(machine)
    place.branch()
    shuts = first_time(place.run, "vacuum_valve", True)
    flow = Results(place.run).series("flow vacuum_valve")
    hiss = flow.between(shuts - 60.0, shuts - 1e-3)
    after = flow.between(shuts + 5.0, shuts + 120.0)
    assert hiss.min() > 0.0
    assert hiss.max() > 0.02
    assert abs(after).max() < 0.05 * hiss.max()


@on("vacuum_valve", "steam_tap")
def test_air_left_in_the_boiler_reads_as_pressure_without_heat_and_the_steam_tap_clears_it(
    machine: str,
) -> None:
    """A vacuum valve stuck shut from cold. Common practice, no source."""
    run = Run.of(find_machine(machine))
    run.force("vacuum_valve", on=True)
    do(run, "power: on; wait: 100 ms")
    while value(run, "pressure boiler") < 0.9:
        do(run, "wait: 5 s")
        assert run.time_s < JUST_WARM_s
    cold_K = boiling_degC(value(run, "pressure boiler")) - value(run, "temperature boiler.upper")
    assert cold_K > 10.0
    do(run, "open: steam_tap; wait: 150 s; close: steam_tap; wait: 900 s")
    # Down to 0.8 bar the trade's row goes; the working pressure of every machine stands above it.
    assert value(run, "pressure boiler") > 0.8
    cleared_K = boiling_degC(value(run, "pressure boiler")) - value(run, "temperature boiler.upper")
    assert abs(cleared_K) < 2.0


@on("vacuum_valve", "steam_tap")
def test_steamed_free_of_air_and_the_vacuum_valve_stuck_shut_it_sucks_milk_up_the_wand(machine: str) -> None:
    """The boiler draws a vacuum on cooling. Common practice, no source."""
    run = bench(machine).branch()
    do(run, "open: steam_tap; wait: 40 s; close: steam_tap; wait: 300 s")
    run.force("vacuum_valve", on=True)
    do(run, "power: off; wait: 9000 s")
    assert value(run, "pressure boiler") < -0.3
    outlet = bench(machine).role["steam_outlet"]
    run.change({f"{outlet}.contents": "milk"})
    milk_g = value(run, f"mass {outlet}")
    do(run, "open: steam_tap; wait: 5 s")
    assert value(run, "flow steam_tap") < -0.1
    assert value(run, f"mass {outlet}") < milk_g - 5.0


@on("vacuum_valve", "steam_tap")
def test_a_sound_vacuum_valve_lets_the_wand_suck_nothing(machine: str) -> None:
    """Common practice, no source."""
    run = bench(machine).branch()
    do(run, "open: steam_tap; wait: 40 s; close: steam_tap; wait: 300 s; power: off; wait: 9000 s")
    assert value(run, "pressure boiler") > -0.02


@on("steam_tap", "boiler")
def test_steam_is_drawn_above_the_level(machine: str) -> None:
    """Common practice, no source."""
    run = bench(machine).branch()
    do(run, "open: steam_tap; wait: 10 s")
    assert value(run, "steam steam_tap") > 0.95


@on("water_tap", "boiler")
def test_hot_water_is_drawn_below_the_level(machine: str) -> None:
    """Common practice, no source. Some of it flashes to steam behind the tap, by its heat 100 degC and up."""
    run = bench(machine).branch()
    do(run, "open: water_tap; wait: 4 s")
    water, steam = value(run, "flow water_tap"), value(run, "steam water_tap")
    do(run, "close: water_tap; wait: 1 s; open: steam_tap; wait: 4 s")
    assert steam < 0.1
    assert water > 5.0 * value(run, "flow steam_tap")


@on("dip_tube", "spring_piston_group")
def test_a_spring_group_takes_water_from_below_the_boilers_level(machine: str) -> None:
    """Common practice, no source."""
    run = bench(machine).branch()
    boiler = value(run, "mass boiler")
    do(run, "fit: puck; lever: up; wait: 7 s")
    assert value(run, "level group") > 0.9
    assert boiler - value(run, "mass boiler") > 30.0


# -- the group


@on("exhaust_valve", "lever")
def test_the_lowered_lever_relieves_the_puck_to_the_drain(machine: str) -> None:
    """Common practice, no source."""
    relieves(machine, "lever: up; wait: 28 s", "lever: half; wait: 2 s", "lever: down; wait: 1500 ms")


@on("three_way_valve")
def test_the_three_way_valve_without_current_relieves_the_puck_to_the_drain(machine: str) -> None:
    """Common practice, no source."""
    relieves(machine, "brew: on; wait: 28 s", "", "brew: off; wait: 1500 ms")


def relieves(machine: str, brews: str, holds: str, lets_go: str) -> None:
    """Pressure stands over the puck until it is let go, then falls to nothing and water runs to the tray."""
    run = bench(machine).branch()
    do(run, f"fit: puck; wait: 1 s; {brews}")
    assert value(run, "pressure brew_chamber") > 7.0
    if holds:
        do(run, holds)
        assert value(run, "pressure brew_chamber") > 1.0
    tray = value(run, "mass tray")
    do(run, lets_go)
    assert abs(value(run, "pressure brew_chamber")) < 0.2
    assert value(run, "mass tray") > tray + 4.0


@on("brew_jet")
def test_a_plugged_jet_gives_a_running_pump_full_pressure_and_no_water(machine: str) -> None:
    """Common practice, no source."""
    run = bench(machine).branch()
    sound_bar = pump_bar(machine, {}, 15.0)
    run = bench(machine).branch()
    run.change({"portafilter.holds": "nothing", "brew_jet.bore_mm": 0.02})
    cup = value(run, "mass cup")
    do(run, "brew: on; wait: 15 s")
    assert value(run, "pressure pump.out") == pytest.approx(sound_bar, abs=0.4)
    assert max(value(run, f"load {name}") for name in pumps(machine)) == 1.0
    assert value(run, "mass cup") - cup < 2.0


def pumps(machine: str) -> list[str]:
    """What turns or shakes the pump."""
    parts = find_machine(machine).parts.values()
    return [p.name for p in parts if p.kind in ("pump_motor", "vibration_pump")]


@on("circulation_group", "check_valve")
def test_a_circulation_group_is_too_hot_after_a_long_rest_until_it_is_flushed(machine: str) -> None:
    """The first water hisses, above 99 degC; after a cooling flush of up to 200 ml it is below 96. Common
    practice, no source."""
    run = bench(machine).branch()
    start, cup = run.time_s, value(run, "mass cup")
    do(run, "fit: nothing; brew: on; wait: 45 s")
    water = Results(run).series("temperature brew_chamber.water")
    poured = Results(run).series("mass cup")
    assert water.between(start + 1.0, start + 8.0).max() > 99.0
    flushed = float(poured.time_s[np.argmax(poured.values > cup + 200.0)])
    assert flushed > start
    assert water.between(flushed, run.time_s).max() < 96.0


# -- protection


@pytest.mark.parametrize("machine", library_ids())
def test_a_tripped_cut_out_means_no_heat_with_a_sound_supply(machine: str) -> None:
    """Common practice, no source. Its volts stand in test_lost_legs_and_phases.py."""
    found = find_machine(machine)
    for part in (p for p in found.parts.values() if p.kind == "cut_out"):
        felt = str(found.value(f"{part.name}.on"))
        run = Run.of(found)
        run.force(part.name, on=True)
        do(run, "power: on; wait: 120 s")
        walls = run.assembly.names.heaters
        behind = heater_of(machine, felt)
        assert value(run, f"power {behind}") < 1e-6
        assert value(run, "volts power_lamp") == pytest.approx(float(found.value("mains.rated_V")), rel=0.02)
        assert behind in walls


def heater_of(machine: str, felt: str) -> str:
    """The heated wall a cut-out stands before: what it touches, or the element in it."""
    parts = find_machine(machine).parts
    if parts[felt].kind in ("heating_element", "flow_through_heater"):
        return felt
    inside = [
        p.name for p in parts.values() if getattr(p, "in_boiler", "") == felt and p.kind == "heating_element"
    ]
    heats = [
        p.name for p in parts.values() if p.kind == "cartridge_heater" and getattr(p, "heats", "") == felt
    ]
    names = Run.of(find_machine(machine)).assembly.names.heaters
    return next(name for name in (*inside, *heats, felt) if name in names)
