"""Machine files: the library loads, every rule refuses what breaks it, and nothing else can happen."""

from __future__ import annotations

import ast
import json
import random
import re
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import yaml

from collaudo.errors import InputError, MachineFileError, Problem, QuantityError, UnknownNameError
from collaudo.machine import load, source, validate
from collaudo.machine.load import find_machine, library_ids, library_text, read_machine
from collaudo.machine.model import Machine
from collaudo.machine.schema import FILE_NAME, machine_schema, schema_text
from collaudo.machine.source import read_source
from collaudo.machine.writer import dump
from collaudo.parts.part import all_kinds, declared_fields, kind_named

TANK, EITHER = "hx-vibration", "hx-rotary"

Edit = tuple[str, str]
Expected = tuple[str, str, str]
"""Text that stands in the line named, the whole message, how the remedy begins."""


def edited(machine_id: str, edits: Sequence[Edit]) -> str:
    text = library_text(machine_id)
    for old, new in edits:
        assert old in text, f"{old!r} is not in {machine_id}"
        text = text.replace(old, new, 1)
    return text


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(MachineFileError) as caught:
        read_machine(text, name="mine.yaml")
    return caught.value.problems


# -- the library


def test_the_library_holds_both_heat_exchanger_machines() -> None:
    assert library_ids() == [EITHER, TANK]


@pytest.mark.parametrize("machine_id", library_ids())
def test_machines_of_the_library_load(machine_id: str) -> None:
    machine = find_machine(machine_id)
    assert machine.id == machine_id
    assert machine.parts["boiler"].kind == "boiler"
    assert [machine.value(setting.sets) for setting in machine.settings.values()] == [
        1.16,
        9.2,
    ]


@pytest.mark.parametrize("machine_id", library_ids())
def test_a_machine_loads_in_a_few_times_the_time_its_text_takes_to_parse(machine_id: str) -> None:
    """Against plain reading of the same text by the same parser, the best of nine; 2 times is usual."""
    text = library_text(machine_id)

    def best(work: Any) -> float:
        times = []
        for _ in range(9):
            start = time.perf_counter()
            work()
            times.append(time.perf_counter() - start)
        return min(times)

    parsing = best(lambda: yaml.load(text, Loader=source._PARSER))
    assert best(lambda: read_machine(text)) < 6.0 * parsing


@pytest.mark.parametrize("machine_id", library_ids())
def test_a_machine_written_again_is_the_same_machine(machine_id: str) -> None:
    text = library_text(machine_id)
    again = read_machine(dump(read_source(text).plain()))
    first = read_machine(text)

    def without_places(machine: Machine) -> Machine:
        return replace(machine, lines=tuple(replace(line, line=0) for line in machine.lines))

    assert without_places(again) == without_places(first)


def test_a_machine_is_found_by_id_or_by_file(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(library_text(TANK), encoding="utf-8")
    assert find_machine(str(path)).parts == find_machine(TANK).parts
    with pytest.raises(
        UnknownNameError, match="unknown machine 'hx-vibratoin' -- did you mean 'hx-vibration'"
    ):
        find_machine("hx-vibratoin")
    with pytest.raises(MachineFileError, match="no such file"):
        find_machine(str(tmp_path / "other.yaml"))


# -- what is allowed


def test_several_lines_may_meet_at_a_port() -> None:
    machine = find_machine(TANK)
    assert sum(line.from_port == "check_valve.out" for line in machine.lines) == 3


ALLOWED: dict[str, tuple[str, Sequence[Edit]]] = {
    "a line written from its far end": (
        TANK,
        [("{from: strainer.out, to: pump.in,", "{from: pump.in, to: strainer.out,")],
    ),
    "a relief valve teed off at the inlet of the exchanger": (
        TANK,
        [("{from: check_valve.out, to: relief_valve.in,", "{from: exchanger.in, to: relief_valve.in,")],
    ),
    "a relief valve at the group, the exchanger open to it": (
        TANK,
        [("{from: check_valve.out, to: relief_valve.in,", "{from: group.brew, to: relief_valve.in,")],
    ),
    "a relief valve that returns to the inlet of the pump": (
        TANK,
        [("{from: relief_valve.out, to: tank.return,", "{from: relief_valve.out, to: pump.in,")],
    ),
    "the water line alone": (
        EITHER,
        [
            ("  tank: {kind: tank, volume_l: 2.5, water_l: 2.0}\n", "  second_line: {kind: water_line}\n"),
            ("{from: tank.out,", "{from: second_line.out,"),
            ("to: tank.return,", "to: tray.second,"),
        ],
    ),
    "live and neutral of a load exchanged": (
        TANK,
        [
            ("[lever_switch.b, pump.live]", "[lever_switch.b, pump.neutral]"),
            ("[pump.neutral, mains.neutral]", "[pump.live, mains.neutral]"),
            ("[level_control.pump, pump.live]", "[level_control.pump, pump.neutral]"),
        ],
    ),
    "a cut-out in the neutral leg": (
        TANK,
        [
            ("  - [power_switch.b, cut_out.a]\n  - [cut_out.b, pressure_switch.a]\n", ""),
            ("[heating_element.neutral, mains.neutral]", "[heating_element.neutral, cut_out.a]"),
            (
                "[power_switch.b, lever_switch.a]",
                (
                    "[cut_out.b, mains.neutral]\n  - [power_switch.b, pressure_switch.a]\n"
                    "  - [power_switch.b, lever_switch.a]"
                ),
            ),
        ],
    ),
    "no settings": (TANK, [("settings:\n", "settings: {}\n#"), ("  boiler_p", "#"), ("  brew_p", "#")]),
}


@pytest.mark.parametrize("case", ALLOWED)
def test_machines_that_differ_from_the_library_and_are_sound(case: str) -> None:
    assert read_machine(edited(*ALLOWED[case])).id in library_ids()


# -- what is refused


def replaced(line: str) -> list[Edit]:
    """The first line of the machine's list of lines, written otherwise."""
    return [("{from: tank.out, to: strainer.in, bore_mm: 5, length_mm: 300}", line)]


REFUSED: dict[str, tuple[str, Sequence[Edit], Sequence[Expected]]] = {
    # the file
    "no title": (
        TANK,
        [("title: Heat exchanger, vibration pump, tank, lever group\n", "")],
        [("machine: hx", "the machine file has no 'title'", "add 'title: …'")],
    ),
    "a key that does not exist": (
        TANK,
        [("settings:", "setings:")],
        [("setings:", "the machine file has the unknown key 'setings'", "did you mean 'settings'")],
    ),
    "an id with capitals": (
        TANK,
        [("machine: hx-vibration", "machine: HX vibration")],
        [("machine: HX", "machine: 'HX vibration' is no id", "small letters")],
    ),
    "an id that is a number": (
        TANK,
        [("machine: hx-vibration", "machine: 12")],
        [("machine: 12", "machine is the number 12", "write a text")],
    ),
    # parts
    "a name with a point": (
        TANK,
        [("  brew_gauge: {", "  brew.gauge: {")],
        [("  brew.gauge:", "'brew.gauge' is no name for a part", "small letters")],
    ),
    "a part that is a word": (
        TANK,
        [("brew_gauge: {kind: gauge}", "brew_gauge: gauge")],
        [("brew_gauge: g", "part brew_gauge is the text 'gauge'", "write a mapping")],
    ),
    "a part without kind": (
        TANK,
        [("brew_gauge: {kind: gauge}", "brew_gauge: {compliance_ml_per_bar: 0.02}")],
        [("brew_gauge: {", "part brew_gauge has no 'kind'", "add 'kind: …'")],
    ),
    "an unknown kind, and no word of the wires to it": (
        TANK,
        [("kind: vibration_pump", "kind: vibration_pmp")],
        [("vibration_pmp", "kind of pump: unknown 'vibration_pmp'", "did you mean 'vibration_pump'")],
    ),
    "an unknown kind, and no word of the setting of it": (
        TANK,
        [("relief_valve: {kind: relief_valve", "relief_valve: {kind: relief")],
        [("{kind: relief,", "kind of relief_valve: unknown 'relief'", "did you mean 'relief_valve'")],
    ),
    "a field that does not exist": (
        TANK,
        [("shutoff_bar: 15.5", "shutof_bar: 15.5")],
        [("shutof_bar", "vibration_pump 'pump' has no field 'shutof_bar'", "did you mean 'shutoff_bar'")],
    ),
    "a word for a number": (
        TANK,
        [("shutoff_bar: 15.5", "shutoff_bar: much")],
        [("much", "pump.shutoff_bar is the text 'much'", "write a number")],
    ),
    "a number for a word": (
        TANK,
        [("passes: steam", "passes: 3")],
        [("passes: 3", "steam_tap.passes is the number 3", "write a text")],
    ),
    "a number out of its range": (
        TANK,
        [("shutoff_bar: 15.5", "shutoff_bar: 155")],
        [("shutoff_bar", "pump.shutoff_bar is 155; it can be 0.5 to 30", "dead-end pressure")],
    ),
    "a word that is none of the few": (
        TANK,
        [("passes: steam", "passes: milk")],
        [("passes: milk", "steam_tap.passes is 'milk'; it can be steam, water", "what it is for")],
    ),
    # lines
    "lines that are no list": (
        TANK,
        [("lines:\n", "lines: none\nothers:\n")],
        [
            ("lines: none", "lines is the text 'none'", "write a list"),
            ("others:", "the machine file has the unknown key 'others'", "known: drawing, like, lines"),
        ],
    ),
    "a line that is a list": (
        TANK,
        replaced("[tank.out, strainer.in]"),
        [("[tank.out", "a line is a list", "write a mapping")],
    ),
    "a line without end": (
        TANK,
        replaced("{from: tank.out, bore_mm: 5}"),
        [("tank.out, bore", "a line has no 'to'", "add 'to: …'")],
    ),
    "a line with a key that does not exist": (
        TANK,
        replaced("{from: tank.out, to: strainer.in, bore_mm: 5, lenght_mm: 300}"),
        [("lenght_mm", "a line has the unknown key 'lenght_mm'", "did you mean 'length_mm'")],
    ),
    "a line that is too wide": (
        TANK,
        replaced("{from: tank.out, to: strainer.in, bore_mm: 500}"),
        [("bore_mm: 500", "bore_mm is 500", "it can be 0.2 to 60")],
    ),
    "a bore that is a word": (
        TANK,
        replaced("{from: tank.out, to: strainer.in, bore_mm: wide}"),
        [("wide", "bore_mm is the text 'wide'", "write a number")],
    ),
    "an end that is a number": (
        TANK,
        replaced("{from: 7, to: strainer.in, bore_mm: 5}"),
        [("from: 7", "from is the number 7", "write a text")],
    ),
    "a line to a part there is not": (
        TANK,
        replaced("{from: tnak.out, to: strainer.in, bore_mm: 5}"),
        [("tnak.out", "no part 'tnak' for a line", "did you mean 'tank'")],
    ),
    "a line to a port there is not": (
        TANK,
        replaced("{from: tank.out, to: strainer.inn, bore_mm: 5}"),
        [("strainer.inn", "strainer has no port 'inn'", "did you mean 'in'")],
    ),
    "a line to a part without ports": (
        TANK,
        replaced("{from: mains.live, to: strainer.in, bore_mm: 5}"),
        [("mains.live, to", "mains has no port 'live'", "mains carries no water")],
    ),
    "a line to itself": (
        TANK,
        replaced("{from: tank.out, to: tank.out, bore_mm: 5}"),
        [("to: tank.out", "a line from tank.out to itself", "join two ports")],
    ),
    # wires
    "a wire of three ends": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, pressure_switch.a, mains.live]")],
        [("[cut_out.b", "a wire joins two terminals", "write '- [part.terminal, part.terminal]'")],
    ),
    "a wire that is a word": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "cut_out.b")],
        [
            ("- cut_out.b", "a wire is the text 'cut_out.b'", "write a list"),
            ("- cut_out.b", "a wire joins two terminals", "write '- ["),
        ],
    ),
    "a wire to a number": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, 5]")],
        [("[cut_out.b, 5]", "a wire's end is the number 5", "write a text")],
    ),
    "a wire to a part there is not": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "[cutout.b, pressure_switch.a]")],
        [("[cutout.b", "no part 'cutout' for a wire", "did you mean 'cut_out'")],
    ),
    "a wire to a terminal there is not": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "[cut_out.c, pressure_switch.a]")],
        [("[cut_out.c", "cut_out has no terminal 'c'", "known: a, b")],
    ),
    "a wire to a part without terminals": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, screen.in]")],
        [("screen.in]", "screen has no terminal 'in'", "screen carries no current")],
    ),
    "a wire to itself": (
        TANK,
        [("[cut_out.b, pressure_switch.a]", "[cut_out.b, cut_out.b]")],
        [("[cut_out.b, cut_out.b]", "a wire from cut_out.b to itself", "join two terminals")],
    ),
    # settings
    "a setting without range": (
        TANK,
        [("sets: relief_valve.set_bar, low: 8.5, high: 10.5", "sets: relief_valve.set_bar, low: 8.5")],
        [("brew_pressure", "setting brew_pressure has no 'high'", "add 'high: …'")],
    ),
    "a setting with a key that does not exist": (
        TANK,
        [("low: 8.5, high: 10.5", "low: 8.5, high: 10.5, step: 0.5")],
        [("step", "setting brew_pressure has the unknown key 'step'", "did you mean 'sets'")],
    ),
    "a setting of nothing": (
        TANK,
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
        TANK,
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
        TANK,
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
        TANK,
        [("low: 8.5, high: 10.5", "low: 10.5, high: 8.5")],
        [("brew_pressure", "setting brew_pressure: low 10.5 is not below high 8.5", "swap them")],
    ),
    "a setting beyond its field": (
        TANK,
        [("low: 8.5, high: 10.5", "low: 8.5, high: 105")],
        [
            (
                "brew_pressure",
                "setting brew_pressure goes from 8.5 to 105",
                "relief_valve.set_bar can be 0.5 to 20",
            )
        ],
    ),
    # how parts are joined
    "two mains inlets": (
        TANK,
        [("  tank: {", "  other_mains: {kind: mains}\n  tank: {")],
        [("other_mains", "the machine has 2 mains inlets", "give it exactly one part of kind mains")],
    ),
    "a reference to a part there is not": (
        TANK,
        [("{kind: exchanger}", "{kind: exchanger, in_boiler: boilr}")],
        [("boilr", "exchanger.in_boiler names 'boilr', which is no part", "did you mean 'boiler'")],
    ),
    "a reference to a part of another kind": (
        TANK,
        [("{kind: exchanger}", "{kind: exchanger, in_boiler: pump}")],
        [("in_boiler", "exchanger.in_boiler names 'pump', which is a vibration_pump", "known: boiler")],
    ),
    "a port there is not": (
        TANK,
        [("holds: nothing", "below: brew_chamber.scren")],
        [
            (
                "below",
                "portafilter.below names 'brew_chamber.scren', which is no port",
                "did you mean 'brew_chamber.screen'",
            )
        ],
    ),
    "valves without their lever": (
        TANK,
        [("  lever: {kind: lever}\n", "")],
        [
            (
                "inlet_valve: {",
                "inlet_valve.lever names 'lever', which is no part",
                "add a part of kind lever",
            ),
            ("exhaust_valve: {", "exhaust_valve.lever names 'lever', which is no part", "add a part of kind"),
        ],
    ),
    "sizes that no law covers": (
        TANK,
        [
            ("  brew_jet: {", "  hose: {kind: tube, bore_mm: 0.5, roughness_um: 100}\n  brew_jet: {"),
            (
                "{from: pump.out, to: check_valve.in, bore_mm: 4, length_mm: 250}",
                (
                    "{from: pump.out, to: hose.in, bore_mm: 4, length_mm: 250}\n"
                    "  - {from: hose.out, to: check_valve.in, bore_mm: 4, length_mm: 10}"
                ),
            ),
        ],
        [
            (
                "  hose: {",
                "hose cannot be reckoned: roughness_um is 100; with a bore of 0.5 mm it can be 0 to 25",
                "change its sizes",
            )
        ],
    ),
    "ports left open": (
        TANK,
        [("  - {from: screen.out, to: portafilter.in, bore_mm: 10, length_mm: 10}\n", "")],
        [
            (
                "  screen: {",
                "port screen.out is not connected",
                "add a line to screen.out or leave screen out",
            ),
            ("  portafilter: {", "port portafilter.in is not connected", "add a line to portafilter.in"),
        ],
    ),
    "a strainer against its arrow": (
        TANK,
        [
            ("to: strainer.in,", "to: strainer.out,"),
            ("from: strainer.out, to: pump", "from: strainer.in, to: pump"),
        ],
        [
            ("to: strainer.out", "tank.out and strainer.out are both outlets", "one of the two is fitted"),
            ("from: strainer.in", "strainer.in and pump.in are both inlets", "one of the two is fitted"),
        ],
    ),
    "a check valve against its arrow, other lines at both its ends": (
        TANK,
        [
            ("to: check_valve.in,", "to: check_valve.out,"),
            *[("from: check_valve.out,", "from: check_valve.in,") for _ in range(3)],
        ],
        [("  check_valve: {", "check_valve is fitted against its arrow", "turn it round")],
    ),
    "a check valve against its arrow beside a solenoid valve": (
        TANK,
        [
            ("to: fill_check_valve.in,", "to: fill_check_valve.out,"),
            ("from: fill_check_valve.out,", "from: fill_check_valve.in,"),
        ],
        [("  fill_check_valve: {", "fill_check_valve is fitted against its arrow", "turn it round")],
    ),
    "a pump fed from a cup": (
        TANK,
        [
            ("  tank: {kind: tank, volume_l: 2.5, water_l: 2.0}\n", ""),
            ("  strainer: {kind: strainer, bore_mm: 2.6}\n", ""),
            ("  - {from: tank.out, to: strainer.in, bore_mm: 5, length_mm: 300}\n", ""),
            ("{from: strainer.out, to: pump.in,", "{from: cup.second, to: pump.in,"),
            ("to: tank.return,", "to: tray.second,"),
        ],
        [("  pump: {", "no tank and no water line feeds pump.in", "add a line from one of them to pump.in")],
    ),
    "a pump fed by its own relief valve alone": (
        TANK,
        [
            ("  tank: {kind: tank, volume_l: 2.5, water_l: 2.0}\n", ""),
            ("  strainer: {kind: strainer, bore_mm: 2.6}\n", ""),
            ("  - {from: tank.out, to: strainer.in, bore_mm: 5, length_mm: 300}\n", ""),
            ("  - {from: strainer.out, to: pump.in, bore_mm: 5, length_mm: 150}\n", ""),
            ("to: tank.return,", "to: pump.in,"),
        ],
        [("  pump: {", "no tank and no water line feeds pump.in", "add a line from one of them to pump.in")],
    ),
    "a relief valve before the check valve": (
        TANK,
        [("{from: check_valve.out, to: relief_valve.in,", "{from: pump.out, to: relief_valve.in,")],
        [
            (
                "  exchanger: {",
                "heated volume exchanger has no relief valve that nothing can shut off",
                "join a part of kind relief_valve to it, with no check valve",
            )
        ],
    ),
    "a second check valve between relief valve and exchanger": (
        TANK,
        [
            ("  relief_valve: {", "  second_check_valve: {kind: check_valve}\n  relief_valve: {"),
            (
                "{from: check_valve.out, to: exchanger.in, bore_mm: 1.8, length_mm: 400}",
                (
                    "{from: check_valve.out, to: second_check_valve.in, bore_mm: 4}\n"
                    "  - {from: second_check_valve.out, to: exchanger.in, bore_mm: 4}"
                ),
            ),
        ],
        [("  exchanger: {", "heated volume exchanger has no relief valve that nothing can shut off", "join")],
    ),
    "a boiler without safety valve": (
        TANK,
        [
            ("  safety_valve: {kind: safety_valve, set_bar: 1.8}\n", ""),
            ("to: safety_valve.in,", "to: room.third,"),
            ("  - {from: safety_valve.out, to: room.third, bore_mm: 8, length_mm: 100}\n", ""),
        ],
        [
            (
                "  boiler: {",
                "heated volume boiler has no safety valve that nothing can shut off",
                "join a part of kind safety_valve to it",
            )
        ],
    ),
    "a safety valve behind a tap": (
        TANK,
        [
            ("{from: boiler.safety, to: safety_valve.in,", "{from: boiler.safety, to: steam_gauge.in,"),
            ("{from: steam_tap.out, to: room.in,", "{from: steam_tap.out, to: safety_valve.in,"),
        ],
        [("  boiler: {", "heated volume boiler has no safety valve that nothing can shut off", "join")],
    ),
    "water above the probe": (
        TANK,
        [("filled_share: 0.62", "filled_share: 0.7")],
        [("filled_share", "boiler is filled to 0.7, above level_control at 0.62", "fill it to 0.62 or less")],
    ),
    "a probe that leaves the element uncovered": (
        TANK,
        [("filled_share: 0.62", "filled_share: 0.3"), ("level_share: 0.62", "level_share: 0.33")],
        [
            (
                "level_share",
                "level_control lets the water fall to 0.318, which leaves heating_element uncovered",
                "set the tip above 0.332",
            )
        ],
    ),
    "a pressure switch too near the safety valve": (
        TANK,
        [("opens_bar: 1.16", "opens_bar: 1.6")],
        [
            (
                "opens_bar: 1.6",
                "pressure_switch opens at 1.6 bar, too near the 1.8 bar at which safety_valve lifts",
                "set it to 1.44 bar or less",
            )
        ],
    ),
    "an element without neutral": (
        TANK,
        [("  - [heating_element.neutral, mains.neutral]\n", "")],
        [
            (
                "  heating_element: {",
                "heating_element.neutral is joined to neither live nor neutral",
                "add a wire to heating_element.neutral",
            )
        ],
    ),
    "an element that no contact joins to live": (
        TANK,
        [("  - [power_switch.b, cut_out.a]\n", "")],
        [
            (
                "  heating_element: {",
                "heating_element.live is joined to neither live nor neutral",
                "add a wire to heating_element.live",
            )
        ],
    ),
    "a pump between live and live": (
        TANK,
        [("[pump.neutral, mains.neutral]", "[pump.neutral, power_switch.b]")],
        [("  pump: {", "pump.live and pump.neutral are both joined to live", "join one of them to neutral")],
    ),
    "a pump between neutral and neutral": (
        TANK,
        [
            ("  - [lever_switch.b, pump.live]\n", "  - [mains.neutral, pump.live]\n"),
            ("  - [level_control.pump, pump.live]\n", ""),
        ],
        [("  pump: {", "pump.live and pump.neutral are both joined to neutral", "join one of them to live")],
    ),
    "a short circuit": (
        TANK,
        [("  - [pump.neutral, mains.neutral]\n", "  - [lever_switch.b, mains.neutral]\n")],
        [("  mains: {", "live and neutral are joined with no load between", "a short circuit: take out")],
    ),
    "a cut-out that is by-passed": (
        TANK,
        [
            (
                "  - [cut_out.b, pressure_switch.a]\n",
                "  - [cut_out.b, pressure_switch.a]\n  - [cut_out.a, cut_out.b]\n",
            )
        ],
        [
            (
                "  cut_out: {",
                "heating_element has current even when cut_out is open",
                "wire cut_out in series with heating_element",
            )
        ],
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_every_rule_says_what_is_wrong_where_and_what_would_be_right(case: str) -> None:
    machine_id, edits, expected = REFUSED[case]
    text = edited(machine_id, edits)
    lines = text.splitlines()
    problems = problems_of(text)
    assert [problem.message for problem in problems] == [message for _, message, _ in expected]
    for problem, (place, _, remedy) in zip(problems, expected, strict=True):
        assert problem.file == "mine.yaml"
        assert place in lines[problem.line - 1]
        assert problem.remedy.startswith(remedy)


def bare(parts: str, lines: str) -> str:
    return f"machine: bare\ntitle: Bare\nparts: {parts}\nlines: {lines}\nwires: []\n"


def test_a_machine_of_no_parts_has_no_mains() -> None:
    lines = "[{from: tank.out, to: pump.in, bore_mm: 4}]"
    first, *others = problems_of(bare("{}", lines))
    assert (first.message, first.line) == ("the machine has 0 mains inlets", 0)
    assert [(problem.message, problem.line) for problem in others] == [
        ("no part 'tank' for a line", 4),
        ("no part 'pump' for a line", 4),
    ]


def test_all_problems_are_told_at_once_in_the_order_of_the_file() -> None:
    edits = [
        ("shutoff_bar: 15.5", "shutoff_bar: 155"),
        ("bore_mm: 5,", "bore_mm: 500,"),
        ("cut_out.a]", "cut_out.x]"),
    ]
    problems = problems_of(edited(TANK, edits))
    assert len(problems) == 3
    assert [problem.line for problem in problems] == sorted(problem.line for problem in problems)


def templates(module: Any) -> list[str]:
    """A pattern for each message a module can note."""
    patterns = []
    for node in ast.walk(ast.parse(Path(module.__file__).read_text(encoding="utf-8"))):
        if not (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "add"
        ):
            continue
        first = node.args[0]
        if isinstance(first, ast.Constant):
            patterns.append(re.escape(str(first.value)))
        elif isinstance(first, ast.JoinedStr):
            pieces = [re.escape(p.value) if isinstance(p, ast.Constant) else ".*" for p in first.values]
            patterns.append("".join(pieces))
    return patterns


@pytest.mark.parametrize(("module", "least"), [(load, 11), (validate, 15)], ids=["load", "validate"])
def test_no_rule_is_without_a_case(module: Any, least: int) -> None:
    said = {message for _, _, expected in REFUSED.values() for _, message, _ in expected}
    patterns = templates(module)
    assert len(patterns) >= least
    assert [p for p in patterns if not any(re.fullmatch(p, message) for message in said)] == []


# -- whatever a file holds


WORD = r"[\w.]+"
NUMBER = r"\b[0-9]+(?:\.[0-9]+)?\b"
END = r"\b[a-z_]+\.[a-z]+\b"


def other_word(text: str, pattern: str, others: Sequence[str], chance: random.Random) -> str:
    found = chance.choice(list(re.finditer(pattern, text)) or [re.match("", text)])
    return text[: found.start()] + chance.choice(others) + text[found.end() :]


def damaged(text: str, chance: random.Random) -> str:
    """A library file after one or two accidents of typing, copying or cutting."""
    for _ in range(chance.choice([1, 1, 2])):
        lines = text.splitlines(keepends=True) or [""]
        at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
        position = chance.randrange(len(text) + 1)
        match chance.randrange(9):
            case 0 | 1:
                text = "".join([*lines[:at], *lines[at + 1 :]])
            case 2:
                text = "".join([*lines[:at], lines[to], *lines[at:]])
            case 3:
                text = text[:position] + text[position + chance.randint(1, 40) :]
            case 4:
                text = text[:position] + chance.choice("{}[]:,-'\"#&*!|>%@\t\x00\n ä0.") + text[position:]
            case 5:
                text = other_word(text, WORD, re.findall(WORD, text) or [""], chance)
            case 6 | 7:
                text = other_word(text, END, re.findall(END, text) or [""], chance)
            case _:
                numbers = ["0", "-1", "1e308", "1e-9", ".nan", "99", "0.5", "3", "true", "null", "''"]
                text = other_word(text, NUMBER, numbers, chance)
    return text


def read_or_refuse(text: str) -> Machine | None:
    """The machine, or None after a refusal that says something and names a line of the file."""
    problems: tuple[Problem, ...]
    try:
        return read_machine(text, name="mine.yaml")
    except MachineFileError as refused:
        problems = refused.problems
    assert problems
    assert all(problem.message and problem.remedy for problem in problems)
    assert all(0 <= problem.line <= max(1, len(text.splitlines())) for problem in problems)
    return None


DAMAGED = [damaged(library_text((TANK, EITHER)[n % 2]), random.Random(n)) for n in range(500)]


def test_five_hundred_damaged_files_are_read_or_refused() -> None:
    """Enough of them get as far as the rules on how parts are joined, and enough through."""
    read, refused_for = 0, Counter[str]()
    for text in DAMAGED:
        if read_or_refuse(text) is not None:
            read += 1
        else:
            refused_for.update(problem.message.split()[-1] for problem in problems_of(text))
    assert 30 < read < 450
    assert refused_for["connected"] > 20
    assert refused_for["neutral"] > 5


@pytest.mark.parametrize("text", ["", "- 1\n", "machine\n", "{}\n", bare("[]", "{}"), bare("null", "null")])
def test_files_that_hold_something_else_are_refused(text: str) -> None:
    assert read_or_refuse(text) is None


# -- fields changed in a machine


@pytest.mark.parametrize("value", [0.49, 30.01, float("nan"), float("inf"), -1.0, True, "15", None])
def test_with_fields_rejects_what_a_file_could_not_say(value: Any) -> None:
    with pytest.raises(QuantityError, match=r"pump\.shutoff_bar is"):
        find_machine(TANK).with_fields({"pump.shutoff_bar": value})


def test_with_fields_rejects_words_that_are_not_known() -> None:
    machine = find_machine(TANK)
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
    machine = find_machine(TANK)
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


# -- the schema


def schema_check() -> Any:
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
def test_machines_of_the_library_fit_the_schema(machine_id: str) -> None:
    schema_check().validate(read_source(library_text(machine_id)).plain())


def test_whatever_loads_fits_the_schema() -> None:
    check = schema_check()
    for text in DAMAGED:
        if read_or_refuse(text) is not None:
            check.validate(read_source(text).plain())


WRONG_FOR_THE_SCHEMA = [
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
]


@pytest.mark.parametrize("case", WRONG_FOR_THE_SCHEMA)
def test_the_schema_finds_wrong_words_and_numbers(case: str) -> None:
    machine_id, edits, _ = REFUSED[case]
    assert not schema_check().is_valid(read_source(edited(machine_id, edits)).plain())


def test_refusals_are_input_errors() -> None:
    assert issubclass(MachineFileError, InputError)
