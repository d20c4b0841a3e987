"""What sensors, controllers, relays, motors and protection do in whole machines, sound and at fault."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from collaudo.machine.load import find_machine
from collaudo.machine.site import home_site
from collaudo.twin.audit import balances
from collaudo.twin.results import Results
from collaudo.twin.run import Run

Changes = dict[str, float | str]

NOTHING_W = 1e-3
"""What an open relay or a broken joint still lets through."""


def machine(name: str, changes: Changes | None = None, **site: float) -> Run:
    found = find_machine(name).with_fields(changes or {})
    return Run.of(found, replace(home_site(found), **site))


def switched_on(name: str, seconds: float, changes: Changes | None = None, **site: float) -> Run:
    run = machine(name, changes, **site)
    run.set_input("power", 1.0)
    run.advance(seconds)
    return run


def values(run: Run, name: str) -> Any:
    return Results(run).series(name).values


def last(run: Run, name: str) -> float:
    return float(values(run, name)[-1])


def happened(run: Run, device: str) -> list[float]:
    """Times at which a device acted."""
    return [t for t, name, phase in run.events if name == device and phase == 1.0]


def energised(run: Run) -> set[str]:
    return {name for name, k in run.assembly.names.loads.items() if run.mode.energised[k] > 0.0}


# -- thermostats: the single boiler


def test_a_thermostat_keeps_the_boiler_between_its_two_temperatures() -> None:
    """Overshoot after it opens is what the element and the lag of its disc still bring: a few kelvin."""
    run = switched_on("single-boiler", 2400.0)
    shell = values(run, "temperature brew_boiler")
    settled = Results(run).time_s > happened(run, "brew_thermostat")[0]
    assert 88.0 < shell[settled].min() < 91.0
    assert 100.0 < shell[settled].max() < 110.0
    assert len(happened(run, "brew_thermostat")) >= 3


def test_a_welded_thermostat_lets_it_heat_to_the_next_one() -> None:
    run = switched_on("single-boiler", 1800.0, {"brew_thermostat.state": "welded"})
    assert len(happened(run, "steam_thermostat")) >= 2
    assert values(run, "temperature brew_boiler").max() > 137.0


def test_with_both_welded_the_cut_out_acts_and_stays() -> None:
    run = switched_on(
        "single-boiler", 3600.0, {"brew_thermostat.state": "welded", "steam_thermostat.state": "welded"}
    )
    assert len(happened(run, "cut_out")) == 1
    assert last(run, "power heating_element") < NOTHING_W


def test_a_burnt_thermostat_leaves_it_cold() -> None:
    run = switched_on("single-boiler", 600.0, {"brew_thermostat.state": "open"})
    assert last(run, "temperature brew_boiler") == pytest.approx(22.0, abs=0.1)


# -- controllers: the dual boiler


def kept_degC(run: Run) -> float:
    """What the controller keeps a sound sensor at: its setting, and how much hotter the sensor sits."""
    keys = ("brew_controller.set_degC", "brew_controller.offset_K")
    return sum(float(run.machine.value(key)) for key in keys)


def test_a_controller_by_shares_settles_where_it_is_set() -> None:
    """With an integral part nothing lasting is left of the error (textbook of control)."""
    run = switched_on("dual-rotary", 2400.0)
    set_degC = kept_degC(run)
    assert last(run, "temperature brew_boiler.lower") == pytest.approx(set_degC, abs=0.1)
    duty = values(run, "duty brew_controller")
    assert duty.min() >= 0.0
    assert duty.max() == pytest.approx(1.0)
    assert 0.02 < duty[-1] < 0.2
    assert last(run, "power brew_element") == pytest.approx(
        float(run.machine.value("brew_element.power_W")) * duty[-1], rel=0.01
    )


@pytest.mark.parametrize("offset_K", [5.0, -5.0])
def test_a_drifted_sensor_moves_the_water_the_other_way(offset_K: float) -> None:
    run = switched_on("dual-rotary", 2400.0, {"brew_sensor.offset_K": offset_K})
    expected = kept_degC(run) - offset_K
    assert last(run, "temperature brew_boiler.lower") == pytest.approx(expected, abs=0.2)


@pytest.mark.parametrize("state", ["open", "shorted"])
def test_a_broken_sensor_stops_the_heat_in_the_middle_of_the_day(state: str) -> None:
    run = switched_on("dual-rotary", 1800.0)
    run.change({"brew_sensor.state": state})
    run.advance(600.0)
    assert last(run, "power brew_element") < NOTHING_W
    assert last(run, "temperature brew_boiler.lower") < 90.0


@pytest.mark.parametrize("changes", [{"brew_relay.state": "shorted"}, {"brew_controller.output": "welded"}])
def test_heating_without_end_is_ended_by_the_cut_out(changes: Changes) -> None:
    run = switched_on("dual-rotary", 1800.0)
    run.change(changes)
    run.advance(900.0)
    assert len(happened(run, "brew_cut_out")) == 1
    assert last(run, "power brew_element") < NOTHING_W
    assert values(run, "temperature brew_boiler.lower").max() > 105.0


@pytest.mark.parametrize(
    "changes",
    [{"brew_relay.state": "open"}, {"brew_controller.output": "open"}, {"plug.broken": "neutral"}],
)
def test_what_is_open_leaves_the_brew_boiler_cold(changes: Changes) -> None:
    run = switched_on("dual-rotary", 600.0, changes)
    assert values(run, "power brew_element").max() < NOTHING_W
    assert last(run, "temperature brew_boiler.lower") < 30.0


def test_a_controller_of_two_positions_holds_the_steam_boiler() -> None:
    run = switched_on("dual-vibration", 2400.0)
    settled = Results(run).time_s > happened(run, "steam_controller")[0] + 120.0
    steam = values(run, "temperature boiler.upper")[settled]
    middle = float(run.machine.value("steam_controller.set_degC"))
    assert middle - 5.0 < steam.min() < middle < steam.max() < middle + 6.0


@pytest.mark.parametrize("name", ["dual-rotary", "dual-vibration", "flow-through", "single-boiler"])
def test_energy_is_booked_with_controllers_and_thermostats(name: str) -> None:
    found = find_machine(name)
    run = Run.of(found, home_site(found), rtol=1e-5)
    run.set_input("power", 1.0)
    run.advance(900.0)
    assert balances(run)["energy"] < 1e-5


# -- doses, contactors and phases: the two groups


def press(run: Run, button: str, seconds: float) -> None:
    run.set_input(button, 1.0)
    run.advance(0.5)
    run.set_input(button, 0.0)
    run.advance(seconds - 0.5)


def doses(run: Run, device: str) -> list[tuple[float, float]]:
    return [(t, phase) for t, name, phase in run.events if name == device]


@pytest.mark.parametrize("group", ["", "_2"])
def test_a_dose_ends_at_its_count(group: str) -> None:
    run = switched_on("hx-two-group", 60.0)
    meter, control = f"flow_meter{group}", f"dose_control{group}"
    before = last(run, f"metered {meter}")
    press(run, run.machine.value(f"{control}.button"), 60.0)  # type: ignore[arg-type]
    (_, began), (ended_s, ended) = doses(run, control)
    assert (began, ended) == (1.0, 0.0)
    counted = Results(run).series(f"metered {meter}").at(ended_s) - before
    assert counted == pytest.approx(float(run.machine.value(f"{control}.dose_ml")), abs=0.05)


def test_a_dose_without_pulses_runs_until_its_time_is_out() -> None:
    run = switched_on("hx-two-group", 60.0, {"flow_meter.counted_share": 0.0})
    press(run, "dose_1", 90.0)
    (began_s, _), (ended_s, _) = doses(run, "dose_control")
    assert ended_s - began_s == pytest.approx(60.0, abs=1e-6)


@pytest.mark.parametrize(
    ("changes", "share"),
    [
        ({}, 1.0),
        ({"heating_element.leg_2": "open"}, 2 / 3),
        ({"contactor.contact_3": "open"}, 2 / 3),
        ({"mains.lost": "live_2"}, 2 / 3),
    ],
)
def test_a_lost_leg_contact_or_phase_leaves_two_thirds(changes: Changes, share: float) -> None:
    """In star with neutral: 67 % (textbook of three-phase circuits); the machine of three phases."""
    run = switched_on("hx-two-group-three-phase", 5.0, changes)
    rated = float(run.machine.value("heating_element.power_W"))
    assert last(run, "power heating_element") == pytest.approx(share * rated, rel=0.01)


def test_a_dead_coil_voltage_leaves_the_contactor_open() -> None:
    """60 % of the plate's voltage: below every coil's pull-in."""
    run = switched_on("hx-two-group", 5.0, mains_V=138.0)
    assert "contactor" not in energised(run)
    assert last(run, "power heating_element") < NOTHING_W


# -- motors, diodes, cut-outs, fuses


@pytest.mark.parametrize("changes", [{"pump_motor.capacitor_uF": 5.0}, {"pump_motor.rotor": "seized"}])
def test_a_humming_motor_takes_its_locked_current_and_no_water_moves(changes: Changes) -> None:
    sound, humming = (switched_on("hx-rotary", 2.0, given) for given in ({}, changes))
    for run, flow, ampere in ((sound, 8.0, 1.6), (humming, 0.0, 5.0)):
        run.set_input("lever", 1.0)
        run.advance(10.0)
        # Running 1.6, locked 5 A: common practice, no source (two digits).
        assert last(run, "amps pump_motor") == pytest.approx(ampere, abs=0.1)
        assert (last(run, "flow pump") > 0.5 * flow) == (flow > 0.0)


def test_a_shorted_diode_makes_the_pump_hum_and_hardly_pump() -> None:
    flows = {}
    for state in ("sound", "shorted", "open"):
        run = switched_on("hx-vibration", 1.0, {"diode.state": state})
        run.set_input("lever", 1.0)
        run.advance(20.0)
        flows[state] = last(run, "flow pump")
    assert 0.0 < flows["shorted"] < 0.2 * flows["sound"]
    assert abs(flows["open"]) < 1e-6


def test_a_pump_that_runs_on_is_rested_by_its_own_cut_out_and_comes_back() -> None:
    """1 to 2 min on, 10 to 20 off: common practice, no source."""
    run = switched_on("hx-vibration", 10.0)
    run.set_input("lever", 1.0)
    run.advance(1500.0)
    (opened_s, _), (closed_s, _) = [(t, p) for t, name, p in run.events if name == "pump_cut_out"][:2]
    assert 60.0 < opened_s - 10.0 < 130.0
    assert 600.0 < closed_s - opened_s < 1200.0
    resting = (Results(run).time_s > opened_s + 1.0) & (Results(run).time_s < closed_s)
    assert np.abs(values(run, "flow pump")[resting]).max() < 0.01


@pytest.mark.parametrize(
    ("changes", "trips"),
    [
        ({"heating_element.insulation_Mohm": 0.008}, True),
        ({"heating_element.insulation_Mohm": 0.02}, False),
        ({"heating_element.insulation_Mohm": 0.008, "earth_bond.state": "open"}, False),
    ],
)
def test_a_damp_element_trips_the_residual_current_device_only_by_way_of_the_earth(
    changes: Changes, trips: bool
) -> None:
    run = switched_on("hx-vibration", 5.0, {"heating_element.damp_at_share": 0.0, **changes})
    assert bool(happened(run, "residual_current_device")) == trips
    assert (energised(run) == set()) == trips


def test_a_fuse_too_small_melts_and_all_is_dead() -> None:
    for rated, dead in ((16.0, False), (2.5, True)):
        run = switched_on("hx-vibration", 5.0, {"fuse.rated_A": rated})
        assert bool(happened(run, "fuse")) == dead
        assert (energised(run) == set()) == dead


def test_a_scorched_plug_takes_from_the_element_what_it_heats_itself_with() -> None:
    """Three ohm in series with 37.8: power falls with the square of the voltage left (Ohm, Joule)."""
    run = switched_on("hx-vibration", 5.0, {"plug.live_ohm": 3.0})
    ohm = 230.0**2 / 1400.0
    left = ohm / (ohm + 3.0)
    assert last(run, "power heating_element") == pytest.approx(1400.0 * left * left, rel=0.005)


def test_lamps_show_what_has_voltage() -> None:
    run = switched_on("hx-vibration", 2.0)
    assert {"power_lamp", "heating_lamp"} <= energised(run)
    run.force("cut_out", on=True)
    run.advance(1.0)
    assert "power_lamp" in energised(run)
    assert "heating_lamp" not in energised(run)
