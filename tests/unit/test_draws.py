"""Drawn machines: as different as the spreads say, the same in every build, the first few typical of all."""

from __future__ import annotations

import math

import numpy as np
import pytest

from collaudo.causes.draws import (
    BLOCK,
    Drawn,
    Spread,
    all_spreads,
    draw_machines,
    known_name,
    spreads_of,
    stratified,
)
from collaudo.checks.roles import bind_roles
from collaudo.diagnosis.building import SEED
from collaudo.machine.load import find_machine, library_ids
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Site
from collaudo.parts.part import declared_fields

COUNT = 64
each_machine = pytest.mark.parametrize("name", library_ids())


def drawn(name: str, count: int = COUNT) -> list[Drawn]:
    machine = find_machine(name)
    return draw_machines(machine, Site(), bind_roles(machine), count, SEED)


@each_machine
def test_the_first_eight_are_the_first_of_sixty_four(name: str) -> None:
    few, many = drawn(name, BLOCK), drawn(name)
    assert len(many) == COUNT
    assert few == many[:BLOCK]
    assert drawn(name) == many


@each_machine
def test_no_two_are_alike_and_none_is_the_machine_of_the_file(name: str) -> None:
    machine = find_machine(name)
    many = drawn(name)
    for place, one in enumerate(many):
        assert one.machine.parts != machine.parts
        assert all(one.machine.parts != other.machine.parts for other in many[:place])


def test_every_block_of_eight_covers_the_whole_range() -> None:
    shares = stratified(COUNT, np.random.default_rng(4))
    assert shares.shape == (COUNT,)
    for block in shares.reshape(-1, BLOCK):
        assert sorted(np.floor(BLOCK * block)) == list(range(BLOCK))
    assert list(stratified(5, np.random.default_rng(4))) == list(shares[:5])


def own_spreads(machine: Machine) -> list[Spread]:
    """Those that do not follow another value."""
    return [spread for spread in spreads_of(machine, bind_roles(machine)) if not spread.like]


def deviates(spread: Spread, machine: Machine, many: list[Drawn]) -> np.ndarray:
    """By how many standard deviations each drawn value differs from the middle."""
    start, _, field = spread.target.partition(".")
    if start == "site":
        middle = float(getattr(Site(), field))
        values = np.array([float(getattr(one.site, field)) for one in many])
    else:
        bound = bind_roles(machine)
        key = machine.settings[field].sets if start == "setting" else f"{bound[start]}.{field}"
        middle = float(machine.value(key))
        values = np.array([float(one.machine.value(key)) for one in many])
    if spread.way == "log":
        return np.log(values / middle) / spread.amount
    return (values - middle) / (spread.amount * (middle if spread.way == "share" else 1.0))


@each_machine
def test_mean_and_spread_of_the_draws_are_those_declared(name: str) -> None:
    """Within four standard errors of 64 stratified normal values, and of the first eight of them.

    Their standard errors, from 2000 such samples: 0.027 of the mean of 64, 0.077 of that of eight, 0.047 of
    the spread and 0.006 of the mean of all spreads. Draws beyond 2.65 standard deviations are drawn in, which
    takes a hundredth off the spread.
    """
    machine, many = find_machine(name), drawn(name)
    spreads = own_spreads(machine)
    assert len(spreads) > 30
    every = {spread.target: deviates(spread, machine, many) for spread in spreads}
    for target, found in every.items():
        assert abs(found.mean()) < 4 * 0.027, target
        assert abs(found[:BLOCK].mean()) < 4 * 0.077, target
        assert found.std() == pytest.approx(0.99, abs=4 * 0.047), target
    assert np.mean([found.std() for found in every.values()]) == pytest.approx(0.99, abs=4 * 0.006)


@each_machine
def test_spreads_are_independent_of_one_another(name: str) -> None:
    machine, many = find_machine(name), drawn(name)
    every = np.array([deviates(spread, machine, many) for spread in own_spreads(machine)])
    correlation = np.corrcoef(every) - np.eye(len(every))
    # Of so many pairs of 64 independent values hardly one correlates beyond 4.5 / sqrt(64).
    assert np.abs(correlation).max() < 4.5 / math.sqrt(COUNT)
    assert np.sqrt((correlation**2).mean()) < 1.5 / math.sqrt(COUNT)


# Machines with a level probe: all that have a steam boiler of their own.
PROBED = [name for name in library_ids() if name not in ("single-boiler", "flow-through")]
BY_PRESSURE = [name for name in PROBED if name != "dual-vibration"]
BY_TEMPERATURE = {
    "single-boiler": "brew_thermostat.opens_degC",
    "flow-through": "controller.set_degC",
    "dual-rotary": "brew_controller.set_degC",
    "dual-vibration": "brew_controller.set_degC",
}


@pytest.mark.parametrize("name", PROBED)
def test_a_drawn_boiler_stands_filled_to_its_own_probe(name: str) -> None:
    levels = {one.machine.value("level_control.level_share") for one in drawn(name)}
    assert len(levels) == COUNT
    for one in drawn(name):
        assert one.machine.value("boiler.filled_share") == one.machine.value("level_control.level_share")


@each_machine
def test_drawn_values_are_what_a_machine_file_may_declare(name: str) -> None:
    for one in drawn(name):
        for part in one.machine.parts.values():
            for field, declared in declared_fields(type(part)).items():
                if "low" in declared:
                    assert declared["low"] <= float(getattr(part, field)) <= declared["high"]


@each_machine
def test_what_a_technician_may_know_is_told_by_name_with_its_unit(name: str) -> None:
    machine = find_machine(name)
    one = drawn(name, 2)[1]
    assert one.known["site.mains_V"] == one.site.mains_V
    assert "site.conductivity_uS_per_cm" not in one.known
    wanted = {}
    if name in PROBED:
        wanted["boiler.volume_l"] = "boiler.volume_l"
    if name in BY_PRESSURE:
        wanted["setting.boiler_pressure_bar"] = "pressure_switch.opens_bar"
    if name in BY_TEMPERATURE:
        wanted["setting.brew_temperature_degC"] = BY_TEMPERATURE[name]
    if name != "spring-lever":
        assert known_name("setting.brew_pressure", machine) == "setting.brew_pressure_bar"
    assert wanted
    for told, key in wanted.items():
        assert one.known[told] == one.machine.value(key)
    assert set(one.known) == {
        known_name(spread.target, machine)
        for spread in spreads_of(machine, bind_roles(machine))
        if spread.known
    }


def test_only_the_spreads_of_its_own_parts_move_a_machine() -> None:
    found = {
        name: {spread.target for spread in spreads_of(find_machine(name), bind_roles(find_machine(name)))}
        for name in library_ids()
    }
    assert "vane_pump.slip_share" in found["hx-rotary"] - found["hx-vibration"]
    assert "vibration_pump.shutoff_bar" in found["hx-vibration"] - found["hx-rotary"]
    assert "spring_piston_group.squeezed_mm" in found["spring-lever"] - found["hx-vibration"]
    assert "brew_sensor.offset_K" in found["dual-rotary"] - found["single-boiler"]
    assert "brew_thermostat.lag_s" in found["single-boiler"] - found["dual-rotary"]
    assert "dose_control.dose_ml" in found["hx-two-group"] - found["hx-rotary"]
    assert {spread.target for spread in all_spreads()} == set.union(*found.values())
