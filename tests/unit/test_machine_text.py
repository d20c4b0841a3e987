"""A value changed in the text of a machine file leaves everything else in it as it was."""

from __future__ import annotations

import random

import pytest

from collaudo.bench.machines.text import with_fields
from collaudo.errors import MachineFileError
from collaudo.machine.library import library_ids, library_text
from collaudo.machine.load import read_machine
from collaudo.machine.source import read_source
from collaudo.parts.part import declared_fields

OWN = """# what is known of it
machine: shop-left
title: Left one  # at the counter
like: hx-vibration
parts:
  # measured in May
  boiler: {volume_l: 1.9}  # by weight
  pump:
    free_flow_ml_per_min: 600
    shutoff_bar: 15
  # to be measured: the jet
settings: {}
"""


def test_only_the_letters_of_the_value_change() -> None:
    assert with_fields(OWN, {"boiler.volume_l": 2.0}) == OWN.replace("volume_l: 1.9", "volume_l: 2")


def test_a_value_the_part_did_not_have_is_put_at_its_end() -> None:
    flow = with_fields(OWN, {"boiler.filled_share": 0.6})
    assert flow == OWN.replace("{volume_l: 1.9}", "{volume_l: 1.9, filled_share: 0.6}")
    block = with_fields(OWN, {"pump.winding_ohm": 50.0})
    assert block == OWN.replace("shutoff_bar: 15\n", "shutoff_bar: 15\n    winding_ohm: 50\n")


def test_a_part_the_file_did_not_name_comes_with_its_value() -> None:
    changed = with_fields(OWN, {"tank.volume_l": 3.0})
    assert read_machine(changed).value("tank.volume_l") == 3.0
    assert [line for line in OWN.splitlines() if line not in changed.splitlines()] == []


@pytest.mark.parametrize(
    "end", ["", "parts: {}\n", "parts:\n", "parts: {pump: {shutoff_bar: 15}}", "spreads: {}\n"]
)
def test_a_file_without_parts_gets_them(end: str) -> None:
    changed = with_fields(f"machine: a\ntitle: b\nlike: hx-vibration\n{end}", {"tank.volume_l": 3.0})
    assert read_machine(changed).value("tank.volume_l") == 3.0


def test_a_value_taken_out_is_as_in_the_machine_it_is_like() -> None:
    changed = with_fields(OWN, {"boiler.volume_l": None, "pump.free_flow_ml_per_min": None})
    machine = read_machine(changed)
    assert machine.value("boiler.volume_l") == 1.8
    assert machine.value("pump.free_flow_ml_per_min") == 650.0
    assert machine.value("pump.shutoff_bar") == 15.0
    assert [line for line in OWN.splitlines() if "#" in line and line.partition("#")[2] not in changed] == []


def test_what_would_lose_a_comment_is_refused() -> None:
    text = OWN.replace("free_flow_ml_per_min: 600", "free_flow_ml_per_min: 600  # by the jug")
    with pytest.raises(MachineFileError, match="cannot be changed here"):
        with_fields(text, {"pump.free_flow_ml_per_min": None})


@pytest.mark.parametrize(
    "entry", ['"none"', "none", "[a, b]", "&x {volume_l: 2}", "{volume_l: 2, volume_l: 3}", "{volume_l: 2"]
)
def test_what_cannot_be_changed_with_care_is_refused(entry: str) -> None:
    text = f"machine: a\ntitle: b\nlike: hx-vibration\nparts:\n  boiler: {entry}\n"
    with pytest.raises(MachineFileError):
        with_fields(text, {"boiler.volume_l": 2.5})


def test_every_value_of_the_library_can_be_changed_and_taken_out() -> None:
    some = random.Random(7)
    tried = 0
    for machine_id in library_ids():
        text = library_text(machine_id)
        before = read_source(text).plain()
        for name, part in read_machine(text).parts.items():
            for field, said in declared_fields(type(part)).items():
                if "low" not in said or some.random() > 0.025:
                    continue
                tried += 1
                value = float(f"{said['low'] + 0.37 * (said['high'] - said['low']):.6g}")
                changed = with_fields(text, {f"{name}.{field}": value})
                after = read_source(changed).plain()
                assert after["parts"][name][field] == value
                if field not in before["parts"].get(name, {}):
                    after["parts"][name].pop(field)
                    if not after["parts"][name] and name not in before["parts"]:
                        del after["parts"][name]
                    assert after == before
    assert tried > 30
