"""The command line answers: in words and as JSON."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from collaudo.cli.main import main

ROOT = Path(__file__).parents[2]
MACHINES = ROOT / "src" / "collaudo" / "library" / "machines"
COMMANDS = (
    "machines", "machine", "run", "diagnose", "expect", "signatures", "checks", "causes", "findings",
    "measure", "demo", "completion",
)  # fmt: skip
SHORT = """\
site: {altitude_m: 0, room_degC: 20}
operations:
  - power: on
  - wait: 2 s
  - fit: blind
  - lever: up
  - wait: 2 s"""  # no line end: that is fine too


@dataclass(frozen=True)
class Answer:
    """One short run of the command and what it left."""

    json: dict[str, Any]
    words: str
    rows: list[dict[str, str]]


@pytest.fixture(scope="module")
def short_run(tmp_path_factory: pytest.TempPathFactory) -> Answer:
    folder = tmp_path_factory.mktemp("run")
    session, table = folder / "session.yaml", folder / "series.csv"
    session.write_text(SHORT, encoding="utf-8")
    texts = []
    for options in (["--json", "--csv", str(table)], []):
        output = io.StringIO()
        with contextlib.redirect_stdout(output):
            assert main(["run", "hx-vibration", str(session), *options]) == 0
        texts.append(output.getvalue())
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return Answer(json.loads(texts[0]), texts[1], rows)


def test_a_run_tells_duration_events_wall_time_and_balances(short_run: Answer) -> None:
    answer = short_run.json
    assert answer["machine"] == "hx-vibration"
    assert answer["duration_s"] == pytest.approx(4.0, abs=1e-9)
    assert answer["wall_s"] > 0.0
    assert isinstance(answer["events"], list)
    assert set(answer["balances"]) == {"water", "energy", "air"}


def test_water_and_air_balance_to_a_part_in_a_billion_and_energy_to_one_in_a_hundred_thousand(
    short_run: Answer,
) -> None:
    found = short_run.json["balances"]
    assert abs(found["water"]) < 1e-9
    assert abs(found["air"]) < 1e-9
    assert abs(found["energy"]) < 1e-5


def test_the_series_begin_cold_and_the_pump_builds_pressure_behind_the_blind_disc(short_run: Answer) -> None:
    first, last = short_run.rows[0], short_run.rows[-1]
    assert (float(first["time_s"]), float(last["time_s"])) == (0.0, 4.0)
    assert float(first["group_degC"]) == pytest.approx(20.0, abs=1e-6)
    assert float(first["brew_gauge_bar"]) == pytest.approx(0.0, abs=0.01)
    assert float(last["brew_gauge_bar"]) > 1.0
    assert float(last["heating_element_degC"]) > 25.0
    assert float(last["tank_g"]) < float(first["tank_g"]) == 2000.0
    before = [row for row in short_run.rows if float(row["time_s"]) < 2.0]
    assert all(float(row["pump_share"]) == 0.0 for row in before)
    assert float(last["pump_share"]) == 1.0


def test_a_run_in_words_names_machine_end_and_gauges(short_run: Answer) -> None:
    lines = short_run.words.splitlines()
    assert lines[0].startswith("hx-vibration: ")
    assert any(line.endswith("4.0 s  end") for line in lines)
    assert any(line.strip().startswith("brew gauge: ") and line.endswith(" bar") for line in lines)
    assert "  pump: on" in lines
    assert "  fill valve: off" in lines


def test_states_of_devices_are_words() -> None:
    from collaudo.bench.runs.events import states_in_words
    from collaudo.machine.load import find_machine

    words = states_in_words(find_machine("hx-vibration"))
    assert words["pressure_switch"] == {0: "closed", 1: "open"}
    assert words["lever_switch"] == {0: "open", 1: "closed"}
    assert words["vacuum_valve"] == {0: "open", 1: "shut"}
    assert words["level_control"][2] == "filling"


def test_machines_lists_the_library(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["machines", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [machine["id"] for machine in found] == sorted(path.stem for path in MACHINES.glob("*.yaml"))
    assert all(set(machine) == {"id", "title"} and machine["title"] for machine in found)
    assert main(["machines"]) == 0
    words = capsys.readouterr().out
    assert all(machine["id"] in words and machine["title"] in words for machine in found)


def test_a_sound_machine_file_is_fine(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(MACHINES / "hx-rotary.yaml")
    assert main(["machine", "check", path, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["fine"] is True
    assert answer["problems"] == []
    assert answer["id"] == "hx-rotary"
    assert main(["machine", "check", path]) == 0
    assert "fine: " in capsys.readouterr().out


def test_help_names_every_command_and_the_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    text = capsys.readouterr().out
    assert all(word in text for word in COMMANDS)
    assert "safety device is never bridged" in " ".join(text.split())


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_a_completion_script_knows_the_commands(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    assert all(word in script for word in COMMANDS)


def seconds_of(*arguments: str) -> float:
    """Shortest of three runs of the interpreter."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    taken = []
    for _ in range(3):
        begin = time.perf_counter()
        subprocess.run([sys.executable, *arguments], env=environment, stdout=subprocess.DEVNULL, check=True)
        taken.append(time.perf_counter() - begin)
    return min(taken)


def test_help_is_at_once_there() -> None:
    """As quick as what it needs of the standard library allows."""
    bare = seconds_of("-c", "import argparse, json, dataclasses, difflib, fractions, pathlib, typing")
    assert seconds_of("-m", "collaudo", "--help") < 4.0 * bare


def test_help_imports_no_numerical_package() -> None:
    code = (
        "import sys\n"
        "from collaudo.cli.main import main\n"
        "main(['--help'])\n"
        "sys.exit(any(name in sys.modules for name in ('numpy', 'numba', 'yaml', 'shtab')))"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment, stdout=subprocess.DEVNULL, check=False
    )
    assert done.returncode == 0
