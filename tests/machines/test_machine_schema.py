"""The schema of machine files: editors complete and check with it; it lets pass whatever loads."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

import pytest

from collaudo.errors import MachineFileError
from collaudo.machine.load import library_ids, library_text, read_machine
from collaudo.machine.schema import FILE_NAME, machine_schema, schema_text
from collaudo.machine.source import read_source
from tests.app.damage import damaged
from tests.machines.plain_machine import edited, like
from tests.machines.test_machine_files import REFUSED


@pytest.fixture(scope="module")
def check() -> Any:
    jsonschema = pytest.importorskip("jsonschema")
    validator = jsonschema.Draft202012Validator
    validator.check_schema(machine_schema())
    return validator(machine_schema())


def test_the_schema_beside_the_library_is_current() -> None:
    """Written by ``python -m collaudo.machine.schema``."""
    beside = resources.files("collaudo.library").joinpath(FILE_NAME).read_text(encoding="utf-8")
    assert beside == schema_text(), "run: python -m collaudo.machine.schema"
    assert json.loads(beside) == json.loads(json.dumps(machine_schema()))


@pytest.mark.parametrize("machine_id", library_ids())
def test_machines_of_the_library_fit_the_schema(machine_id: str, check: Any) -> None:
    check.validate(read_source(library_text(machine_id)).plain())


def test_whatever_loads_fits_the_schema(check: Any) -> None:
    loaded = 0
    for number in range(600):
        text = damaged(number)
        try:
            read_machine(text, name="mine.yaml")
        except MachineFileError:
            continue
        loaded += 1
        check.validate(read_source(text).plain())
    assert loaded > 50


WRONG = [
    "no title",
    "a key that does not exist",
    "an id with capitals",
    "a name with a point",
    "a part that is a word",
    "a part without kind",
    "an unknown kind, and no word of the wires to it",
    "a field that does not exist",
    "a word for a number",
    "a number out of its range",
    "a word that is none of the few",
    "a line without end",
    "a line with a key that does not exist",
    "a line that is too wide",
    "a line to a port there is not",
    "a wire of three ends",
    "a wire to a terminal there is not",
    "a setting without range",
    "a spread given two ways",
    "a spread as wide as the value",
    "a spread in another way",
    "a place of three numbers",
    "a place that is a word",
    "a place off the sheet",
]


@pytest.mark.parametrize("case", WRONG)
def test_the_schema_finds_wrong_words_and_numbers(case: str, check: Any) -> None:
    edits, _ = REFUSED[case]
    assert not check.is_valid(read_source(edited(edits)).plain())


@pytest.mark.parametrize(
    "differs",
    [
        "",
        "parts: {pump: none, boiler: {volume_l: 2}}",
        "parts: {pump: {kind: vane_pump, output_l_per_h: 150}}",
        "settings: {brew_pressure: none, boiler_pressure: {low: 1}}",
        "spreads: {pump.shutoff_bar: none}\ndrawing: {pump: none}",
        "without_lines: [[tank.out, strainer.in]]\nwithout_wires: [[cut_out.b, pressure_switch.a]]",
    ],
)
def test_a_file_like_another_gives_only_what_differs(differs: str, check: Any) -> None:
    check.validate(read_source(like("hx-vibration", differs)).plain())
    without_like = "machine: mine\ntitle: Mine\n" + differs
    assert not check.is_valid(read_source(without_like).plain())


@pytest.mark.parametrize(
    "differs",
    [
        "parts: {pump: {kind: vane_pump, output_l_per_h: 15000}}",
        "parts: {pump: gone}",
        "settings: {brew_pressure: {lo: 1}}",
        "spreads: {pump.shutoff_bar: {share: 2}}",
        "without_lines: [[tank.out]]",
        "without_wires: [[cut_out.b, pressure_switch.q]]",
    ],
)
def test_the_schema_finds_wrong_words_in_what_differs(differs: str, check: Any) -> None:
    assert not check.is_valid(read_source(like("hx-vibration", differs)).plain())
