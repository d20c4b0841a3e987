"""Roles: which part of a machine is meant where checks and causes speak of a kind of part."""

from __future__ import annotations

import pytest

from collaudo.checks.roles import all_roles, bind_roles, place_of, roles_in
from collaudo.machine.load import find_machine, library_ids
from collaudo.parts.part import all_kinds

# Read off the machine files by eye: role -> name of the part, where the two differ or the machines do.
PLAYED = {
    "hx-vibration": {
        "vibration_pump": "pump",
        "pump": "pump",
        "check_valve": "check_valve",
        "relief_valve": "relief_valve",
        "brew_gauge": "brew_gauge",
        "steam_gauge": "steam_gauge",
        "fill_check_valve": "fill_check_valve",
        "cup": "cup",
        "tray": "tray",
        "steam_outlet": "room",
        "water_outlet": "water_cup",
        "inlet_valve": "inlet_valve",
        "exhaust_valve": "exhaust_valve",
        "power_switch": "power_switch",
        "lever_switch": "lever_switch",
        "tank": "tank",
    },
    "hx-rotary": {
        "vane_pump": "pump",
        "pump": "pump",
        "inlet_selector": "inlet_selector",
        "water_line": "water_line",
        "fill_check_valve": "fill_check_valve",
        "steam_gauge": "steam_gauge",
        "brew_gauge": "brew_gauge",
    },
}
NOT_PLAYED = {"hx-vibration": {"vane_pump", "water_line", "inlet_selector"}, "hx-rotary": {"vibration_pump"}}


@pytest.mark.parametrize("machine", library_ids())
def test_parts_play_their_roles(machine: str) -> None:
    bound = bind_roles(find_machine(machine))
    wanted = PLAYED[machine]
    assert {role: bound.get(role) for role in wanted} == wanted
    assert set(all_roles()) - set(bound) == NOT_PLAYED[machine]


@pytest.mark.parametrize("machine", library_ids())
def test_a_part_that_plays_a_role_is_of_its_kind_and_fields(machine: str) -> None:
    described = find_machine(machine)
    for role, name in bind_roles(described).items():
        wanted, part = all_roles()[role], described.part(name)
        assert part.kind in wanted.kinds
        assert all(getattr(part, key) == word for key, word in wanted.fields.items())


@pytest.mark.parametrize("machine", library_ids())
def test_different_gauges_and_check_valves_are_told_apart_by_what_they_are_joined_to(machine: str) -> None:
    bound = bind_roles(find_machine(machine))
    assert bound["brew_gauge"] != bound["steam_gauge"]
    assert bound["check_valve"] != bound["fill_check_valve"]
    assert bound["steam_tap"] != bound["water_tap"]
    assert bound["cup"] != bound["tray"]


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
