"""From findings to causes and the next check; what a sound machine shows; the signatures behind both."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from collaudo.bench.demo import demo_cases, demo_file
from collaudo.cli.main import main
from collaudo.machine.library import library_ids

ROOT = Path(__file__).parents[2]
SLOW = """\
machine: hx-vibration
complaint: slow
history: [hard-water]
findings:
  look: {wet_place: none}
  free-flow:
    water: 45 g
    brew_gauge: 7.9 bar
"""
VACUUM = """\
machine: hx-vibration
complaint: leaks
condition: {heat: hot, lid: "off"}
findings:
  warm-up:
    vacuum_valve_shuts: never
  heating-cycle:
    vacuum_valve: blows
    off_time: [22 s, 25 s]
    gauge_off: {value: 1.17 bar, doubted: true}
  shot:
    cup: normal
  look: {wet_place: top-of-boiler, smell: none}
"""


@pytest.fixture
def slow(tmp_path: Path) -> Path:
    return written(tmp_path, SLOW)


def written(folder: Path, text: str, name: str = "job.yaml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def json_of(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    assert main([*arguments, "--json"]) == 0
    output = capsys.readouterr()
    assert output.err == ""
    return json.loads(output.out)


def lines_of(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    assert main([*arguments]) == 0
    output = capsys.readouterr()
    assert output.err == ""
    return output.out.splitlines()


# --- the answer as JSON ---------------------------------------------------------------------------------


@pytest.mark.usefixtures("signatures")
def test_an_answer_holds_causes_findings_checks_the_unexplained_and_cautions(
    slow: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = json_of(capsys, "diagnose", str(slow))
    assert {"machine", "causes", "findings", "next_checks", "unexplained", "cautions"} <= set(answer)
    assert answer["machine"] == "hx-vibration"
    causes = answer["causes"]
    assert all({"cause", "part", "title", "probability"} <= set(cause) for cause in causes)
    assert "no-fault" in [cause["cause"] for cause in causes]
    chances = [cause["probability"] for cause in causes]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) == pytest.approx(1.0, abs=1e-9)
    assert all(0.0 < chance < 1.0 for chance in chances)
    assert {causes[0]["cause"], causes[1]["cause"]} == {"brew-jet-blocked", "screen-blocked"}


@pytest.mark.usefixtures("signatures")
def test_every_finding_comes_back_with_what_the_leading_causes_predict(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = json_of(capsys, "diagnose", str(written(tmp_path, VACUUM)))
    assert answer["causes"][0]["cause"] == "vacuum-valve-open"
    found = [(item["check"], item["reading"], item["value"]) for item in answer["findings"]]
    assert found == [
        ("complaint", "complaint", "leaks"),
        ("warm-up", "vacuum_valve_shuts", None),
        ("heating-cycle", "vacuum_valve", "blows"),
        ("heating-cycle", "off_time", 22.0),
        ("heating-cycle", "off_time", 25.0),
        ("heating-cycle", "gauge_off", 1.17),
        ("shot", "cup", "normal"),
        ("look", "wet_place", "top-of-boiler"),
        ("look", "smell", "none"),
    ]
    assert [item["doubted"] for item in answer["findings"]] == [False] * 5 + [True] + [False] * 3
    leaders = [cause["cause"] for cause in answer["causes"][:3]]
    for item in answer["findings"]:
        assert [predicted["cause"] for predicted in item["predicted"]][:3] == leaders
        leader = item["predicted"][0]
        if isinstance(item["value"], float):
            assert leader["low"] < leader["typical"] < leader["high"]
            assert leader["chance"] is None
        else:
            assert 0.0 < leader["chance"] < 1.0
    off_time = answer["findings"][3]
    assert off_time["unit"] == "s"
    assert off_time["predicted"][0]["speaks"] == "for"
    assert off_time["predicted"][1]["speaks"] == "against"


@pytest.mark.usefixtures("signatures")
def test_next_checks_tell_cost_and_saving_and_none_is_the_question_for_the_complaint(
    slow: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    steps = json_of(capsys, "diagnose", str(slow))["next_checks"]
    keys = {"check", "title", "minutes", "wait_minutes", "expected_saving_min", "steps", "tools", "cautions"}
    assert all(keys <= set(step) for step in steps)
    savings = [step["expected_saving_min"] for step in steps]
    assert savings == sorted(savings, reverse=True)
    assert "complaint" not in [step["check"] for step in steps]
    # Jet and screen look alike with the screen on: taking it off is what tells them apart.
    assert steps[0]["check"] == "screen-off"
    assert steps[0]["expected_saving_min"] > 0.0


@pytest.mark.usefixtures("signatures")
def test_a_hot_check_costs_waiting_from_a_cold_machine_and_none_from_a_hot_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    waits = {}
    for heat in ("cold", "hot"):
        job = written(tmp_path, SLOW + f"condition: {heat}\n")
        steps = json_of(capsys, "diagnose", str(job))["next_checks"]
        waits[heat] = {step["check"]: step["wait_minutes"] for step in steps if step["needs"] == "hot"}
    for check in waits["cold"].keys() & waits["hot"].keys():
        assert waits["cold"][check] == pytest.approx(waits["hot"][check] + 30.0)  # common practice, no source
    assert waits["hot"]


@pytest.mark.usefixtures("signatures")
def test_what_was_done_to_a_part_moves_its_causes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    chances = {}
    for done in ("", "cleaned: [brew_jet]\n", "proven_good: brew_jet\n", "replaced: [brew_jet]\n"):
        answer = json_of(capsys, "diagnose", str(written(tmp_path, SLOW + done)))
        chances[done[:6]] = {cause["cause"]: cause["probability"] for cause in answer["causes"]}
    jet = {done: chance["brew-jet-blocked"] for done, chance in chances.items()}
    assert jet[""] > jet["cleane"] > jet["replac"] > jet["proven"]


@pytest.mark.usefixtures("signatures")
def test_a_finding_no_leading_cause_explains_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = SLOW + "  mains: {voltage: 110 V}\n"
    answer = json_of(capsys, "diagnose", str(written(tmp_path, text)))
    assert answer["unexplained"] == ["mains.voltage"]
    lines = lines_of(capsys, "diagnose", str(written(tmp_path, text)))
    assert any(line.startswith("Unexplained: Mains voltage under load") and "110 V" in line for line in lines)


# --- the answer in words --------------------------------------------------------------------------------


@pytest.mark.usefixtures("signatures")
@pytest.mark.parametrize("text", [SLOW, VACUUM, "machine: hx-vibration\n"], ids=["slow", "vacuum", "nothing"])
def test_an_answer_fits_one_look(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = lines_of(capsys, "diagnose", str(written(tmp_path, text)))
    assert len(lines) <= 45
    assert max(map(len, lines)) <= 100
    assert [line[:3] for line in lines if re.match(r" \d\. ", line)] == [" 1.", " 2.", " 3."]
    assert sum(line.startswith(("Next check: ", "Repair now: ")) for line in lines) == 1
    assert sum(line.startswith(("Or check first: ", "Or repair at once: ")) for line in lines) == 1


@pytest.mark.usefixtures("signatures")
def test_chances_are_rounded_and_nothing_is_certain_or_safe(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for text in (SLOW, VACUUM):
        words = "\n".join(lines_of(capsys, "diagnose", str(written(tmp_path, text)), "--all"))
        assert not re.search(r"\d ?%|0\.\d+ \(|\b10 in 10\b|\b0 in 10", words)
        assert not re.search(r"\bsafe\b|certainly|user error|nothing wrong", words.lower())
        chances = re.findall(r"^ ?\d+\. ((?:over |under )?\d+ in 100?)\b", words, re.MULTILINE)
        assert len(chances) > 40


@pytest.mark.usefixtures("signatures")
def test_an_answer_says_what_speaks_for_and_against_beside_the_range_of_the_cause(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = lines_of(capsys, "diagnose", str(written(tmp_path, VACUUM)))
    first = lines.index(next(line for line in lines if line.startswith(" 1. ")))
    assert lines[first].endswith("Vacuum valve does not close (vacuum valve)")
    spoken = [line.strip() for line in lines[first + 1 : first + 4]]
    assert all(line.startswith("for: ") for line in spoken)
    assert any(
        re.fullmatch(
            r"for: +Heating cycle at rest, lamp out for: 22 s, 25 s \(with it [\d.]+ to [\d.]+ s\)", line
        )
        for line in spoken
    )
    assert any(" vacuum valve: blows (with it " in line for line in spoken)


@pytest.mark.usefixtures("signatures")
def test_steps_tools_and_cautions_stand_with_the_check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # With the screen proven good and the pump in question the blind disc is made next: under pressure.
    text = "machine: hx-vibration\ncomplaint: slow\nfindings:\n  free-flow: {water: 40 g}\n"
    answer = json_of(capsys, "diagnose", str(written(tmp_path, text)))
    words = " ".join(" ".join(lines_of(capsys, "diagnose", str(written(tmp_path, text)))).split())
    step = answer["next_checks"][0]
    assert f"Next check: {step['title']} ({step['check']})" in words
    for place, told in enumerate(step["steps"], 1):
        assert f"{place}. {told}" in words
    assert f"Tools: {', '.join(step['tools'])}" in words
    for caution in step["cautions"]:
        assert f"CAUTION: {caution}" in words
        assert caution in answer["cautions"]


@pytest.mark.usefixtures("signatures")
def test_a_repair_that_comes_first_is_told_with_remedy_and_cautions(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(written(tmp_path, VACUUM))
    repair = json_of(capsys, "diagnose", path)["repair"]
    assert repair["now"] is True
    assert repair["repair"] == "replace-vacuum-valve"
    assert repair["cautions"]
    words = " ".join(" ".join(lines_of(capsys, "diagnose", path)).split())
    assert f"Repair now: {repair['title']} (vacuum valve), 15 min. {repair['remedy']}" in words
    assert all(f"CAUTION: {caution}" in words for caution in repair["cautions"])
    assert "see whether the machine is cured" in words


@pytest.mark.usefixtures("signatures")
def test_all_causes_are_shown_when_asked_for(slow: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answer = json_of(capsys, "diagnose", str(slow))
    lines = lines_of(capsys, "diagnose", str(slow), "--all")
    places = [
        int(line.split(".")[0]) for line in lines if re.match(r" ?\d+\. +(?:over |under )?\d+ in ", line)
    ]
    assert places == list(range(1, len(answer["causes"]) + 1))
    assert not any("--all shows them" in line for line in lines)


# --- from the cache, and without ------------------------------------------------------------------------


def run_collaudo(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "COLLAUDO_SIGNATURES": str(folder)}
    return subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=False
    )


def test_an_answer_from_the_cache_needs_numpy_and_no_compiler(made_folder: Path, slow: Path) -> None:
    code = (
        "import sys\n"
        "from collaudo.cli.main import main\n"
        f"code = main(['diagnose', {str(slow)!r}, '--json'])\n"
        "assert 'numpy' in sys.modules\n"
        "sys.exit(code or any(name in sys.modules for name in ('numba', 'collaudo.twin', 'scipy')))"
    )
    done = run_collaudo(code, made_folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["machine"] == "hx-vibration"


def test_an_answer_from_the_cache_is_there_within_a_second(made_folder: Path, slow: Path) -> None:
    taken = []
    for _ in range(3):
        begin = time.perf_counter()
        main_code = f"from collaudo.cli.main import main; main(['diagnose', {str(slow)!r}])"
        assert run_collaudo(main_code, made_folder).returncode == 0
        taken.append(time.perf_counter() - begin)
    begin = time.perf_counter()
    assert run_collaudo("import argparse, numpy, yaml, dataclasses, json", made_folder).returncode == 0
    # On a machine that is busy with other tests everything takes longer, what it must import too.
    assert min(taken) < max(1.0, 5.0 * (time.perf_counter() - begin))


class Here(Executor):
    """Runs what it is given at once, in this process."""

    def submit(self, function: Any, /, *arguments: Any, **options: Any) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_result(function(*arguments, **options))
        return future


@pytest.fixture
def few_causes(no_signatures: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Signatures are built here, of two causes and the cold checks alone."""
    from dataclasses import replace

    from collaudo.bench.judging import signatures
    from collaudo.bench.judging.workers import Workers
    from collaudo.diagnosis import building

    @contextmanager
    def workers(machine: str) -> Iterator[Any]:
        yield Workers(machine, Here(), compiled=True)

    whole_course, whole_causes = building.course_for, building.causes_for
    few = ("complaint", "free-flow", "screen-off")
    monkeypatch.setattr(signatures, "workers", workers)
    monkeypatch.setattr(
        building,
        "course_for",
        lambda machine: replace(
            (whole := whole_course(machine)),
            checks=tuple(item for item in whole.checks if item.check.id in few),
        ),
    )
    monkeypatch.setattr(
        building,
        "causes_for",
        lambda machine, bound: tuple(
            replace(cause, seen={key: of for key, of in cause.seen.items() if key.startswith("complaint.")})
            for cause in whole_causes(machine, bound)
            if cause.id in ("no-fault", "brew-jet-blocked")
        ),
    )
    building.setup_of.cache_clear()
    yield no_signatures
    building.setup_of.cache_clear()


JOB = "machine: hx-vibration\ncomplaint: slow\nfindings:\n  free-flow: {water: 30 g}\n"


def test_signatures_that_are_missing_are_built_and_kept(
    few_causes: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = str(written(tmp_path, JOB))
    assert main(["diagnose", job, "--json", "--draws", "2"]) == 0
    output = capsys.readouterr()
    answer = json.loads(output.out)
    assert [cause["cause"] for cause in answer["causes"]] == ["brew-jet-blocked", "no-fault"]
    assert (answer["draws"], answer["first"]) == (2, False)
    told = [line for line in output.err.splitlines() if line.startswith("signatures: ")]
    assert told[0].startswith("signatures: 0 of 2 drawn machines")
    assert told[-1] == "signatures: 2 of 2 drawn machines, done"
    (folder,) = few_causes.iterdir()
    assert sorted(file.name for file in folder.iterdir()) == [
        "draw-000.json",
        "draw-001.json",
        "signatures-002.npz",
    ]
    # The second time nothing is built.
    assert json_of(capsys, "diagnose", job, "--draws", "2") == answer


def test_a_first_answer_is_told_before_the_whole_one_in_words_and_not_in_json(
    few_causes: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collaudo.bench.judging.diagnosis.FIRST_DRAWS", 2)
    job = str(written(tmp_path, JOB))
    assert main(["diagnose", job, "--draws", "3"]) == 0
    output = capsys.readouterr()
    assert output.out.count("What it may be") == 2
    assert output.out.count("First answer, from 2 drawn machines; it is being refined.") == 1
    assert output.out.index("First answer") < output.out.rindex("What it may be")
    assert "signatures:" not in output.out
    # Three are wanted and two are there: the first answer is there at once, then the third is made.
    (folder,) = few_causes.iterdir()
    (folder / "signatures-003.npz").unlink()
    (folder / "draw-002.json").unlink()
    assert main(["diagnose", job, "--draws", "3", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["draws"], answer["first"]) == (3, False)
    assert main(["diagnose", job, "--first"]) == 0
    assert "First answer, from 3 drawn machines; without --first it is refined." in capsys.readouterr().out


@pytest.mark.usefixtures("few_causes")
def test_a_file_of_signatures_that_cannot_be_read_is_made_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = str(written(tmp_path, JOB))
    assert main(["signatures", "build", "hx-vibration", "--draws", "2", "--json"]) == 0
    built = json.loads(capsys.readouterr().out)
    assert set(built) == {"machine", "draws", "wall_s", "file"}
    for damaged in (b"", b"PK\x03\x04 cut off", Path(built["file"]).read_bytes()[:2000]):
        Path(built["file"]).write_bytes(damaged)
        assert main(["diagnose", job, "--draws", "2", "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["draws"] == 2
    Path(built["file"]).write_bytes(b"PK")
    assert main(["signatures", "build", "hx-vibration", "--draws", "2"]) == 0
    words = capsys.readouterr().out
    assert words.startswith("hx-vibration: signatures of 2 drawn machines, ")
    assert Path(built["file"]).stat().st_size > 2000


@pytest.mark.usefixtures("few_causes")
def test_a_stopped_build_says_how_to_go_on_and_ends_with_130(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from collaudo.diagnosis import building

    whole = building.take_draw

    def stopped(machine: str, number: int, sound_only: bool = False) -> Any:
        if number == 1:
            raise KeyboardInterrupt
        return whole(machine, number, sound_only)

    job = str(written(tmp_path, JOB))
    for command in (["diagnose", job], ["signatures", "build", "hx-vibration"]):
        with monkeypatch.context() as patch:
            patch.setattr(building, "take_draw", stopped)
            assert main([*command, "--draws", "2"]) == 130
        output = capsys.readouterr()
        assert output.out == ""
        assert output.err.endswith("What is done is kept: the same command goes on from there.\n")
    assert main(["diagnose", job, "--draws", "2", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["draws"] == 2


ENDED = """\
import os, sys, time
from collaudo.bench.judging.workers import workers
if __name__ == "__main__":
    with workers("hx-vibration") as crew:
        print(crew.pool.submit(os.getpid).result(), flush=True)
        crew.pool.submit(time.sleep, 60)
        time.sleep(60)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="processes are asked after otherwise there")
def test_processes_that_draw_machines_end_with_the_one_that_was_ended(tmp_path: Path) -> None:
    script = written(tmp_path, ENDED, "ended.py")
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    command = [sys.executable, str(script)]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as begun:
        assert begun.stdout is not None
        worker = int(begun.stdout.readline())
        begun.kill()
    limit = time.monotonic() + 20.0
    while is_there(worker) and time.monotonic() < limit:
        time.sleep(0.05)
    assert not is_there(worker)


def is_there(process: int) -> bool:
    """Whether a process runs; one that has ended and waits to be asked for its code does not."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    return not (state.is_file() and ") Z" in state.read_text(encoding="utf-8"))


# --- what a sound machine shows -------------------------------------------------------------------------


@pytest.mark.usefixtures("signatures")
def test_expected_readings_are_a_list_without_the_complaint(capsys: pytest.CaptureFixture[str]) -> None:
    readings = json_of(capsys, "expect", "hx-vibration")
    keys = {"check", "reading", "unit", "low", "typical", "high", "title", "chances"}
    assert all(keys <= set(reading) for reading in readings)
    assert "complaint" not in {reading["check"] for reading in readings}
    listed = json_of(capsys, "checks", "hx-vibration")
    told = [(check["check"], reading["reading"]) for check in listed for reading in check["readings"]]
    assert [(reading["check"], reading["reading"]) for reading in readings] == told
    for reading in readings:
        if reading["chances"]:
            assert sum(reading["chances"].values()) == pytest.approx(1.0, abs=1e-6)
            assert reading["low"] is reading["high"] is None
        elif reading["typical"] != "never":
            assert reading["low"] <= reading["typical"] < reading["high"]
            assert reading["unit"] != "g" or reading["low"] >= 0.0
            assert reading["unit"]


@pytest.mark.usefixtures("signatures")
def test_what_is_known_of_site_and_settings_moves_what_is_expected(
    capsys: pytest.CaptureFixture[str],
) -> None:
    def typical(reading: str, *options: str) -> float:
        return next(
            float(item["typical"])
            for item in json_of(capsys, "expect", "hx-vibration", *options)
            if f"{item['check']}.{item['reading']}" == reading
        )

    assert typical("mains.voltage", "--site", "mains_V=236") - typical(
        "mains.voltage", "--site", "mains_V=226"
    ) == pytest.approx(10.0, abs=1.5)
    low = typical("warm-up.steam_gauge_top", "--setting", "boiler_pressure=1.1 bar")
    high = typical("warm-up.steam_gauge_top", "--setting", "boiler_pressure_bar=1.2")
    assert high - low == pytest.approx(0.1, abs=0.03)
    assert typical("warm-up.steam_gauge_top", "--setting", "boiler_pressure=120 kPa") == pytest.approx(high)


@pytest.mark.usefixtures("signatures")
def test_expected_readings_in_words_stand_under_their_check(capsys: pytest.CaptureFixture[str]) -> None:
    lines = lines_of(capsys, "expect", "hx-vibration")
    assert lines[0] == "hx-vibration: Heat exchanger, vibration pump, tank, lever group"
    begin = lines.index("Free flow, cold (free-flow)")
    assert re.fullmatch(r"  water in 10 s +\d+ +\d+ +\d+  g", lines[begin + 1])
    assert any(re.fullmatch(r"  place of the leak +none \(9 in 10\), .*", line) for line in lines)
    assert max(map(len, lines)) <= 100


@pytest.mark.usefixtures("signatures")
def test_a_site_value_that_changes_nothing_is_said_to_change_nothing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["expect", "hx-vibration", "--site", "feed_bar=2", "--site", "mains_V=230"]) == 0
    assert capsys.readouterr().err == "site.feed_bar changes none of these readings\n"


@pytest.mark.usefixtures("signatures")
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["hx-vibraton"], "unknown machine 'hx-vibraton' -- did you mean 'hx-vibration'"),
        (["no-such.yaml"], "unknown machine 'no-such.yaml'"),
        (["hx-vibration", "--site", "mains=230"], "--site: site has the unknown key 'mains'"),
        (["hx-vibration", "--site", "mains_V=high"], "--site: site.mains_V is the text 'high'"),
        (["hx-vibration", "--site", "mains_V=1e9"], "--site: site.mains_V is 1e+09 -- it can be 80 to 460"),
        (["hx-vibration", "--site", "mains_V=.nan"], "--site: mains_V: .nan is not a finite number"),
        (["hx-vibration", "--site", "mains_V"], "--site 'mains_V' is no KEY=VALUE"),
        (["hx-vibration", "--site", "mains_V=1", "--site", "mains_V=2"], "--site mains_V is given twice"),
        (["hx-vibration", "--setting", "steam=1 bar"], "--setting: settings has the unknown key 'steam'"),
        (["hx-vibration", "--setting", "boiler_pressure=1.2"], "1.2 without a unit -- write '1.2 bar'"),
        (["hx-vibration", "--setting", "boiler_pressure=9 g"], "'9 g' is a mass"),
    ],
)
def test_expect_refuses_what_it_does_not_know(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["expect", *arguments, "--json"]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert said in output.err
    assert len(output.err.splitlines()) == 1
    assert output.err.startswith("collaudo: ")


def test_sound_machines_are_drawn_by_processes_where_no_signatures_are(
    no_signatures: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collaudo.bench.sound.expect.DRAWS", 2)
    assert main(["expect", "hx-vibration", "--json"]) == 0
    readings = {f"{x['check']}.{x['reading']}": x for x in json.loads(capsys.readouterr().out)}
    # bench_practice: 9.5 bar at the blind disc; common practice, no source.
    assert readings["blind-disc.brew_gauge"]["typical"] == pytest.approx(9.5, abs=0.5)
    (folder,) = no_signatures.iterdir()
    assert folder.name.endswith("-sound")


# --- what is there --------------------------------------------------------------------------------------


@pytest.mark.usefixtures("signatures")
def test_signatures_that_are_kept_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    kept = {item["machine"]: item["draws"] for item in json_of(capsys, "signatures", "list")}
    assert kept == {machine: 64 if machine == "hx-vibration" else 0 for machine in library_ids()}
    lines = [line.split(maxsplit=1) for line in lines_of(capsys, "signatures", "list")]
    assert lines == [
        [machine, "signatures of 64 drawn machines" if kept[machine] else "none finished"]
        for machine in library_ids()
    ]


@pytest.mark.parametrize("arguments", [[], ["hx-rotary"]])
def test_checks_are_listed_with_their_minutes(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    listed = json_of(capsys, "checks", *arguments)
    assert len(listed) >= 16
    assert "complaint" not in [check["check"] for check in listed]
    lines = lines_of(capsys, "checks", *arguments)
    assert len(lines) == len(listed)
    (cooling,) = [check for check in listed if check["check"] == "cool-down"]
    (line,) = [line for line in lines if line.startswith("cool-down ")]
    assert line.endswith(f"  Cooling down: 2 min and {cooling['wait_minutes']:.0f} min waiting")


def test_a_check_is_shown_with_steps_tools_cautions_and_readings(capsys: pytest.CaptureFixture[str]) -> None:
    (check,) = json_of(capsys, "checks", "hx-vibration", "blind-disc")
    words = " ".join(" ".join(lines_of(capsys, "checks", "hx-vibration", "blind-disc")).split())
    for text in (check["title"], *check["steps"], *check["tools"], *check["cautions"]):
        assert text in words
    assert "brew_gauge brew gauge after 10 s [bar]" in words
    assert "rim rim of the portafilter [dry | weeps]" in words


def test_causes_are_listed_by_part_and_shown_with_their_remedy(capsys: pytest.CaptureFixture[str]) -> None:
    vibration = {cause["cause"]: cause for cause in json_of(capsys, "causes", "hx-vibration")}
    rotary = {cause["cause"]: cause for cause in json_of(capsys, "causes", "hx-rotary")}
    assert len(vibration) >= 24
    assert "vane-pump-worn" in rotary.keys() - vibration.keys()
    assert vibration["vibration-pump-worn"]["part"] == "pump"
    assert len(lines_of(capsys, "causes", "hx-rotary")) == len(rotary)
    words = " ".join(" ".join(lines_of(capsys, "causes", "hx-rotary", "cut-out-tripped")).split())
    cause = rotary["cut-out-tripped"]
    assert f"Remedy: {cause['remedy']}" in words
    assert all(f"CAUTION: {caution}" in words for caution in cause["cautions"])


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["checks", "hx-vibration", "blind-disk"], "unknown check 'blind-disk' -- did you mean 'blind-disc'"),
        (
            ["causes", "hx-vibration", "brew-jet"],
            "unknown cause 'brew-jet' -- did you mean 'brew-jet-blocked'",
        ),
        (["checks", "hx"], "unknown machine 'hx'"),
        (["findings", "new", "hx-rotari"], "unknown machine 'hx-rotari' -- did you mean 'hx-rotary'"),
        (["signatures", "build", "hx-rotari"], "unknown machine 'hx-rotari' -- did you mean 'hx-rotary'"),
    ],
)
def test_unknown_words_are_answered_with_near_ones(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("draws", ["1", "65", "many", "-8", "8.5", "9" * 5000, "²"])
def test_a_wrong_number_of_draws_is_refused(draws: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["diagnose", "job.yaml", "--draws", draws]) == 2
    assert "no whole number from 2 to 64" in capsys.readouterr().err


# --- the demonstration ----------------------------------------------------------------------------------


@pytest.mark.usefixtures("signatures")
def test_the_demonstration_diagnoses_its_case(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    output = capsys.readouterr()
    assert "What it may be" in output.out
    assert "complaint: slow" in output.err
    assert main(["demo", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert "brew-jet-blocked" in [cause["cause"] for cause in answer["causes"][:3]]


def test_there_are_three_demonstration_cases_and_their_words_are_known() -> None:
    from collaudo.diagnosis.building import vocabulary_of
    from collaudo.diagnosis.findings_file import read_case, read_root

    assert len(demo_cases()) == 3
    for case in demo_cases():
        with demo_file(case) as file:
            root, machine = read_root(file)
            assert read_case(root, machine, vocabulary_of(machine)).findings
