"""The command line refuses what cannot be used: exit code 2, one message per problem, never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from collaudo.cli.main import main

ROOT = Path(__file__).parents[2]
MACHINES = ROOT / "src" / "collaudo" / "library" / "machines"
GOOD = (MACHINES / "hx-vibration.yaml").read_text(encoding="utf-8")
WAIT = "operations:\n  - wait: 1 s\n"


def collaudo(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "collaudo", *arguments]


def environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT / "src")}


def line_of(text: str, words: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), 1) if words in line)


def without(*names: str) -> str:
    """The good machine without some parts and all that is joined to them."""
    lines = GOOD.splitlines(keepends=True)
    return "".join(
        line for line in lines if not any(f"{name}." in line or f" {name}:" in line for name in names)
    )


BAD_MACHINES: dict[str, tuple[bytes, str]] = {
    "binary": (bytes(range(256)) * 4, ""),
    "empty": (b"", ""),
    "truncated in a bracket": (GOOD[: GOOD.index("power_W") + 3].encode(), ""),
    "truncated after parts": (GOOD[: GOOD.index("lines:")].encode(), "no 'lines'"),
    "alias bomb": (
        b"a: &a [x, x, x, x]\nb: &b [*a, *a, *a, *a]\nc: &c [*b, *b, *b, *b]\nmachine: *c\n",
        ":1: ",
    ),
    "object tag": (b"machine: !!python/object/apply:os.system ['true']\n", ":1: "),
    "no safety valve": (without("safety_valve").encode(), "heated volume boiler has no"),
    "no relief valve": (without("relief_valve").encode(), "heated volume exchanger has no"),
    "impossible number": (GOOD.replace("power_W: 1400", "power_W: -1400").encode(), "power_W is -1400"),
    "not finite": (GOOD.replace("power_W: 1400", "power_W: .inf").encode(), "not a finite number"),
    "no number": (GOOD.replace("power_W: 1400", "power_W: strong").encode(), "heating_element.power_W"),
    "unknown kind": (GOOD.replace("kind: boiler", "kind: biler").encode(), "did you mean 'boiler'"),
    "unknown port": (GOOD.replace("boiler.gauge", "boiler.gage").encode(), "did you mean 'gauge'"),
}


@pytest.mark.parametrize("name", BAD_MACHINES)
def test_a_bad_machine_file_is_refused_with_file_and_line(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content, said = BAD_MACHINES[name]
    path = tmp_path / "mine.yaml"
    path.write_bytes(content)
    assert main(["machine", "check", str(path)]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert said in output.err
    for line in output.err.splitlines():
        assert line.startswith(f"collaudo: {path}:")
        assert " -- " in line


def test_a_message_names_the_line_that_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.yaml"
    text = GOOD.replace("power_W: 1400", "power_W: -1400").replace("bore_mm: 0.7", "bore_mm: 700")
    path.write_text(text, encoding="utf-8")
    assert main(["machine", "check", str(path)]) == 2
    first, second = capsys.readouterr().err.splitlines()
    assert first.startswith(f"collaudo: {path}:{line_of(text, 'heating_element: {')}: ")
    assert second.startswith(f"collaudo: {path}:{line_of(text, 'brew_jet: {')}: ")


def test_problems_are_also_told_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(GOOD.replace("power_W: 1400", "power_W: -1400"), encoding="utf-8")
    assert main(["machine", "check", str(path), "--json"]) == 2
    answer = json.loads(capsys.readouterr().out)
    assert answer["fine"] is False
    (problem,) = answer["problems"]
    assert problem["line"] == line_of(GOOD, "heating_element: {")
    assert problem["file"] == str(path)
    assert "power_W is -1400" in problem["message"]
    assert problem["remedy"]


@pytest.mark.parametrize(
    ("machine", "session", "said"),
    [
        ("hx-vibraton", WAIT, "unknown machine 'hx-vibraton' -- did you mean 'hx-vibration'"),
        ("no-such-file.yaml", WAIT, "no-such-file.yaml: no such file"),
        (
            "hx-vibration",
            "operations:\n  - wait: 1 s\n  - lift: up\n",
            "session.yaml:3: unknown operation 'lift'",
        ),
        ("hx-vibration", "operations: [\n", "session.yaml:"),
        ("hx-vibration", "a: &a [1]\noperations: *a\n", "session.yaml:1: "),
        ("hx-vibration", "site: {mains_V: 1e308}\n" + WAIT, "session.yaml:1: site.mains_V is 1e+308"),
        ("hx-vibration", "\0\1\2", "session.yaml:"),
    ],
)
def test_a_bad_run_is_refused(
    machine: str, session: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "session.yaml"
    path.write_text(session, encoding="utf-8")
    assert main(["run", machine, str(path), "--json"]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert said in output.err
    assert "Traceback" not in output.err


@pytest.mark.parametrize("target", ["folder", "folder/none/out.csv", "session.yaml"])
def test_a_csv_that_cannot_be_written_is_refused_before_the_run(
    target: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "folder").mkdir()
    session = tmp_path / "session.yaml"
    session.write_text(WAIT, encoding="utf-8")
    assert main(["run", "hx-vibration", str(session), "--csv", str(tmp_path / target)]) == 2
    assert str(tmp_path / target) in capsys.readouterr().err
    assert session.read_text(encoding="utf-8") == WAIT


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["mashines"],
        ["machine"],
        ["run", "hx-vibration"],
        ["run", "hx-vibration", "x.yaml", "--rtol", "0"],
        ["run", "hx-vibration", "x.yaml", "--rtol", "nan"],
        ["run", "hx-vibration", "x.yaml", "--rtol", "fast"],
        ["measure"],
        ["machines", "--jason"],
    ],
)
def test_a_wrong_command_line_is_refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert output.err


@pytest.mark.parametrize(
    "arguments", [["machine", "check", "."], ["run", ".", "."], ["run", "x" * 5000, "y"]]
)
def test_odd_names_of_files_are_refused_in_words(arguments: list[str]) -> None:
    done = subprocess.run(
        collaudo(*arguments), env=environment(), cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stderr.startswith("collaudo: ")
    assert "Traceback" not in done.stderr


def raising(fault: BaseException) -> Callable[[object], int]:
    def command(_: object) -> int:
        raise fault

    return command


def test_ctrl_c_ends_with_130(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("collaudo.cli.commands.machines", raising(KeyboardInterrupt()))
    assert main(["machines"]) == 130
    assert "Traceback" not in capsys.readouterr().err


def test_a_run_that_cannot_go_on_ends_with_3(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from collaudo.errors import RunError

    monkeypatch.setattr("collaudo.cli.commands.machines", raising(RunError("the run cannot go on at 3 s")))
    assert main(["machines"]) == 3
    assert capsys.readouterr().err == "collaudo: the run cannot go on at 3 s\n"


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break otherwise there")
def test_a_reader_that_leaves_is_no_error() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        collaudo("machines"),
        env=environment(),
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(writing)
    assert done.stderr == ""
    assert done.returncode == 0
