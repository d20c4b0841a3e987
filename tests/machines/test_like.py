"""A machine file that is like another: what it gives goes over the other; messages name the right file."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest

from collaudo.errors import MachineFileError, Problem
from collaudo.machine import like as like_module
from collaudo.machine import overlay
from collaudo.machine.like import MAX_STEPS
from collaudo.machine.load import find_machine, library_ids, read_machine, whole_machine
from collaudo.machine.model import Machine
from collaudo.machine.writer import dump
from tests.machines.messages import messages_of
from tests.machines.plain_machine import HERE, PLAIN, like, problems_of, read
from tests.machines.test_machine_files import without_places

FIRST_LINE = 4
"""Where what differs begins."""


def ends(machine: Machine) -> set[frozenset[str]]:
    return {frozenset((line.from_port, line.to_port)) for line in machine.lines}


def wires(machine: Machine) -> set[frozenset[str]]:
    return {frozenset(wire) for wire in machine.wires}


# -- what is laid over


@pytest.mark.parametrize("machine_id", library_ids())
def test_a_file_that_says_nothing_else_is_the_other_machine(machine_id: str) -> None:
    same = read_machine(like(machine_id, ""), name="mine.yaml")
    other = find_machine(machine_id)
    assert (same.id, same.title) == ("mine", "Mine")
    assert (same.parts, same.wires, same.settings) == (other.parts, other.wires, other.settings)
    assert without_places(same).lines == without_places(other).lines


@pytest.mark.parametrize("machine_id", library_ids())
def test_a_machine_shown_whole_reads_as_the_same_machine(machine_id: str) -> None:
    whole = dump(whole_machine(machine_id))
    assert "like:" not in whole
    assert "without" not in whole
    assert without_places(read_machine(whole)) == without_places(find_machine(machine_id))


def test_fields_go_into_the_part_of_the_same_name() -> None:
    machine = read(like("plain.yaml", "parts: {pump: {shutoff_bar: 12}}"))
    assert machine.value("pump.shutoff_bar") == 12.0
    assert machine.value("pump.free_flow_ml_per_min") == 650.0
    assert read(PLAIN).value("pump.shutoff_bar") == 15.5


def test_a_part_of_another_kind_takes_the_others_place_with_none_of_its_fields() -> None:
    machine = read(like("plain.yaml", "parts: {tray: {kind: drip_tray}, pump: {kind: vane_pump}}"))
    assert (machine.parts["tray"].kind, machine.parts["pump"].kind) == ("drip_tray", "vane_pump")
    assert machine.value("pump.output_l_per_h") == 200.0
    assert frozenset(("pump.out", "check_valve.in")) in ends(machine)


def test_a_part_taken_out_takes_its_lines_wires_settings_spreads_and_place_along() -> None:
    base = PLAIN + "spreads: {steam_gauge.offset_bar: {sd: 0.1}, pump.shutoff_bar: {share: 0.1}}\n"
    base += "drawing: {steam_gauge: [1, 1], pump: [2, 2]}\n"
    text = like("base.yaml", "parts: {steam_gauge: none, brew_gauge: none, relief_valve: {set_bar: 9}}")
    assert "steam_gauge" in base
    machine = overlaid(base, text)
    assert not {"steam_gauge", "brew_gauge"} & set(machine.parts)
    assert not any("gauge" in end for pair in ends(machine) for end in pair if not end.startswith("boiler."))
    assert (set(machine.spreads), set(machine.drawing)) == ({"pump.shutoff_bar"}, {"pump"})


def test_a_setting_of_a_part_taken_out_goes_with_it() -> None:
    text = like(
        "plain.yaml",
        """
parts:
  pressure_switch: none
  thermostat: {kind: thermostat, on: boiler, opens_degC: 122}
wires:
  - [cut_out.b, thermostat.a]
  - [thermostat.b, heating_element.live]
""",
    )
    machine = read(text)
    assert set(machine.settings) == {"brew_pressure"}
    assert not any("pressure_switch" in end for pair in wires(machine) for end in pair)


def test_a_line_between_the_same_ports_takes_the_others_place() -> None:
    machine = read(
        like("plain.yaml", "lines: [{from: strainer.in, to: tank.out, bore_mm: 7, length_mm: 90}]")
    )
    (line,) = [
        line for line in machine.lines if {line.from_port, line.to_port} == {"tank.out", "strainer.in"}
    ]
    assert (line.bore_mm, line.length_mm) == (7.0, 90.0)
    assert len(machine.lines) == len(read(PLAIN).lines)


def test_lines_and_wires_are_added_and_taken_out() -> None:
    machine = read(
        like(
            "plain.yaml",
            """
parts: {second_tray: {kind: drip_tray}, hose: {kind: drain_hose}}
lines:
  - {from: exhaust_valve.out, to: second_tray.in, bore_mm: 6}
  - {from: second_tray.drain_hose, to: hose.in, bore_mm: 16}
without_lines:
  - [tray.in, exhaust_valve.out]
wires:
  - [pump.neutral, level_control.neutral]
without_wires:
  - [mains.neutral, pump.neutral]
""",
        )
    )
    assert frozenset(("exhaust_valve.out", "second_tray.in")) in ends(machine)
    assert frozenset(("exhaust_valve.out", "tray.in")) not in ends(machine)
    assert frozenset(("pump.neutral", "level_control.neutral")) in wires(machine)
    assert frozenset(("pump.neutral", "mains.neutral")) not in wires(machine)


def test_settings_are_merged_and_taken_out() -> None:
    text = "settings: {boiler_pressure: {low: 1.0}, brew_pressure: none}"
    settings = read(like("plain.yaml", text)).settings
    assert set(settings) == {"boiler_pressure"}
    assert (settings["boiler_pressure"].low, settings["boiler_pressure"].high) == (1.0, 1.4)


def test_spreads_and_places_are_replaced_one_by_one() -> None:
    base = PLAIN + "spreads: {pump.shutoff_bar: {share: 0.1}, boiler.volume_l: {share: 0.1}}\n"
    base += "drawing: {pump: [1, 1], tank: [0, 0]}\n"
    text = "spreads: {pump.shutoff_bar: {sd: 0.5}, boiler.volume_l: none}\ndrawing: {pump: [3, 3]}\n"
    machine = overlaid(base, like("base.yaml", text))
    assert {key: (s.way, s.amount) for key, s in machine.spreads.items()} == {"pump.shutoff_bar": ("sd", 0.5)}
    assert machine.drawing == {"pump": (3.0, 3.0), "tank": (0.0, 0.0)}


def overlaid(base: str, text: str) -> Machine:
    """The machine of two texts, the lower one called ``base.yaml``."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "base.yaml").write_text(base, encoding="utf-8")
        return read_machine(text, name="mine.yaml", folder=Path(folder))


def test_a_chain_of_files_is_laid_one_over_the_other(tmp_path: Path) -> None:
    (tmp_path / "low.yaml").write_text(PLAIN, encoding="utf-8")
    (tmp_path / "sub").mkdir()
    middle = like("../low.yaml", "parts: {pump: {shutoff_bar: 13, bend_share: 0.2}}")
    (tmp_path / "sub" / "middle.yaml").write_text(middle, encoding="utf-8")
    top = tmp_path / "top.yaml"
    top.write_text(like("sub/middle.yaml", "parts: {pump: {shutoff_bar: 14}}"), encoding="utf-8")
    machine = find_machine(str(top))
    assert (machine.value("pump.shutoff_bar"), machine.value("pump.bend_share")) == (14.0, 0.2)


# -- what is refused


REFUSED: dict[str, tuple[str, list[tuple[str, int, str, str]]]] = {
    # text, and for each problem: file, line, message, how the remedy begins
    "no such machine": (
        like("hx-vibratoin", ""),
        [("mine.yaml", 3, "like: unknown machine 'hx-vibratoin'", "did you mean 'hx-vibration'")],
    ),
    "no such file": (
        like("plian.yaml", ""),
        [("mine.yaml", 3, "like: 'plian.yaml': no such file", "did you mean 'plain.yaml'")],
    ),
    "a number": (
        like("12", ""),
        [("mine.yaml", 3, "like: this is no text", "write the id of a machine of the library")],
    ),
    "itself": (
        like("mine.yaml", ""),
        [("mine.yaml", 3, "like: 'mine.yaml': no such file", "did you mean")],
    ),
    "no title": (
        "machine: mine\nlike: plain.yaml\n",
        [("mine.yaml", 1, "the machine file has no 'title'", "add 'title: …'")],
    ),
    "a part taken out that is not there": (
        like("plain.yaml", "parts: {pmp: none}"),
        [("mine.yaml", 4, "parts: the machine this is like has no 'pmp'", "did you mean 'pump'")],
    ),
    "a setting taken out that is not there": (
        like("plain.yaml", "settings: {brew_presure: none}"),
        [
            (
                "mine.yaml",
                4,
                "settings: the machine this is like has no 'brew_presure'",
                "did you mean 'brew_pressure'",
            )
        ],
    ),
    "fields of a part that is not there": (
        like("plain.yaml", "parts: {pmp: {shutoff_bar: 12}}"),
        [("mine.yaml", 4, "part pmp has no 'kind'", "add 'kind: …'")],
    ),
    "a line taken out that is not there": (
        like("plain.yaml", "without_lines: [[tank.out, pump.in]]"),
        [
            (
                "mine.yaml",
                4,
                "without_lines: there is none between pump.in and tank.out",
                "there are: pump.in and strainer.out; strainer.in and tank.out",
            )
        ],
    ),
    "a wire taken out between ends that have none": (
        like("plain.yaml", "without_wires: [[tank.out, tank.in]]"),
        [("mine.yaml", 4, "without_wires: there is none between tank.in and tank.out", "leave it out")],
    ),
    "a line taken out by one end": (
        like("plain.yaml", "without_lines:\n  - tank.out\n  - {from: tank.out, to: strainer.in}"),
        [
            ("mine.yaml", 5, "without_lines: this names no two ends", "write '- [part.end, part.end]'"),
            ("mine.yaml", 6, "without_lines: this names no two ends", "write '- [part.end, part.end]'"),
        ],
    ),
    "lines taken out that are no list": (
        like("plain.yaml", "without_lines: 3"),
        [("mine.yaml", 4, "without_lines is the number 3", "write a list")],
    ),
    "a line drawn to a part taken out": (
        like(
            "plain.yaml",
            "parts: {brew_gauge: none}\nlines: [{from: brew_gauge.in, to: cup.in, bore_mm: 2}]",
        ),
        [("mine.yaml", 5, "no part 'brew_gauge' for a line", "did you mean")],
    ),
    "parts that are a list": (
        like("plain.yaml", "parts: [pump]"),
        [("mine.yaml", 4, "parts is a list", "write a mapping")],
    ),
    "a key that does not exist": (
        like("plain.yaml", "without_wire: []"),
        [
            (
                "mine.yaml",
                4,
                "the machine file has the unknown key 'without_wire'",
                "did you mean 'without_wires'",
            )
        ],
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_laid_over_is_refused_with_its_line(case: str) -> None:
    text, expected = REFUSED[case]
    problems = problems_of(text)
    assert [(p.file, p.line, p.message) for p in problems] == [each[:3] for each in expected]
    for problem, (*_, remedy) in zip(problems, expected, strict=True):
        assert problem.remedy.startswith(remedy)


def problems_at(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(MachineFileError) as caught:
        find_machine(str(path))
    return caught.value.problems


def test_a_fault_in_the_lower_file_names_that_file_and_its_line(tmp_path: Path) -> None:
    base = tmp_path / "base.yaml"
    base.write_text(PLAIN.replace("shutoff_bar: 15.5", "shutoff_bar: 155"), encoding="utf-8")
    top = tmp_path / "top.yaml"
    top.write_text(like("base.yaml", "parts: {boiler: {volume_l: 1000}}"), encoding="utf-8")
    lower, upper = problems_at(top)
    line = PLAIN[: PLAIN.index("shutoff_bar")].count("\n") + 1
    assert (lower.file, lower.line) == (str(base), line)
    assert (upper.file, upper.line) == (str(top), FIRST_LINE)
    base.write_text("machine: [\n", encoding="utf-8")
    (fault,) = problems_at(top)
    assert fault.file == str(base)
    assert fault.message.startswith("not readable as YAML")


def test_circles_and_towers_of_files_are_refused(tmp_path: Path) -> None:
    for n in range(MAX_STEPS + 1):
        text = like(f"m{n + 1}.yaml", "")
        (tmp_path / f"m{n}.yaml").write_text(text, encoding="utf-8")
    (tmp_path / f"m{MAX_STEPS + 1}.yaml").write_text(PLAIN, encoding="utf-8")
    (tower,) = problems_at(tmp_path / "m0.yaml")
    assert tower.message == f"like: more than {MAX_STEPS} files stand one on the other"
    assert find_machine(str(tmp_path / "m2.yaml")).id == "mine"
    (tmp_path / "m1.yaml").write_text(like("./m0.yaml", ""), encoding="utf-8")
    (circle,) = problems_at(tmp_path / "m0.yaml")
    assert circle.message == "like: './m0.yaml' is in turn like this machine"
    (tmp_path / "m0.yaml").write_text(like("m0.yaml", ""), encoding="utf-8")
    (itself,) = problems_at(tmp_path / "m0.yaml")
    assert itself.message == "like: 'm0.yaml' is in turn like this machine"
    assert itself.line == FIRST_LINE - 1


def test_a_text_without_a_folder_reads_no_file() -> None:
    """A text that somebody sends must not open files of the machine that reads it."""
    with pytest.raises(MachineFileError, match="a text without a folder cannot name the file"):
        read_machine(like(str(HERE / "plain.yaml"), ""), name="mine.yaml")


def test_no_message_is_without_a_case() -> None:
    said = [message for _, expected in REFUSED.values() for _, _, message, _ in expected]
    patterns = messages_of(overlay)
    assert len(patterns) == 4
    assert [p for p in patterns if not any(re.fullmatch(p, message) for message in said)] == []
    assert like_module.MAX_STEPS == MAX_STEPS
