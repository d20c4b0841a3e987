"""Roles: which part of a machine is meant where checks and causes speak of a kind of part."""

from __future__ import annotations

import pytest

from collaudo.checks.roles import all_roles, bind_roles, place_of, roles_in
from collaudo.machine.load import find_machine, library_ids
from collaudo.parts.part import all_kinds

# What machines of each construction have, read off the machine files by eye.
SUPPLY = (
    "mains mains_of_fifty_hertz residual_current_device fuse plug cord earth_bond power_switch power_lamp "
    "heating_lamp heated_vessel pump group screen portafilter cup"
)
TANK = "tank"
VIBRATION = "vibration_pump pump_cut_out diode"
LINE = "water_line strainer softener line_regulator backflow_preventer"
ROTARY = "vane_pump pump_motor"
BREW_CIRCUIT = "check_valve relief_valve brew_chamber tray drain_hose"
STEAM_BOILER = (
    "boiler heating_element cut_out level_control fill_valve fill_check_valve vacuum_valve safety_valve "
    "steam_gauge steam_tap steam_outlet"
)
BY_PRESSURE = "pressure_switch"
HOT_WATER = "water_tap water_outlet"
EXCHANGER = "exchanger circulation_group brew_gauge brew_jet"
LEVER_GROUP = "lever cam_lever lever_switch inlet_valve exhaust_valve"
KEYED_GROUP = "three_way_valve brew_switch brew_pump_switch"
BREW_BOILER = "brew_boiler brew_element brew_cut_out bolted_group"
CONTROLLED = "brew_sensor brew_controller brew_relay"
DOSING = "flow_meter dose_control"
SECOND_GROUP = (
    "circulation_group_2 exchanger_2 three_way_valve_2 brew_jet_2 brew_chamber_2 screen_2 portafilter_2 "
    "cup_2 flow_meter_2 dose_control_2"
)
LEVER_MACHINE = (
    SUPPLY,
    TANK,
    "strainer",
    BREW_CIRCUIT,
    STEAM_BOILER,
    BY_PRESSURE,
    HOT_WATER,
    EXCHANGER,
    LEVER_GROUP,
)
TWO_GROUP = (
    *(SUPPLY, LINE, ROTARY, BREW_CIRCUIT, STEAM_BOILER, BY_PRESSURE, HOT_WATER, EXCHANGER, KEYED_GROUP),
    *(DOSING, SECOND_GROUP, "contactor element_of_three_legs sight_glass boiler_drain mixing_valve"),
)
DUAL = (
    *(SUPPLY, BREW_CIRCUIT, STEAM_BOILER, HOT_WATER, KEYED_GROUP, BREW_BOILER, CONTROLLED),
    "mains_filter brew_gauge brew_jet",
)
SMALL = (SUPPLY, TANK, VIBRATION, BREW_CIRCUIT, KEYED_GROUP, "bolted_group")
PLAYED = {
    "hx-vibration": (*LEVER_MACHINE, VIBRATION),
    "hx-vibration-120v": (*LEVER_MACHINE, VIBRATION, "mains_of_sixty_hertz"),
    "hx-rotary": (*LEVER_MACHINE, ROTARY, "water_line inlet_selector"),
    "hx-two-group": TWO_GROUP,
    "hx-two-group-three-phase": (*TWO_GROUP, "three_phases"),
    "dual-rotary": (*DUAL, LINE, ROTARY, BY_PRESSURE),
    "dual-vibration": (
        *(*DUAL, TANK, "strainer tank_switch", VIBRATION, "steam_sensor steam_controller steam_relay"),
        "group_heater group_sensor group_controller group_relay group_cut_out",
    ),
    "single-boiler": (
        *(*SMALL, BREW_BOILER, "brew_thermostat steam_thermostat steam_switch steam_tap steam_outlet"),
        "group_strainer",
    ),
    "flow-through": (
        *SMALL,
        "flow_through_heater heater_sensor heater_controller heater_relay heater_cut_out",
    ),
    "spring-lever": (
        *(SUPPLY, TANK, "strainer", VIBRATION, STEAM_BOILER, BY_PRESSURE, "lever spring_piston_group"),
        "sight_glass boiler_drain dip_tube",
    ),
}
NOT_PLAYED = {"hx-vibration-120v": {"mains_of_fifty_hertz"}}
# Where the part is not called like its role.
CALLED = {
    "vibration_pump": "pump",
    "vane_pump": "pump",
    "steam_outlet": "room",
    "water_outlet": "water_cup",
    "circulation_group": "group",
    "bolted_group": "group",
    "spring_piston_group": "group",
    "circulation_group_2": "group_2",
    "element_of_three_legs": "heating_element",
    "mains_of_fifty_hertz": "mains",
    "mains_of_sixty_hertz": "mains",
    "three_phases": "mains",
    "cam_lever": "lever",
    "brew_pump_switch": "pump_switch",
    "heated_vessel": "boiler",
}
CALLED_ON = {
    "single-boiler": {
        "heated_vessel": "brew_boiler",
        "brew_element": "heating_element",
        "brew_cut_out": "cut_out",
    },
    "flow-through": {
        "heated_vessel": "heater",
        "flow_through_heater": "heater",
        "heater_controller": "controller",
        "heater_cut_out": "cut_out",
    },
    "dual-rotary": {"heated_vessel": "brew_boiler"},
    "dual-vibration": {"heated_vessel": "brew_boiler"},
}


def test_every_machine_of_the_library_is_told_here() -> None:
    assert set(PLAYED) == set(library_ids())


@pytest.mark.parametrize("machine", library_ids())
def test_parts_play_their_roles(machine: str) -> None:
    bound = bind_roles(find_machine(machine))
    wanted = set(" ".join(PLAYED[machine]).split()) - NOT_PLAYED.get(machine, set())
    assert set(bound) == wanted
    called = CALLED | CALLED_ON.get(machine, {})
    assert bound == {role: called.get(role, role) for role in wanted}


def test_every_role_is_played_on_some_machine() -> None:
    assert set(all_roles()) == set(" ".join(" ".join(groups) for groups in PLAYED.values()).split())


@pytest.mark.parametrize("machine", library_ids())
def test_a_part_that_plays_a_role_is_of_its_kind_and_fields(machine: str) -> None:
    described = find_machine(machine)
    bound = bind_roles(described)
    for role, name in bound.items():
        wanted, part = all_roles()[role], described.part(name)
        assert part.kind in wanted.kinds
        for key, word in wanted.fields.items():
            value = getattr(part, key)
            named = [bound.get(other) for other in word.split(" or ")]
            assert value in word.split(" or ") or value in named or str(int(value)) == word, (role, key)
        if wanted.named_by:
            other, _, key = wanted.named_by.partition(".")
            assert getattr(described.part(bound[other]), key) == name


def test_gauges_check_valves_taps_and_groups_of_one_machine_are_told_apart() -> None:
    for machine in library_ids():
        bound = bind_roles(find_machine(machine))
        for one, other in (
            ("brew_gauge", "steam_gauge"),
            ("check_valve", "fill_check_valve"),
            ("steam_tap", "water_tap"),
            ("cup", "tray"),
            ("cup", "cup_2"),
            ("portafilter", "portafilter_2"),
            ("flow_meter", "flow_meter_2"),
            ("brew_switch", "brew_pump_switch"),
            ("brew_thermostat", "steam_thermostat"),
            ("power_lamp", "heating_lamp"),
            ("heating_element", "brew_element"),
            ("cut_out", "brew_cut_out"),
            ("brew_relay", "steam_relay"),
        ):
            if {one, other} <= bound.keys():
                assert bound[one] != bound[other], (machine, one)


def test_a_machine_without_a_part_lacks_its_role_and_what_is_joined_to_it() -> None:
    from dataclasses import replace

    machine = find_machine("hx-vibration")
    parts = {name: part for name, part in machine.parts.items() if name != "steam_tap"}
    bound = bind_roles(replace(machine, parts=parts))
    assert {"steam_tap", "steam_outlet"}.isdisjoint(bound)
    assert "water_tap" in bound


def test_every_role_names_kinds_there_are() -> None:
    for name, role in all_roles().items():
        assert set(role.kinds) <= set(all_kinds()), name


def test_roles_in_a_place_are_found_and_replaced_by_names() -> None:
    bound = {"exchanger": "hx", "group": "head", "steam_tap": "left_tap"}
    place = "exchanger.hot to group.hot.leg1"
    assert roles_in(place) == ["exchanger", "group"]
    assert place_of(place, bound) == "hx.hot to head.hot.leg1"
    assert place_of("steam_tap.in", bound) == "left_tap.in"
    # A word behind a point is a port or a cell, never a role; words that are no role stay.
    assert roles_in("boiler.group") == ["boiler"]
    assert roles_in("kettle") == []
    assert place_of("kettle.group", bound) == "kettle.group"
