"""Faults put into machines of the library show on the twin where a technician looks for them.

What is expected of each is common practice, no source.
"""

from __future__ import annotations

from functools import cache

import pytest

from collaudo.causes.cause import all_causes
from collaudo.causes.faults import put_in
from collaudo.checks.course import Course, Taken, course_for, take_all
from collaudo.diagnosis.signature_set import NO_FAULT
from collaudo.machine.load import find_machine
from collaudo.machine.site import home_site

SEVERITY = 0.8
CAUSES = {cause.id: cause for cause in all_causes()}


@cache
def course(machine: str) -> Course:
    return course_for(find_machine(machine))


@cache
def taken(machine: str, cause: str) -> Taken:
    described, of = find_machine(machine), course(machine)
    faulty = put_in(CAUSES[cause], SEVERITY, described, home_site(described), of.bound)
    return take_all(of, faulty.machine, faulty.site, faulty.held)


# Machine, cause, reading in words, what a sound machine shows, what this one shows.
WORDS = [
    ("single-boiler", "brew-thermostat-open", "meter.brew_thermostat", "closed", "open"),
    ("single-boiler", "brew-cut-out-tripped", "meter.brew_cut_out", "closed", "open"),
    ("single-boiler", "steam-thermostat-welded", "steam-switch.lamp", "goes-out", "stays-lit"),
    ("single-boiler", "pump-diode-shorted", "meter.diode", "one-way", "both-ways"),
    ("single-boiler", "fuse-blown", "mains.fuse", "closed", "open"),
    ("single-boiler", "brew-element-insulation", "mains.residual_current_device", "closed", "open"),
    ("single-boiler", "earth-bond-loose", "mains-lead.earth", "0.3-ohm-or-less", "more"),
    ("single-boiler", "power-lamp-dead", "mains.power_lamp", "lit", "dark"),
    ("flow-through", "heater-relay-shorted", "meter.heater_relay", "open", "shorted"),
    ("flow-through", "heater-relay-shorted", "warm-up-heater.cut_out", "holds", "trips"),
    ("flow-through", "plug-melted", "mains-lead.live", "passes", "open"),
    ("dual-vibration", "tank-switch-stuck", "tank-switch.seated", "closed", "open"),
    ("dual-vibration", "tank-switch-welded", "tank-switch.lifted", "stops", "runs-on"),
    ("dual-vibration", "mains-filter-shorted", "meter.mains_filter", "sound", "shorted"),
    ("dual-vibration", "steam-controller-welded", "warm-up-boilers.safety_valve", "quiet", "blows"),
    ("hx-two-group-three-phase", "contactor-welded", "meter.contactor", "open", "closed"),
    ("hx-two-group-three-phase", "strainer-clogged", "blind-disc.noise", "usual", "howls"),
    ("hx-rotary", "pump-seized", "pump-motor.shaft", "turns", "stuck"),
    ("spring-lever", "board-silent", "cups-refill.refill", "run-and-stop", "silent"),
]


@pytest.mark.parametrize(("machine", "cause", "reading", "sound", "faulty"), WORDS)
def test_a_fault_shows_in_a_word(machine: str, cause: str, reading: str, sound: str, faulty: str) -> None:
    assert taken(machine, NO_FAULT)[reading] == sound
    assert taken(machine, cause)[reading] == faulty


# Machine, cause, reading, and the factor on what a sound machine shows: least and most.
NUMBERS = [
    ("single-boiler", "brew-pump-switch-dead", "dead-end.pressure", 0.0, 0.05),
    ("single-boiler", "three-way-leaking-brewing", "blind-disc.drain", 100.0, 1e6),
    ("single-boiler", "three-way-leaking-rest", "rest.group_drip", 20.0, 1e6),
    ("single-boiler", "three-way-exhaust-blocked", "shot.drained", 0.0, 0.3),
    ("single-boiler", "group-strainer-clogged", "free-flow.water", 0.0, 0.2),
    ("single-boiler", "plug-scorched", "mains.brew_element", 0.7, 0.95),
    ("single-boiler", "drain-hose-blocked", "tray-drain.time", 10.0, 1e4),
    ("flow-through", "heater-scaled", "free-flow.water", 0.3, 0.9),
    ("flow-through", "heater-open", "meter.heater", 40.0, 60.0),
    # Ohm: at severity 0.8 the supply stands at 0.79 of its voltage, and so does the current.
    ("flow-through", "mains-low", "warm-up-heater.current", 0.77, 0.81),
    ("dual-vibration", "group-joint-poor", "warm-up-boilers.group_15_min", 0.6, 0.9),
    ("dual-vibration", "brew-sensor-shorted", "warm-up-boilers.brew_current", 0.0, 1e-3),
    ("hx-two-group-three-phase", "phase-lost", "legs-current.leg_2", 0.0, 1e-3),
    ("hx-two-group-three-phase", "phase-lost", "warm-up.current", 0.66, 0.67),
    ("hx-two-group-three-phase", "element-leg-open", "warm-up.current", 0.66, 0.67),
    ("hx-two-group-three-phase", "flow-meter-dead", "dose.water", 5.0, 20.0),
    ("hx-two-group-three-phase", "mixing-valve-hot-clogged", "mixed-water-draw.temperature", 0.1, 0.6),
    ("hx-two-group-three-phase", "line-regulator-creeping", "feed.at_rest", 2.0, 4.0),
    ("hx-two-group-three-phase", "three-way-2-leaking-brewing", "blind-disc-2.drain", 100.0, 1e6),
    # A run capacitor below 85 % of its print leaves the motor standing, at three times its current.
    ("hx-rotary", "pump-capacitor-weak", "pump-motor.current", 2.8, 3.4),
    ("spring-lever", "spring-tired", "spring-shot.pressure", 0.4, 0.9),
    ("spring-lever", "piston-seals-leaking", "spring-shot.above", 100.0, 1e6),
    ("spring-lever", "spring-inlet-leaking", "heating-cycle.cup_drip", 100.0, 1e6),
    ("spring-lever", "dip-tube-broken", "spring-shot.cup", 0.0, 0.2),
]


@pytest.mark.parametrize(("machine", "cause", "reading", "least", "most"), NUMBERS)
def test_a_fault_shows_in_a_number(machine: str, cause: str, reading: str, least: float, most: float) -> None:
    sound, faulty = taken(machine, NO_FAULT)[reading], taken(machine, cause)[reading]
    assert isinstance(sound, float)
    assert isinstance(faulty, float)
    assert least * sound <= faulty <= most * sound


def test_a_dose_that_does_not_start_has_no_end() -> None:
    machine = "hx-two-group-three-phase"
    assert taken(machine, "dose-control-dead")["dose.time"] is None
    dead = taken(machine, "flow-meter-dead")["dose.time"]
    assert dead == pytest.approx(60.0, abs=1.0)  # the board's time-out


def test_a_sensor_that_has_drifted_is_told_from_a_setting() -> None:
    """Both make the coffee cold; only the sensor is off by its table."""
    sound, drifted, setting = (
        taken("flow-through", cause)
        for cause in (NO_FAULT, "heater-sensor-reads-high", "brew-temperature-set-low")
    )
    for cold in (drifted, setting):
        assert cold["shot.temperature"] < sound["shot.temperature"] - 5.0  # type: ignore[operator]
    assert drifted["sensor-hot.heater"] == pytest.approx(15.0, abs=0.5)
    assert setting["sensor-hot.heater"] == pytest.approx(0.0, abs=0.5)


def test_relay_controller_and_cut_out_are_told_apart_by_where_the_call_ends() -> None:
    shown = {
        cause: taken("flow-through", cause)
        for cause in ("heater-relay-open", "heater-controller-silent", "heater-cut-out-tripped")
    }
    for faulty in shown.values():
        assert faulty["controls.heater"] == pytest.approx(0.0, abs=5.0)
        assert faulty["controls.heater_supply"] == pytest.approx(230.0, abs=1.0)
    control = {cause: faulty["controls.heater_control"] for cause, faulty in shown.items()}
    assert control["heater-relay-open"] == pytest.approx(230.0, abs=1.0)
    assert control["heater-cut-out-tripped"] == pytest.approx(230.0, abs=1.0)
    assert control["heater-controller-silent"] == pytest.approx(0.0, abs=5.0)
    assert shown["heater-cut-out-tripped"]["meter.heater_cut_out"] == "open"
    assert shown["heater-relay-open"]["meter.heater_cut_out"] == "closed"
