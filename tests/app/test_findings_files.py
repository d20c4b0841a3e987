"""Findings files: every good form is read, every bad one is refused with file, line and remedy."""

from __future__ import annotations

import json
import os
import re
import sys
from pathlib import Path

import pytest

from collaudo.cli.main import main
from collaudo.diagnosis.findings_file import Case, Vocabulary, read_case, read_root
from collaudo.diagnosis.next_check import Condition
from collaudo.diagnosis.noise import Finding
from collaudo.errors import FindingsFileError

ROOT = Path(__file__).parents[2]
LIBRARY = ROOT / "src" / "collaudo" / "library"
HEAD = "machine: hx-vibration\n"


@pytest.fixture(scope="module")
def words() -> Vocabulary:
    from collaudo.diagnosis.building import vocabulary_of

    return vocabulary_of("hx-vibration")


def case_of(text: str, words: Vocabulary) -> Case:
    root, machine = read_root(text, name="job.yaml")
    return read_case(root, machine, words)


# --- good forms -----------------------------------------------------------------------------------------


def test_a_file_that_names_the_machine_alone_is_enough(words: Vocabulary) -> None:
    case = case_of(HEAD, words)
    assert (case.machine, case.findings, case.known) == ("hx-vibration", (), {})
    assert case.condition == Condition("cold", "on")


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("blind-disc: {brew_gauge: 9.6 bar}", Finding("blind-disc.brew_gauge", 9.6)),
        ("blind-disc: {brew_gauge: 960 kPa}", Finding("blind-disc.brew_gauge", 9.6)),
        ("blind-disc: {brew_gauge: 9.6bar}", Finding("blind-disc.brew_gauge", 9.6)),
        ("blind-disc: {brew_gauge: low}", Finding("blind-disc.brew_gauge", "low")),
        ("blind-disc: {rim: weeps}", Finding("blind-disc.rim", "weeps")),
        (
            "blind-disc: {rim: {value: weeps, doubted: true}}",
            Finding("blind-disc.rim", "weeps", doubted=True),
        ),
        ("blind-disc: {brew_gauge: {value: 9.6 bar}}", Finding("blind-disc.brew_gauge", 9.6)),
        ("warm-up: {first_off: never}", Finding("warm-up.first_off", None)),
        ("warm-up: {first_off: 510 s}", Finding("warm-up.first_off", 8.5)),
        ("warm-up: {group_50_min: 203 degF}", Finding("warm-up.group_50_min", 95.0)),
        ("legs: {difference: 7.2 K}", Finding("legs.difference", 7.2)),
        ("meter: {element: 0.038 kohm}", Finding("meter.element", 38.0)),
        (
            "look: {wet_place: {value: rim, doubted: false}}",
            Finding("look.wet_place", "rim", doubted=False),
        ),
    ],
)
def test_one_finding_can_be_written_in_many_ways(written: str, found: Finding, words: Vocabulary) -> None:
    (finding,) = case_of(f"{HEAD}findings:\n  {written}\n", words).findings
    assert (finding.reading, finding.doubted) == (found.reading, found.doubted)
    assert finding.value == (pytest.approx(found.value) if isinstance(found.value, float) else found.value)


def test_several_readings_of_one_thing_are_a_list(words: Vocabulary) -> None:
    text = "findings:\n  blind-disc: {brew_gauge: [9.4 bar, {value: 9.9 bar, doubted: true}, normal]}\n"
    assert case_of(HEAD + text, words).findings == (
        Finding("blind-disc.brew_gauge", 9.4),
        Finding("blind-disc.brew_gauge", 9.9, doubted=True),
        Finding("blind-disc.brew_gauge", "normal"),
    )


def test_what_is_known_of_site_machine_and_settings_is_taken_in_its_unit(words: Vocabulary) -> None:
    text = (
        "site: {mains_V: 228, altitude_m: 0, room_degC: 20, feed_degC: 12, mains_Hz: 50}\n"
        "known: {boiler.volume: 1800 ml, heating_element.power_W: 1380}\n"
        "settings: {boiler_pressure: 115 kPa, brew_pressure_bar: 9.2}\n"
    )
    known = dict(case_of(HEAD + text, words).known)
    assert known == {
        "site.mains_V": 228.0,
        "site.atmosphere_Pa": pytest.approx(101325.0),  # ISO 2533:1975, sea level
        "site.room_K": pytest.approx(293.15),
        "site.feed_K": pytest.approx(285.15),
        "boiler.volume_l": pytest.approx(1.8),
        "heating_element.power_W": 1380.0,
        "setting.boiler_pressure_bar": pytest.approx(1.15),
        "setting.brew_pressure_bar": 9.2,
    }


def test_complaints_history_parts_and_condition_are_words_or_lists_of_them(words: Vocabulary) -> None:
    text = (
        "complaint: [slow, loud]\nhistory: hard-water\ncondition: {heat: hot, lid: 'off'}\n"
        "cleaned: brew_jet\nreplaced: [pump, strainer]\nproven_good: [mains]\nnote: the owner waits\n"
    )
    case = case_of(HEAD + text, words)
    assert [finding.value for finding in case.findings] == ["slow", "loud"]
    assert case.history == ("hard-water",)
    assert case.condition == Condition("hot", "off")
    assert (case.cleaned, case.replaced, case.proven_good) == (
        ("brew_jet",),
        ("pump", "strainer"),
        ("mains",),
    )
    assert case_of(HEAD + "condition: warm\n", words).condition == Condition("warm", "on")


# --- refused --------------------------------------------------------------------------------------------

BAD = {
    # what is wrong: (text, line, words of the message, words of the remedy)
    "unknown machine": ("machine: hx-vibratoin\n", 1, "unknown machine 'hx-vibratoin'", "'hx-vibration'"),
    "no machine": ("complaint: slow\n", 1, "has no 'machine'", "add 'machine"),
    "machine is a number": ("machine: 5\n", 1, "machine is the number 5", "write a text"),
    "machine file that is not there": (
        "note: x\nmachine: mine.yaml\n",
        2,
        "there is no machine file 'mine.yaml'",
        "beside this file",
    ),
    "unknown key": (HEAD + "complain: slow\n", 2, "unknown key 'complain'", "'complaint'"),
    "unknown complaint": (HEAD + "complaint: [slow, lukewarm]\n", 2, "complaint: unknown 'lukewarm'", ""),
    "unknown history word": (HEAD + "history: [hardwater]\n", 2, "unknown 'hardwater'", "'hard-water'"),
    "unknown part cleaned": (HEAD + "\ncleaned:\n  - brew_jets\n", 4, "unknown 'brew_jets'", "'brew_jet'"),
    "unknown part replaced": (HEAD + "replaced: [vane_pump]\n", 2, "replaced: unknown 'vane_pump'", ""),
    "unknown part proven good": (HEAD + "proven_good: main\n", 2, "proven_good: unknown 'main'", "'mains'"),
    "unknown check": (
        HEAD + "findings:\n  blind-disk: {rim: dry}\n",
        3,
        "unknown check 'blind-disk'",
        "'blind-disc'",
    ),
    "unknown reading": (
        HEAD + "findings:\n  blind-disc:\n    gauge: 9 bar\n",
        4,
        "check blind-disc has no reading 'gauge'",
        "'brew_gauge'",
    ),
    "unknown outcome": (
        HEAD + "findings:\n  blind-disc:\n    rim: wet\n",
        4,
        "blind-disc.rim: unknown 'wet'",
        "'weeps'",
    ),
    "number for an outcome": (
        HEAD + "findings:\n  blind-disc: {rim: 3}\n",
        3,
        "blind-disc.rim is the number 3",
        "write a text",
    ),
    "number without unit": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: 9.6}\n",
        3,
        "is the number 9.6 without a unit",
        "write '9.6 bar'",
    ),
    "unit without number": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: bar}\n",
        3,
        "'bar' is not a number with a unit",
        "a pressure is written",
    ),
    "wrong dimension": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: 9.6 g}\n",
        3,
        "'9.6 g' is a mass",
        "a pressure is written",
    ),
    "unknown unit": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: 9.6 baar}\n",
        3,
        "unknown unit 'baar'",
        "a pressure is written",
    ),
    "decimal comma": (
        HEAD + 'findings:\n  blind-disc: {brew_gauge: "9,6 bar"}\n',
        3,
        "'9,6 bar' is not a number",
        "write a point",
    ),
    "far too much": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: 1e9 bar}\n",
        3,
        "blind-disc.brew_gauge is 1e+09",
        "check the unit",
    ),
    "beyond all numbers": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: 1e999 bar}\n",
        3,
        "too large a number",
        "a pressure is written",
    ),
    "not a number": (HEAD + "findings:\n  blind-disc: {brew_gauge: .nan}\n", 3, "not a finite number", ""),
    "not a number with a unit": (
        HEAD + "findings:\n  blind-disc: {brew_gauge: nan bar}\n",
        3,
        "'nan bar' is not a number",
        "a pressure is written",
    ),
    "infinite": (HEAD + "findings:\n  blind-disc: {brew_gauge: .inf}\n", 3, "not a finite number", ""),
    "below absolute zero": (
        HEAD + "findings:\n  warm-up: {group_50_min: -300 degC}\n",
        3,
        "below absolute zero",
        "give at least -273.15",
    ),
    "empty reading": (HEAD + "findings:\n  blind-disc: {brew_gauge: }\n", 3, "brew_gauge is empty", ""),
    "empty check": (HEAD + "findings:\n  blind-disc:\n", 3, "blind-disc is empty", "write a mapping"),
    "true for a reading": (HEAD + "findings:\n  blind-disc: {rim: true}\n", 3, "rim is true", ""),
    "doubt that is no truth value": (
        HEAD + "findings:\n  blind-disc: {rim: {value: dry, doubted: perhaps}}\n",
        3,
        "doubted is the text 'perhaps'",
        "write true or false",
    ),
    "doubt without a value": (
        HEAD + "findings:\n  blind-disc: {rim: {doubted: true}}\n",
        3,
        "blind-disc.rim has no 'value'",
        "add 'value",
    ),
    "list in a list": (
        HEAD + "findings:\n  blind-disc: {rim: [[dry]]}\n",
        3,
        "rim is a list",
        "write a text",
    ),
    "unknown site key": (HEAD + "site: {main_V: 230}\n", 2, "unknown key 'main_V'", "'mains_V'"),
    "impossible site": (HEAD + "site: {mains_V: 12000}\n", 2, "site.mains_V is 12000", "80 to 460"),
    "unknown setting": (
        HEAD + "settings: {boiler: 1.1 bar}\n",
        2,
        "unknown key 'boiler'",
        "'boiler_pressure'",
    ),
    "setting without unit": (
        HEAD + "settings: {boiler_pressure: 1.1}\n",
        2,
        "1.1 without a unit",
        "write '1.1 bar'",
    ),
    "text where the key has the unit": (
        HEAD + "known: {boiler.volume_l: many}\n",
        2,
        "known.boiler.volume_l: 'many' is not a number",
        "",
    ),
    "unknown machine value": (
        HEAD + "known: {pump.power: 50 W}\n",
        2,
        "known has the unknown key 'pump.power'",
        "",
    ),
    "unknown condition": (HEAD + "condition: tepid\n", 2, "condition: unknown 'tepid'", "cold, hot, warm"),
    "unknown lid": (HEAD + "condition: {lid: ajar}\n", 2, "condition.lid: unknown 'ajar'", "off, on"),
    "findings are a list": (HEAD + "findings: [look]\n", 2, "findings is a list", "write a mapping"),
    "a list and no mapping": ("- machine\n", 1, "the findings file is a list", "write a mapping"),
    "key given twice": (HEAD + "complaint: slow\ncomplaint: loud\n", 3, "'complaint' stands twice", "line 2"),
    "cut off": (HEAD + "findings:\n  blind-disc: {rim: d", 3, "not readable as YAML", "close the bracket"),
    "tab": (HEAD + "findings:\n\tlook: {smell: none}\n", 3, "tab character", "use spaces"),
    "object tag": ("machine: !!python/object/apply:os.system ['true']\n", 1, "tag", "leave it out"),
    "alias bomb": (
        "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nmachine: *c\n",
        1,
        "anchor or alias",
        "write the value out",
    ),
}


def refused(path: Path, capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    """The messages of a file that is refused: exit code 2, nothing on standard output, no traceback."""
    assert main(["diagnose", str(path), *options]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert "Traceback" not in output.err
    lines = output.err.splitlines()
    assert all(line.startswith("collaudo: ") for line in lines)
    return lines


@pytest.mark.usefixtures("signatures")
@pytest.mark.parametrize("name", BAD)
def test_a_bad_findings_file_is_refused_with_file_line_and_remedy(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, line, message, remedy = BAD[name]
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    (said,) = refused(path, capsys)
    found = re.fullmatch(rf"collaudo: {re.escape(str(path))}:{line}: (.+) -- (.+)", said)
    assert found, said
    assert message in found[1]
    assert remedy in found[2]


@pytest.mark.usefixtures("no_signatures")
@pytest.mark.parametrize("name", ["unknown reading", "unknown part cleaned", "number without unit"])
def test_it_is_refused_alike_before_signatures_are_built(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, line, message, _ = BAD[name]
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    (said,) = refused(path, capsys)
    assert said.startswith(f"collaudo: {path}:{line}: ")
    assert message in said


@pytest.mark.usefixtures("signatures")
def test_every_problem_of_a_file_is_told_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "job.yaml"
    text = (
        f"{HEAD}complaint: slowly\ncleaned: [jet]\nfindings:\n"
        "  blind-disc: {brew_gauge: 9.6}\n  loock: {smell: none}\n"
    )
    path.write_text(text, encoding="utf-8")
    lines = [int(said.split(":")[2]) for said in refused(path, capsys, "--json")]
    assert lines == [2, 3, 5, 6]


@pytest.mark.usefixtures("signatures")
@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the file is empty"),
        (b"# nothing yet\n", "the file is empty"),
        (bytes(range(256)) * 8, "not a text in UTF-8"),
        (b"machine: hx\0vibration\n", "binary character"),
        (b"machine: hx-vibration\nnote: " + b"x" * 300_000, "larger than 256 kB"),
        (b"machine: hx-vibration\ncleaned:\n" + b"  - a\n" * 25_000, "more than 20000 values"),
        (b"machine: hx-vibration\nfindings: " + b"[" * 200, "nested deeper than 20"),
    ],
    ids=["empty", "comment", "binary", "nul", "huge", "endless", "deep"],
)
def test_a_file_that_is_no_findings_file_at_all_is_refused(
    content: bytes, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(content)
    (said,) = refused(path, capsys)
    assert said.startswith(f"collaudo: {path}:")
    assert message in said
    assert " -- " in said


def test_what_is_no_file_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "slow.yaml").write_text(HEAD, encoding="utf-8")
    (said,) = refused(tmp_path, capsys)
    assert "this is a folder" in said
    (said,) = refused(tmp_path / "slo.yaml", capsys)
    assert said.endswith("slo.yaml: no such file -- did you mean 'slow.yaml'?")
    (said,) = refused(Path("x" * 5000), capsys)
    assert "cannot be read" in said
    if sys.platform != "win32":
        os.mkfifo(tmp_path / "pipe.yaml")
        (said,) = refused(tmp_path / "pipe.yaml", capsys)
        assert "this is no ordinary file" in said


@pytest.mark.usefixtures("no_signatures")
def test_a_machine_file_beside_the_findings_that_is_broken_tells_its_own_problems(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = (LIBRARY / "machines" / "hx-vibration.yaml").read_text(encoding="utf-8")
    machine = tmp_path / "mine.yaml"
    broken = good.replace("power_W: 1400", "power_W: -1400").replace("kind: boiler", "kind: biler")
    machine.write_text(broken, encoding="utf-8")
    job = tmp_path / "job.yaml"
    job.write_text("machine: mine.yaml\ncomplaint: slow\n", encoding="utf-8")
    said = refused(job, capsys)
    assert len(said) == 2
    assert all(line.startswith(f"collaudo: {machine}:") for line in said)
    assert any("power_W is -1400" in line for line in said)
    assert any("did you mean 'boiler'" in line for line in said)


@pytest.mark.usefixtures("no_signatures")
def test_a_huge_machine_file_beside_the_findings_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mine.yaml").write_bytes(b"# " + b"x" * 3_000_000)
    job = tmp_path / "job.yaml"
    job.write_text("machine: mine.yaml\n", encoding="utf-8")
    (said,) = refused(job, capsys)
    assert "larger than 256 kB" in said


def test_a_machine_file_is_found_beside_the_findings_wherever_one_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from tests.app.made_signatures import make_signatures

    monkeypatch.setenv("COLLAUDO_SIGNATURES", str(tmp_path / "signatures"))
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "jobs"
    folder.mkdir()
    good = (LIBRARY / "machines" / "hx-vibration.yaml").read_text(encoding="utf-8")
    (folder / "mine.yaml").write_text(good, encoding="utf-8")
    (folder / "job.yaml").write_text("machine: mine.yaml\ncomplaint: slow\n", encoding="utf-8")
    make_signatures(str(folder / "mine.yaml"), 16)
    assert main(["diagnose", str(Path("jobs") / "job.yaml"), "--draws", "16", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["machine"] == "mine.yaml"
    assert answer["draws"] == 16


# --- the file to fill in --------------------------------------------------------------------------------


@pytest.mark.parametrize("machine", ["hx-vibration", "hx-rotary"])
def test_a_new_findings_file_holds_every_reading_and_can_be_filled_in(
    machine: str, capsys: pytest.CaptureFixture[str]
) -> None:
    from collaudo.diagnosis.building import vocabulary_of

    assert main(["findings", "new", machine]) == 0
    text = capsys.readouterr().out
    words = vocabulary_of(machine)
    case = case_of(text, words)
    assert (case.machine, case.findings, case.known) == (machine, (), {})
    filled = case_of(filled_in(text), words)
    wanted = set(words.readings)
    assert {finding.reading for finding in filled.findings} == wanted
    assert len(filled.known) >= 8
    assert filled.history == ("frost",)


def filled_in(text: str) -> str:
    """The file with every # taken away that stands before something to fill in, and that filled in."""
    lines = []
    for line in text.splitlines():
        if not (found := re.fullmatch(r"# ( *[\w.-]+):( .*)?", line)) or "any of:" in line:
            continue
        key, value = found[1], (found[2] or "").split("  #")[0].strip()
        if key.strip() in ("parts", *VAGUE):
            continue
        if value.startswith("…"):
            low = re.search(r"(-?[\d.]+) to ", line)
            value = value.replace("…", low[1] if low else "50")
        value = value.split(" | ")[0]
        lines.append(f"{key}: {'[frost]' if key == 'history' else value}")
    return HEAD.replace("hx-vibration", re.search(r"machine: (\S+)", text)[1]) + "\n".join(lines)  # type: ignore[index]


VAGUE = (
    "new-beans", "new-grinder", "new-machine", "moved", "descaled-lately", "stood-for-months", "frost",
    "hard-water", "other-water", "worked-on-lately", "never-cleaned", "ran-dry",
)  # fmt: skip
"""Words of the history stand with what they mean, to be copied."""


def test_a_new_findings_file_is_written_once_and_never_over_another(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.yaml"
    assert main(["findings", "new", "hx-vibration", "-o", str(path)]) == 0
    output = capsys.readouterr()
    assert output.out == ""
    assert str(path) in output.err
    text = path.read_text(encoding="utf-8")
    assert main(["findings", "new", "hx-rotary", "-o", str(path)]) == 2
    assert "this file is there already" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == text
    assert main(["findings", "new", "hx-rotary", "-o", str(tmp_path / "no" / "job.yaml")]) == 2
    assert "there is no folder" in capsys.readouterr().err


def test_problems_of_a_text_name_it(words: Vocabulary) -> None:
    with pytest.raises(FindingsFileError, match=r"^job\.yaml:2: complaint: unknown 'sour'") as caught:
        case_of(HEAD + "complaint: sour\n", words)
    assert len(caught.value.problems) == 1
