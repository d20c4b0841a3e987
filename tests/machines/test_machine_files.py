"""Machine files: the library loads, and every word of a file is read or refused with its line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from collaudo.errors import InputError, MachineFileError, QuantityError, UnknownNameError
from collaudo.machine import load, places, spreads
from collaudo.machine.load import find_machine, library_ids, library_text, read_machine
from collaudo.machine.model import Machine, SpreadOf
from collaudo.machine.site import home_site
from collaudo.machine.source import read_source
from collaudo.machine.writer import dump
from collaudo.parts.part import all_kinds, declared_fields, kind_named
from tests.machines.messages import messages_of
from tests.machines.plain_machine import PLAIN, Edit, Expected, check_refused, edited, problems_of, read

# -- the library


@pytest.mark.parametrize("machine_id", library_ids())
def test_machines_of_the_library_load(machine_id: str) -> None:
    machine = find_machine(machine_id)
    assert machine.id == machine_id
    for name, setting in machine.settings.items():
        assert setting.low <= float(machine.value(setting.sets)) <= setting.high, name


def test_no_two_machines_of_the_library_have_one_title() -> None:
    assert len({find_machine(name).title for name in library_ids()}) == len(library_ids())


def without_places(machine: Machine) -> Machine:
    """A machine that no longer knows where it was written."""
    return replace(machine, file="", lines=tuple(replace(line, line=0, file="") for line in machine.lines))


def test_a_machine_written_again_is_the_same_machine() -> None:
    again = read_machine(dump(read_source(PLAIN).plain()))
    assert without_places(again) == without_places(read(PLAIN))


def test_a_machine_is_found_by_id_or_by_file(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(library_text("hx-vibration"), encoding="utf-8")
    assert find_machine(str(path)).parts == find_machine("hx-vibration").parts
    with pytest.raises(
        UnknownNameError, match="unknown machine 'hx-vibratoin' -- did you mean 'hx-vibration'"
    ):
        find_machine("hx-vibratoin")
    with pytest.raises(MachineFileError, match="no such file"):
        find_machine(str(tmp_path / "other.yaml"))


def test_a_machine_stands_at_home_on_the_mains_of_its_plate() -> None:
    machine = read(edited([("rated_V: 230, rated_Hz: 50", "rated_V: 120, rated_Hz: 60")]))
    home = home_site(machine)
    assert (home.mains_V, home.mains_Hz) == (120.0, 60.0)
    away = home_site(machine, {"mains_V": 108.0, "feed_K": 290.0})
    assert (away.mains_V, away.mains_Hz, away.feed_K) == (108.0, 60.0, 290.0)


def test_spreads_and_places_are_read() -> None:
    machine = read(
        PLAIN
        + "spreads:\n  pump.shutoff_bar: {share: 0.1}\n  check_valve.leak_ml_per_min_at_9_bar: {log: 1}\n"
        "drawing:\n  pump: [2, 3.5]\n  tank: [0, -1]\n"
    )
    assert machine.spreads["pump.shutoff_bar"] == SpreadOf("share", 0.1)
    assert machine.spreads["check_valve.leak_ml_per_min_at_9_bar"] == SpreadOf("log", 1.0)
    assert machine.drawing == {"pump": (2.0, 3.5), "tank": (0.0, -1.0)}
    assert (read(PLAIN).spreads, read(PLAIN).drawing) == ({}, {})


# -- what is refused


def replaced(line: str) -> list[Edit]:
    """The first line of the machine's list of lines, written otherwise."""
    return [("{from: tank.out, to: strainer.in, bore_mm: 5, length_mm: 300}", line)]


REFUSED: dict[str, tuple[Sequence[Edit], Sequence[Expected]]] = {
    # the file
    "no title": (
        [("title: Heat exchanger, vibration pump, tank, lever group\n", "")],
        [("machine: plain", "the machine file has no 'title'", "add 'title: …'")],
    ),
    "a key that does not exist": (
        [("settings:", "setings:")],
        [("setings:", "the machine file has the unknown key 'setings'", "did you mean 'settings'")],
    ),
    "an id with capitals": (
        [("machine: plain", "machine: HX vibration")],
        [("machine: HX", "machine: 'HX vibration' is no id", "small letters")],
    ),
    "an id that is a number": (
        [("machine: plain", "machine: 12")],
        [("machine: 12", "machine is the number 12", "write a text")],
    ),
    # parts
    "a name with a point": (
        [("  brew_gauge: {", "  brew.gauge: {")],
        [("  brew.gauge:", "'brew.gauge' is no name for a part", "small letters")],
    ),
    "a part that is a word": (
        [("brew_gauge: {kind: gauge}", "brew_gauge: gauge")],
        [("brew_gauge: g", "part brew_gauge is the text 'gauge'", "write a mapping")],
    ),
    "a part without kind": (
        [("brew_gauge: {kind: gauge}", "brew_gauge: {compliance_ml_per_bar: 0.02}")],
        [("brew_gauge: {", "part brew_gauge has no 'kind'", "add 'kind: …'")],
    ),
    "an unknown kind, and no word of the wires to it": (
        [("kind: vibration_pump", "kind: vibration_pmp")],
        [("vibration_pmp", "kind of pump: unknown 'vibration_pmp'", "did you mean 'vibration_pump'")],
    ),
    "an unknown kind, and no word of the setting of it": (
        [("relief_valve: {kind: relief_valve", "relief_valve: {kind: relief")],
        [("{kind: relief,", "kind of relief_valve: unknown 'relief'", "did you mean 'relief_valve'")],
    ),
    "a field that does not exist": (
        [("shutoff_bar: 15.5", "shutof_bar: 15.5")],
        [("shutof_bar", "vibration_pump 'pump' has no field 'shutof_bar'", "did you mean 'shutoff_bar'")],
    ),
    "a word for a number": (
        [("shutoff_bar: 15.5", "shutoff_bar: much")],
        [("much", "pump.shutoff_bar is the text 'much'", "write a number")],
    ),
    "a number for a word": (
        [("passes: steam", "passes: 3")],
        [("passes: 3", "steam_tap.passes is the number 3", "write a text")],
    ),
    "a number out of its range": (
        [("shutoff_bar: 15.5", "shutoff_bar: 155")],
        [("shutoff_bar", "pump.shutoff_bar is 155; it can be 0.5 to 30", "dead-end pressure")],
    ),
    "a word that is none of the few": (
        [("passes: steam", "passes: milk")],
        [("passes: milk", "steam_tap.passes is 'milk'; it can be steam, water", "what it is for")],
    ),
    # lines
    "lines that are no list": (
        [("lines:\n", "lines: none\nothers:\n")],
        [
            ("lines: none", "lines is the text 'none'", "write a list"),
            ("others:", "the machine file has the unknown key 'others'", "known: drawing, like, lines"),
        ],
    ),
    "a line that is a list": (
        replaced("[tank.out, strainer.in]"),
        [("[tank.out", "a line is a list", "write a mapping")],
    ),
    "a line without end": (
        replaced("{from: tank.out, bore_mm: 5}"),
        [("tank.out, bore", "a line has no 'to'", "add 'to: …'")],
    ),
    "a line with a key that does not exist": (
        replaced("{from: tank.out, to: strainer.in, bore_mm: 5, lenght_mm: 300}"),
        [("lenght_mm", "a line has the unknown key 'lenght_mm'", "did you mean 'length_mm'")],
    ),
    "a line that is too wide": (
        replaced("{from: tank.out, to: strainer.in, bore_mm: 500}"),
        [("bore_mm: 500", "bore_mm is 500", "it can be 0.2 to 60")],
    ),
    "a bore that is a word": (
        replaced("{from: tank.out, to: strainer.in, bore_mm: wide}"),
        [("wide", "bore_mm is the text 'wide'", "write a number")],
    ),
    "an end that is a number": (
        replaced("{from: 7, to: strainer.in, bore_mm: 5}"),
        [("from: 7", "from is the number 7", "write a text")],
    ),
    "a line to a part there is not": (
        replaced("{from: tnak.out, to: strainer.in, bore_mm: 5}"),
        [("tnak.out", "no part 'tnak' for a line", "did you mean 'tank'")],
    ),
    "a line to a port there is not": (
        replaced("{from: tank.out, to: strainer.inn, bore_mm: 5}"),
        [("strainer.inn", "strainer has no port 'inn'", "did you mean 'in'")],
    ),
    "a line to a part without ports": (
        replaced("{from: mains.live, to: strainer.in, bore_mm: 5}"),
        [("mains.live, to", "mains has no port 'live'", "mains carries no water")],
    ),
    "a line to itself": (
        replaced("{from: tank.out, to: tank.out, bore_mm: 5}"),
        [("to: tank.out", "a line from tank.out to itself", "join two ports")],
    ),
    # wires
    "a wire of three ends": (
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, pressure_switch.a, mains.live]")],
        [("[cut_out.b", "a wire joins two terminals", "write '- [part.terminal, part.terminal]'")],
    ),
    "a wire that is a word": (
        [("[cut_out.b, pressure_switch.a]", "cut_out.b")],
        [
            ("- cut_out.b", "a wire is the text 'cut_out.b'", "write a list"),
            ("- cut_out.b", "a wire joins two terminals", "write '- ["),
        ],
    ),
    "a wire to a number": (
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, 5]")],
        [("[cut_out.b, 5]", "a wire's end is the number 5", "write a text")],
    ),
    "a wire to a part there is not": (
        [("[cut_out.b, pressure_switch.a]", "[cutout.b, pressure_switch.a]")],
        [("[cutout.b", "no part 'cutout' for a wire", "did you mean 'cut_out'")],
    ),
    "a wire to a terminal there is not": (
        [("[cut_out.b, pressure_switch.a]", "[cut_out.c, pressure_switch.a]")],
        [("[cut_out.c", "cut_out has no terminal 'c'", "known: a, b")],
    ),
    "a wire to a part without terminals": (
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, screen.in]")],
        [("screen.in]", "screen has no terminal 'in'", "screen carries no current")],
    ),
    "a wire to itself": (
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, cut_out.b]")],
        [("[cut_out.b, cut_out.b]", "a wire from cut_out.b to itself", "join two terminals")],
    ),
    # settings
    "a setting without range": (
        [("sets: relief_valve.set_bar, low: 8.5, high: 10.5", "sets: relief_valve.set_bar, low: 8.5")],
        [("brew_pressure", "setting brew_pressure has no 'high'", "add 'high: …'")],
    ),
    "a setting with a key that does not exist": (
        [("low: 8.5, high: 10.5", "low: 8.5, high: 10.5, step: 0.5")],
        [("step", "setting brew_pressure has the unknown key 'step'", "did you mean 'sets'")],
    ),
    "a setting of nothing": (
        [("sets: relief_valve.set_bar", "sets: relief_valve.set")],
        [
            (
                "brew_pressure",
                "setting brew_pressure moves 'relief_valve.set', which is no number",
                "did you mean 'relief_valve.set_bar'",
            )
        ],
    ),
    "a setting of a part there is not": (
        [("sets: relief_valve.set_bar", "sets: releif_valve.set_bar")],
        [
            (
                "brew_pressure",
                "setting brew_pressure moves 'releif_valve.set_bar', which is no number",
                "did you mean 'relief_valve'",
            )
        ],
    ),
    "a setting of a word": (
        [("sets: relief_valve.set_bar", "sets: portafilter.holds")],
        [
            (
                "brew_pressure",
                "setting brew_pressure moves 'portafilter.holds', which is no number",
                "did you mean 'portafilter.b",
            )
        ],
    ),
    "a setting upside down": (
        [("low: 8.5, high: 10.5", "low: 10.5, high: 8.5")],
        [("brew_pressure", "setting brew_pressure: low 10.5 is not below high 8.5", "swap them")],
    ),
    "a setting beyond its field": (
        [("low: 8.5, high: 10.5", "low: 8.5, high: 105")],
        [
            (
                "brew_pressure",
                "setting brew_pressure goes from 8.5 to 105",
                "relief_valve.set_bar can be 0.5 to 20",
            )
        ],
    ),
    # spreads and drawing
    "a spread of a part there is not": (
        [("settings:", "spreads: {pmp.shutoff_bar: {share: 0.1}}\nsettings:")],
        [("spreads:", "spread of 'pmp.shutoff_bar': no such part", "did you mean 'pump'")],
    ),
    "a spread of a word": (
        [("settings:", "spreads: {pump.winding: {share: 0.1}}\nsettings:")],
        [("spreads:", "spread of 'pump.winding', which is no number", "did you mean")],
    ),
    "a spread given two ways": (
        [("settings:", "spreads: {pump.shutoff_bar: {share: 0.1, sd: 1}}\nsettings:")],
        [("spreads:", "spread of pump.shutoff_bar is given 2 ways", "give one of share, sd, log")],
    ),
    "a spread as wide as the value": (
        [("settings:", "spreads: {pump.shutoff_bar: {share: 1.5}}\nsettings:")],
        [("spreads:", "spread of pump.shutoff_bar: share is 1.5", "it can be 0 to 1")],
    ),
    "a spread in another way": (
        [("settings:", "spreads: {pump.shutoff_bar: {range: 1.5}}\nsettings:")],
        [("spreads:", "spread of pump.shutoff_bar has the unknown key 'range'", "known: log, sd, share")],
    ),
    "a place of a part there is not": (
        [("settings:", "drawing: {pmp: [1, 2]}\nsettings:")],
        [("drawing:", "drawing of 'pmp': no such part", "did you mean 'pump'")],
    ),
    "a place of three numbers": (
        [("settings:", "drawing: {pump: [1, 2, 3]}\nsettings:")],
        [("drawing:", "drawing of pump is no place", "write '[column, row]'")],
    ),
    "a place that is a word": (
        [("settings:", "drawing: {pump: [left, 2]}\nsettings:")],
        [("drawing:", "drawing of pump is the text 'left'", "write a number")],
    ),
    "a place off the sheet": (
        [("settings:", "drawing: {pump: [1, 2000]}\nsettings:")],
        [("drawing:", "drawing of pump is off the sheet", "columns and rows go to 100")],
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_every_word_that_cannot_be_is_refused_with_its_line(case: str) -> None:
    edits, expected = REFUSED[case]
    check_refused(edited(edits), expected)


def bare(parts: str, lines: str) -> str:
    return f"machine: bare\ntitle: Bare\nparts: {parts}\nlines: {lines}\nwires: []\n"


def test_all_problems_are_told_at_once_in_the_order_of_the_file() -> None:
    edits = [
        ("shutoff_bar: 15.5", "shutoff_bar: 155"),
        ("bore_mm: 5,", "bore_mm: 500,"),
        ("cut_out.a]", "cut_out.x]"),
    ]
    problems = problems_of(edited(edits))
    assert len(problems) == 3
    assert [problem.line for problem in problems] == sorted(problem.line for problem in problems)


@pytest.mark.parametrize(("module", "least"), [(load, 8), (spreads, 4), (places, 3)])
def test_no_message_is_without_a_case(module: Any, least: int) -> None:
    said = {message for _, expected in REFUSED.values() for _, message, _ in expected}
    patterns = messages_of(module)
    assert len(patterns) >= least
    assert [p for p in patterns if not any(re.fullmatch(p, message) for message in said)] == []


@pytest.mark.parametrize("text", ["", "- 1\n", "machine\n", "{}\n", bare("[]", "{}"), bare("null", "null")])
def test_files_that_hold_something_else_are_refused(text: str) -> None:
    assert all(problem.message and problem.remedy for problem in problems_of(text))


# -- fields changed in a machine


@pytest.mark.parametrize("value", [0.49, 30.01, float("nan"), float("inf"), -1.0, True, "15", None])
def test_with_fields_rejects_what_a_file_could_not_say(value: Any) -> None:
    with pytest.raises(QuantityError, match=r"pump\.shutoff_bar is"):
        read(PLAIN).with_fields({"pump.shutoff_bar": value})


def test_with_fields_rejects_words_that_are_not_known() -> None:
    machine = read(PLAIN)
    with pytest.raises(QuantityError, match="it can be nothing, basket, puck, blind"):
        machine.with_fields({"portafilter.holds": "tea"})
    with pytest.raises(QuantityError, match="is 3, not a word"):
        machine.with_fields({"portafilter.holds": 3})
    with pytest.raises(UnknownNameError, match="did you mean 'shutoff_bar'"):
        machine.with_fields({"pump.shutof_bar": 12.0})
    with pytest.raises(UnknownNameError, match="did you mean 'pump'"):
        machine.with_fields({"pmp.shutoff_bar": 12.0})
    with pytest.raises(UnknownNameError):
        machine.with_fields({"pump.name": "other"})


def test_with_fields_leaves_the_machine_it_came_from_alone() -> None:
    machine = read(PLAIN)
    changed = machine.with_fields({"pump.shutoff_bar": 0.5, "portafilter.holds": "puck"})
    assert (changed.value("pump.shutoff_bar"), changed.value("portafilter.holds")) == (0.5, "puck")
    assert (machine.value("pump.shutoff_bar"), machine.value("portafilter.holds")) == (15.5, "nothing")
    assert changed.lines == machine.lines


# -- kinds of part


@pytest.mark.parametrize("word", sorted(all_kinds()))
def test_what_a_kind_declares_is_complete(word: str) -> None:
    """Defaults within their ranges, a meaning for every field, arrows only at ports there are."""
    kind = kind_named(word)
    assert kind.text
    assert {*kind.inward, *kind.outward, *kind.open_ports} <= set(kind.ports)
    assert not set(kind.inward) & set(kind.outward)
    assert not kind.relieved_by or kind.relieved_by in all_kinds()
    for name, declared in declared_fields(kind).items():
        assert declared["text"], name
        if "low" in declared:
            assert declared["low"] <= declared["default"] <= declared["high"], name
        if "known" in declared:
            assert declared["default"] in declared["known"], name
        assert set(declared.get("names", ())) <= set(all_kinds()), name


def test_an_unknown_kind_is_refused_with_its_neighbour() -> None:
    with pytest.raises(UnknownNameError, match="unknown kind of part 'boilr' -- did you mean 'boiler'"):
        kind_named("boilr")


def test_refusals_are_input_errors() -> None:
    assert issubclass(MachineFileError, InputError)
