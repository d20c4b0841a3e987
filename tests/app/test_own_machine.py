"""`machine new` makes a file from the numbers a technician knows; `machine show` prints a machine whole."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from collaudo.bench.machines.own import check_answer, own_machine, questions
from collaudo.bench.machines.questions import all_asked, answer, question_called, with_volts
from collaudo.cli.main import main
from collaudo.errors import InputError
from collaudo.machine.load import find_machine, library_ids, read_machine
from collaudo.parts.part import all_kinds, declared_fields
from collaudo.quantities.units import split_suffix

Captured = pytest.CaptureFixture[str]


# -- the questions


def test_every_question_is_about_a_number_and_says_how_to_know_it() -> None:
    assert len(all_asked()) > 15
    for asked in all_asked():
        declared = declared_fields(all_kinds()[asked.kind])
        assert "low" in declared[asked.field]
        assert len(asked.ask) > 10
        assert len(asked.know) > 10
        assert split_suffix(asked.field)[1]
        for other, share in (asked.fills or {}).items():
            assert "low" in declared[other]
            assert 0 < share <= 1
        for value in asked.one_of:
            assert declared[asked.field]["low"] <= value <= declared[asked.field]["high"]


@pytest.mark.parametrize("machine_id", library_ids())
def test_every_machine_is_asked_about_its_own_parts(machine_id: str) -> None:
    machine = find_machine(machine_id)
    asked = questions(machine_id)
    keys = [question.key for question in asked]
    assert len(keys) == len(set(keys)) >= 6
    assert keys[:2] == ["mains.rated_V", "mains.rated_Hz"]
    for question in asked:
        assert question.value == machine.value(question.key)
        assert question.least <= question.value <= question.most
    heaters = [name for name, part in machine.parts.items() if hasattr(part, "power_W")]
    assert {f"{name}.power_W" for name in heaters} <= set(keys)


def test_two_parts_of_a_kind_are_asked_for_by_name() -> None:
    asks = [question.ask for question in questions("dual-rotary") if question.field == "power_W"]
    assert len(asks) == 2
    assert any("(brew element)" in ask for ask in asks)


# -- answers


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("pressure_switch.opens_bar", "1.2", 1.2),
        ("pressure_switch.opens", " 1.2 bar ", 1.2),
        # 1 psi is 6894.757 Pa (NIST SP 811, appendix B.8).
        ("pressure_switch.opens_bar", "17 psi", 1.172),
        ("pressure_switch.opens_bar", "120 kPa", 1.2),
        ("boiler.volume_l", "1800 ml", 1.8),
        ("boiler.volume_l", "1.8e0", 1.8),
        # 1 inch is 25.4 mm.
        ("brew_jet.bore_mm", "0.03 in", 0.762),
        ("heating_element.power_W", "1.3 kW", 1300.0),
        ("mains.rated_Hz", "60", 60.0),
    ],
)
def test_an_answer_may_have_its_own_unit(key: str, text: str, value: float) -> None:
    question = question_called(key, questions("hx-vibration"))
    assert answer(question, text) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("machine", "name", "key"),
    [
        ("hx-vibration", "volts", "mains.rated_V"),
        ("hx-vibration", "rated_V", "mains.rated_V"),
        ("hx-vibration", "bore", "brew_jet.bore_mm"),
        ("hx-vibration", "boiler_volume", "boiler.volume_l"),
        ("hx-two-group", "boiler_pressure", "pressure_switch.opens_bar"),
        ("flow-through", "volume_l", "tank.volume_l"),
    ],
)
def test_a_plain_name_or_field_that_only_one_question_has_will_do(machine: str, name: str, key: str) -> None:
    assert question_called(name, questions(machine)).key == key


@pytest.mark.parametrize("name", ["volume_l", "volume", "set_bar"])
def test_a_name_that_fits_several_questions_is_refused_with_their_keys(name: str) -> None:
    with pytest.raises(InputError, match="could be several questions") as caught:
        question_called(name, questions("hx-vibration"))
    assert " or " in caught.value.problems[0].remedy


@pytest.mark.parametrize("machine_id", library_ids())
def test_no_plain_name_fits_two_questions(machine_id: str) -> None:
    called = [question.called for question in questions(machine_id) if question.called]
    assert len(called) == len(set(called))
    assert not set(called) & {question.field for question in questions(machine_id)}


def test_a_flow_meter_is_asked_for_pulses_and_not_for_millilitres() -> None:
    question = question_called("flow_meter_2.pulses_per_ml", questions("hx-two-group"))
    assert question.unit == "pulses/ml"
    assert question.ask.endswith("(the second)")
    assert answer(question, "1.9") == answer(question, "1.9 pulses/ml") == 1.9
    with pytest.raises(InputError, match="'2 ml' is a volume"):
        answer(question, "2 ml")


def test_a_frequency_there_is_not_is_told_the_two_there_are() -> None:
    with pytest.raises(InputError, match="it can be 50 or 60"):
        answer(question_called("hertz", questions("hx-vibration")), "61")


@pytest.mark.parametrize(("text", "value"), [("93", 93.0), ("200 degF", 93.33), ("95 °C", 95.0)])
def test_a_temperature_may_be_in_fahrenheit(text: str, value: float) -> None:
    question = question_called("brew_controller.set_degC", questions("dual-rotary"))
    assert answer(question, text) == value


@pytest.mark.parametrize(
    ("key", "text", "message"),
    [
        ("brew_jet.bore_mm", "6", "brew_jet.bore_mm is 6; it can be 0.02 to 3"),
        ("brew_jet.bore_mm", "0.6 bar", "'0.6 bar' is a pressure"),
        ("brew_jet.bore_mm", "0,6", "write a point for the decimal comma"),
        ("brew_jet.bore_mm", "wide", "is not a number with a unit"),
        ("brew_jet.bore_mm", "", "is not a number with a unit"),
        ("brew_jet.bore_mm", "nan", "is not a number with a unit"),
        ("brew_jet.bore_mm", "1e999", "too large a number"),
        ("mains.rated_Hz", "55", "it can be 50 or 60"),
        ("brew_jet.boer_mm", "0.6", "did you mean 'brew_jet.bore_mm'"),
        ("machine", "Mine", "'Mine' is no id"),
        ("machine", "hx-rotary", "is one of the library"),
        ("title", "two\nlines", "the title is not one line of text"),
        ("title", " ", "the title is not one line of text"),
        # Right by itself, too near the safety valve of 1.8 bar.
        ("pressure_switch.opens_bar", "1.6", "too near the 1.8 bar at which safety_valve lifts"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_at_once(key: str, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        check_answer("hx-vibration", {}, key, text)
    assert all(problem.remedy and not problem.line for problem in caught.value.problems)


def test_an_answer_is_looked_at_beside_those_before() -> None:
    check_answer("hx-vibration", {"safety_valve.set_bar": "2.2"}, "pressure_switch.opens_bar", "1.6")
    with pytest.raises(InputError, match=r"too near the 1\.5 bar"):
        check_answer("hx-vibration", {"pressure_switch.opens_bar": "1.4"}, "safety_valve.set_bar", "1.5")


# -- the file


def test_the_file_gives_what_is_known_and_passes_the_check(tmp_path: Path) -> None:
    path = tmp_path / "by-the-window.yaml"
    answers = {"boiler.volume_l": "2.1", "brew_jet.bore": "0.6", "title": "Window: old #2"}
    made = own_machine("hx-vibration", answers, file=str(path))
    path.write_text(made.text, encoding="utf-8")
    machine = find_machine(str(path))
    assert (machine.id, machine.title) == ("by-the-window", "Window: old #2")
    assert (machine.value("boiler.volume_l"), machine.value("brew_jet.bore_mm")) == (2.1, 0.6)
    assert machine.value("pump.shutoff_bar") == find_machine("hx-vibration").value("pump.shutoff_bar")
    assert set(machine.spreads) == {"boiler.volume_l", "brew_jet.bore_mm"}
    assert made.answered == {"boiler.volume_l": 2.1, "brew_jet.bore_mm": 0.6}
    assert len(made.kept) == len(questions("hx-vibration")) - 2
    assert all(f"#   {question.key}: " in made.text for question in made.kept)


@pytest.mark.parametrize("machine_id", library_ids())
def test_no_answer_at_all_is_the_other_machine(machine_id: str) -> None:
    made = own_machine(machine_id, {})
    assert made.machine.parts == find_machine(machine_id).parts
    assert made.machine.id == f"my-{machine_id}"
    assert made.machine.spreads == find_machine(machine_id).spreads


@pytest.mark.parametrize("machine_id", library_ids())
def test_answering_what_is_so_already_changes_nothing(machine_id: str) -> None:
    answers = {question.key: f"{question.value:.10g}" for question in questions(machine_id)}
    made = own_machine(machine_id, answers)
    other = find_machine(machine_id)
    assert made.kept == ()
    for name, part in made.machine.parts.items():
        if part.kind != "tank":  # what stands in it goes with its volume
            assert part == other.parts[name]


def test_coils_are_wound_for_the_voltage_on_the_plate() -> None:
    """At half the volts a quarter of the ohms takes the same power."""
    base = find_machine("hx-rotary")
    machine = own_machine("hx-rotary", {"mains.rated_V": "115", "mains.rated_Hz": "60"}).machine
    for key in ("fill_valve.coil_ohm", "pump_motor.winding_ohm", "pump_motor.winding_henry"):
        assert machine.value(key) == pytest.approx(0.25 * float(base.value(key)), rel=1e-3)
    assert machine.value("pump_motor.capacitor_uF") == pytest.approx(
        4.0 * float(base.value("pump_motor.capacitor_uF")), rel=1e-3
    )
    assert machine.value("heating_element.power_W") == base.value("heating_element.power_W")
    for key in with_volts():
        kind, _, field = key.partition(".")
        assert "low" in declared_fields(all_kinds()[kind])[field]


def test_a_tank_is_filled_by_its_share() -> None:
    machine = own_machine("hx-vibration", {"tank.volume_l": "1.5"}).machine
    assert (machine.value("tank.volume_l"), machine.value("tank.water_l")) == (1.5, 1.2)


def test_a_file_may_be_like_one_of_ones_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shop").mkdir()
    first = own_machine("hx-vibration", {"boiler.volume_l": "2.1"}, file="first.yaml")
    Path("first.yaml").write_text(first.text, encoding="utf-8")
    second = own_machine("first.yaml", {"brew_jet.bore_mm": "0.65"}, file="shop/second.yaml")
    assert 'like: "../first.yaml"' in second.text
    Path("shop/second.yaml").write_text(second.text, encoding="utf-8")
    machine = find_machine("shop/second.yaml")
    assert (machine.value("boiler.volume_l"), machine.value("brew_jet.bore_mm")) == (2.1, 0.65)


# -- the command


def run(*words: str) -> int:
    return main(["machine", *words])


def test_the_command_writes_a_file_and_never_over_another(tmp_path: Path, capsys: Captured) -> None:
    path = tmp_path / "mine.yaml"
    command = ["new", "--like", "hx-vibration", "-o", str(path)]
    assert run(*command, "--answer", "boiler.volume_l=2.1", "--answer", "title=The old one") == 0
    assert "1 known, 10 not known" in capsys.readouterr().err
    before = path.read_text(encoding="utf-8")
    assert run("check", str(path)) == 0
    assert run(*command) == 2
    assert "this file is there already" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == before
    assert run(*command, "--force") == 0
    assert "volume_l: 2.1" not in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--like", "hx-vibratoin"], "unknown machine 'hx-vibratoin'"),
        (["--like", "hx-vibration", "--answer", "boiler.volume_l"], "has no '='"),
        (["--like", "hx-vibration", "--answer", "boiler.volume_l=1", "--answer", "boiler.volume=2"], "twice"),
        (["--like", "hx-vibration", "--answer", "boiler.volume_l=100"], "it can be"),
        (["--like", "hx-vibration", "-o", "mine.txt"], "a machine file ends in .yaml"),
        (["--like", "hx-vibration", "-o", "no-such-folder/mine.yaml"], "there is no folder"),
    ],
)
def test_the_command_refuses_what_cannot_be(words: list[str], message: str, capsys: Captured) -> None:
    assert run("new", *words) == 2
    assert message in capsys.readouterr().err


def test_the_questions_are_listed_in_words_and_in_json(capsys: Captured) -> None:
    assert run("new", "--like", "hx-vibration", "--questions") == 0
    text = capsys.readouterr().out
    assert "Frequency on the rating plate: 50 Hz, 50 or 60" in text
    assert run("new", "--like", "hx-vibration", "--questions", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert [item["key"] for item in found] == [question.key for question in questions("hx-vibration")]
    assert set(found[0]) == {"key", "ask", "know", "unit", "value", "least", "most", "one_of", "called"}


def test_json_tells_what_was_made(capsys: Captured) -> None:
    assert run("new", "--like", "hx-vibration", "--json", "--answer", "boiler.volume_l=2.1") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["answered"] == {"boiler.volume_l": 2.1}
    assert (found["machine"], found["file"]) == ("my-hx-vibration", None)
    assert read_machine(found["text"]).value("boiler.volume_l") == 2.1


class Typed(io.StringIO):
    """What a person types at a terminal."""

    def isatty(self) -> bool:
        return True


def at_a_terminal(monkeypatch: pytest.MonkeyPatch, lines: list[str]) -> Any:
    told = Typed()
    monkeypatch.setattr("sys.stdin", Typed("\n".join(lines) + "\n"))
    monkeypatch.setattr("sys.stderr", told)
    return told


def test_at_a_terminal_every_question_is_asked_and_looked_at(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    asked = questions("hx-vibration")
    lines = ["" for _ in asked]
    at = [question.key for question in asked].index("boiler.volume_l")
    lines[at : at + 1] = ["?", "100", "2100 ml"]
    told = at_a_terminal(monkeypatch, ["a bell \a", "The one by the window", *lines])
    assert run("new", "--like", "hx-vibration") == 0
    made = capsys.readouterr().out
    assert "boiler: {volume_l: 2.1}" in made
    assert "title: The one by the window" in made
    assert "the title is not one line of text" in told.getvalue()
    assert told.getvalue().count("Volume of the boiler [1.8 l]") == 3
    assert "from its length and bore" in told.getvalue()
    assert "boiler.volume_l is 100; it can be" in told.getvalue()


def test_what_is_answered_on_the_command_line_is_not_asked(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    told = at_a_terminal(monkeypatch, ["" for _ in questions("hx-vibration")])
    assert run("new", "--like", "hx-vibration", "--answer", "volts=225") == 0
    assert "rated_V: 225" in capsys.readouterr().out
    assert "Voltage on the rating plate" not in told.getvalue()


def test_answers_that_end_early_make_no_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    told = at_a_terminal(monkeypatch, ["", ""])
    path = tmp_path / "mine.yaml"
    assert run("new", "--like", "hx-vibration", "-o", str(path)) == 2
    assert "the answers end here" in told.getvalue()
    assert not path.exists()


def test_a_machine_is_shown_whole(tmp_path: Path, capsys: Captured) -> None:
    assert run("show", "hx-rotary") == 0
    path = tmp_path / "whole.yaml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    assert find_machine(str(path)).parts == find_machine("hx-rotary").parts
    assert run("show", "hx-rotary", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert list(found)[:5] == ["machine", "title", "parts", "lines", "wires"]
    assert run("show", "hx-rotarry") == 2
