"""What a hand meter reads at the terminals of a machine, beside tables and values worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from collaudo.checks.formula import Scene, read_formula
from collaudo.checks.metering import ENDLESS_OHM, LEAST_OHM
from collaudo.checks.roles import bind_roles
from collaudo.errors import CatalogueError
from collaudo.machine.load import find_machine
from collaudo.parts.circuit import Site
from collaudo.twin.run import Run

Changes = Mapping[str, float | str]


def scene_of(
    machine: str, changes: Changes | None = None, inputs: tuple[str, ...] = (), **site: float
) -> Scene:
    """A cold machine a moment after hands have moved ``inputs``."""
    described = find_machine(machine).with_fields(changes or {})
    run = Run.of(described, Site(**site))
    for name in inputs:
        run.set_input(name, 1.0)
    run.advance(0.5)
    return Scene(run, {"end": run.time_s}, bind_roles(described))


def value(text: str, scene: Scene) -> float:
    return float(read_formula(text, ()).value(scene))


def test_a_platinum_sensor_measures_what_its_table_says() -> None:
    # IEC 60751:2022, table 1, ten times the 100 ohm sensor's 108.57 ohm at 22 degC, printed to 0.01 ohm.
    assert value('ohm("brew_sensor")', scene_of("dual-rotary")) == pytest.approx(1085.7, abs=0.06)


def test_a_sensor_that_falls_with_temperature_measures_what_is_printed_on_it_at_25_degrees() -> None:
    scene = scene_of("flow-through", room_K=298.15)
    assert value('ohm("heater_sensor")', scene) == pytest.approx(50_000.0, rel=1e-6)
    assert value('felt_degC("heater_sensor")', scene) == pytest.approx(25.0, abs=1e-6)


def test_a_sensor_that_has_drifted_is_off_by_its_table() -> None:
    scene = scene_of("dual-rotary", {"brew_sensor.offset_K": 5.0})
    # IEC 60751:2022, table 1: 110.51 ohm at 27 degC.
    assert value('ohm("brew_sensor")', scene) == pytest.approx(1105.1, abs=0.06)
    assert value(
        'felt_degC("brew_sensor") - at(temperature("brew_boiler"), end)'.replace("end", "0.5"), scene
    ) == (pytest.approx(5.0, abs=0.01))


@pytest.mark.parametrize(("state", "shown"), [("open", ENDLESS_OHM), ("shorted", LEAST_OHM)])
def test_a_broken_sensor_measures_endless_or_next_to_nothing_and_stands_for_no_temperature(
    state: str, shown: float
) -> None:
    scene = scene_of("dual-rotary", {"brew_sensor.state": state})
    assert value('ohm("brew_sensor")', scene) == shown
    assert math.isnan(value('felt_degC("brew_sensor")', scene))


def test_three_legs_are_measured_one_by_one_and_side_by_side() -> None:
    scene = scene_of("hx-two-group")
    # 3500 W in three legs at 230 V: 230^2 / 1166.7 = 45.343 ohm each, a third of that together.
    for leg in (1, 2, 3):
        assert value(f'ohm("element_of_three_legs.leg_{leg}")', scene) == pytest.approx(45.343, abs=1e-3)
    assert value('ohm("heating_element")', scene) == pytest.approx(15.114, abs=1e-3)
    lost = scene_of("hx-two-group", {"heating_element.leg_2": "open"})
    assert value('ohm("element_of_three_legs.leg_2")', lost) == ENDLESS_OHM
    assert value('ohm("heating_element")', lost) == pytest.approx(45.343 / 2.0, abs=1e-3)


def test_a_bond_and_a_motor_have_the_ohms_they_declare() -> None:
    scene = scene_of("hx-rotary", {"earth_bond.bond_ohm": 3.5})
    assert value('ohm("earth_bond")', scene) == 3.5
    assert value('ohm("pump_motor")', scene) == 98.0


def test_a_way_is_closed_open_or_leaks() -> None:
    scene = scene_of("dual-vibration")
    assert value('way("brew_cut_out.a")', scene) == 0.0
    assert value('way("brew_relay.a")', scene) == pytest.approx(15.0e6)
    assert value('way("brew_pump_switch.a")', scene) == ENDLESS_OHM
    pressed = scene_of("dual-vibration", inputs=("brew",))
    assert value('way("brew_pump_switch.a")', pressed) == 0.0
    shorted = scene_of("dual-vibration", {"brew_relay.state": "shorted"})
    assert value('way("brew_relay.a")', shorted) == 0.0


def test_a_cord_leads_by_copper_and_not_at_all_where_it_is_broken() -> None:
    # IEC 60228, class 5, 1.5 mm2: 13.3 ohm/km at 20 degC, so 1.5 m have 0.01995 ohm.
    assert value('way("cord.live_in")', scene_of("hx-vibration")) == pytest.approx(0.01995, abs=5e-5)
    broken = scene_of("hx-vibration", {"cord.broken": "earth"})
    assert value('way("cord.earth_in")', broken) == ENDLESS_OHM
    assert value('way("cord.live_in")', broken) == pytest.approx(0.01995, abs=5e-5)


def test_a_word_that_is_not_that_of_a_sound_part_is_found() -> None:
    scene = scene_of("hx-rotary", {"pump_motor.rotor": "seized"})
    assert value('sound("pump_motor.rotor")', scene) == 0.0
    assert value('sound("pump_motor.winding")', scene) == 1.0


def test_a_figure_follows_from_what_a_part_declares() -> None:
    free, blocked = (
        value(
            'figure("drain_hose.carries_g_per_s")',
            scene_of("hx-vibration", {"drain_hose.blocked_share": share}),
        )
        for share in (0.0, 0.99)
    )
    assert blocked < 0.05 * free


def test_insulation_is_the_least_of_all_that_heats() -> None:
    assert value("insulation_Mohm()", scene_of("dual-vibration")) == 300.0
    damp = scene_of(
        "dual-vibration", {"group_heater.insulation_Mohm": 0.2, "brew_element.insulation_Mohm": 7.0}
    )
    assert value("insulation_Mohm()", damp) == 0.2


def test_volts_and_amps_of_a_pump_with_a_motor_of_its_own_are_those_of_the_motor() -> None:
    scene = scene_of("hx-rotary", inputs=("power", "lever"))
    amps = value('at(amps("pump"), 0.5)', scene)
    # 98 ohm and 0.33 H at 50 Hz: 98 + 104j ohm, 142.6 ohm, 1.61 A at 230 V.
    assert amps == pytest.approx(230.0 / math.hypot(98.0, 2.0 * math.pi * 50.0 * 0.33), rel=2e-3)
    assert value('at(volts("pump"), 0.5)', scene) == pytest.approx(230.0, abs=1.0)
    assert value('at(load("pump"), 0.5)', scene) == 1.0


@pytest.mark.parametrize(
    ("text", "said"),
    [('ohm("cup")', "no resistance of its own"), ('way("cup.a")', "no contact begins at cup.a")],
)
def test_what_cannot_be_measured_is_said(text: str, said: str) -> None:
    with pytest.raises(CatalogueError, match=said):
        value(text, scene_of("hx-vibration"))
