"""The start script, with stand-ins for the interpreters and for pip: real processes that do nothing."""

from __future__ import annotations

import ast
import errno
import os
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

import start

HERE = Path(__file__).parents[2]
THIS_PYTHON = sys.executable
needs_shell = pytest.mark.skipif(os.name == "nt", reason="the stand-ins are shell scripts")

# Notes every call; says of itself what STAND_IN says; "makes" .venv by copying itself there.
STAND_IN = """\
#!/bin/sh
case "$1" in
-c) echo '{about}'; exit 0;;
esac
echo "$* PYTHONPATH=$PYTHONPATH" >> "$CALLS"
case "$*" in
"-m venv"*)
    mkdir -p .venv/bin; cp "$0" .venv/bin/python; echo > .venv/pyvenv.cfg
    echo "$VENV_SAYS"; exit ${{VENV_CODE:-0}};;
"-m pip"*) if [ -n "$PIP_WAITS" ]; then exec sleep 60; fi; echo "$PIP_SAYS"; exit ${{PIP_CODE:-0}};;
"-m ruff"*) exit ${{RUFF_CODE:-0}};;
"-m pytest"*) exit ${{PYTEST_CODE:-0}};;
*"measure --compile"*) exit ${{COMPILE_CODE:-0}};;
esac
"""
FITTING = '[[3, 12, 1], true, true, true, "/opt/python3.12"]'
OLD = '[[3, 9, 18], true, true, true, "/opt/python3.9"]'
TOO_NEW = '[[3, 14, 0], true, true, true, "/opt/python3.14"]'
WITHOUT_VENV = '[[3, 11, 2], true, false, false, "/usr/bin/python3.11"]'
OTHER_KIND = '[[3, 11, 2], false, true, true, "/opt/other3.11"]'


def put_stand_in(path: Path, about: str) -> str:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(STAND_IN.format(about=about), encoding="utf-8")
    path.chmod(0o755)
    return str(path)


def settle(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(start, "ROOT", str(project))
    monkeypatch.setattr(start, "VENV", str(project / ".venv"))
    monkeypatch.setattr(start, "STAMP", str(project / ".venv" / "installed.json"))


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project in an empty folder; one fitting stand-in is the Python that runs start.py."""
    folder = tmp_path / "a project"
    folder.mkdir()
    for name in ("pyproject.toml", "constraints.txt", "start.py"):
        (folder / name).write_bytes((HERE / name).read_bytes())
    settle(folder, monkeypatch)
    monkeypatch.setenv("CALLS", str(tmp_path / "calls"))
    monkeypatch.setenv("PYTHONPATH", "/somewhere/else")
    monkeypatch.setattr(sys, "executable", put_stand_in(tmp_path / "running" / "python3", FITTING))
    return folder


def calls(project: Path, *, forget: bool = True) -> list[str]:
    """What the stand-ins were called with since the last look."""
    log = project.parent / "calls"
    if not log.exists():
        return []
    lines = log.read_text(encoding="utf-8").splitlines()
    if forget:
        log.unlink()
    assert all(line.endswith(" PYTHONPATH=") for line in lines), "packages from elsewhere would be seen"
    return [line.removesuffix(" PYTHONPATH=") for line in lines]


def only_on_path(project: Path, monkeypatch: pytest.MonkeyPatch, **pythons: str) -> None:
    """Nothing but these stand-ins (and the shell's own tools) on the search path."""
    for name, about in pythons.items():
        put_stand_in(project.parent / "path" / name.replace("_", "."), about)
    monkeypatch.setattr(start.shutil, "which", lambda name: _in(project.parent / "path", name))


def _in(folder: Path, name: str) -> str | None:
    return str(folder / name) if (folder / name).exists() else None


# --- what the file itself must be -----------------------------------------------------------------------


def test_the_oldest_supported_starter_can_read_the_file() -> None:
    tree = ast.parse((HERE / "start.py").read_text(encoding="ascii"), feature_version=(3, 6))
    modules = {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    modules |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert modules <= sys.stdlib_module_names - {"__future__"}
    # Arguments of subprocess that came with Python 3.7.
    words = {word.arg for node in ast.walk(tree) if isinstance(node, ast.Call) for word in node.keywords}
    assert not words & {"text", "capture_output"}


def test_the_range_of_pythons_is_the_one_the_package_declares() -> None:
    declared = tomllib.loads((HERE / "pyproject.toml").read_text(encoding="utf-8"))["project"][
        "requires-python"
    ]
    low, high = start.OLDEST, start.NEWEST
    assert declared == f">={low[0]}.{low[1]},<{high[0]}.{high[1] + 1}"
    assert all(f"3.{minor}" in start.NEEDED for minor in range(low[1], high[1] + 1))


def test_every_package_named_is_pinned_within_its_range() -> None:
    described = tomllib.loads((HERE / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [
        *described["project"]["dependencies"],
        *described["build-system"]["requires"],
        *start.BUILD_TOOLS,
    ]
    for extra in described["project"]["optional-dependencies"].values():
        wanted += extra
    lines = (HERE / "constraints.txt").read_text(encoding="ascii").splitlines()
    pins = dict(
        line.split("#")[0].strip().lower().split("==") for line in lines if "==" in line.split("#")[0]
    )
    for requirement in map(Requirement, wanted):
        assert requirement.name.lower() in pins, f"{requirement.name} has no version in constraints.txt"
        assert requirement.specifier.contains(pins[requirement.name.lower()]), str(requirement)


def test_an_interpreter_tells_of_itself() -> None:
    python = start.ask([sys.executable])
    assert python is not None
    assert python.version == sys.version_info[:3]
    assert python.fits


# --- finding a Python -----------------------------------------------------------------------------------


@needs_shell
def test_the_newest_fitting_python_is_taken_and_broken_ones_passed_over(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", put_stand_in(project.parent / "running" / "python3", OLD))
    only_on_path(
        project, monkeypatch, python3_13=TOO_NEW, python3_12=FITTING, python3_11=FITTING, python3=OLD
    )
    (project.parent / "path" / "python3.13").write_text("#!/bin/sh\necho not installed >&2\nexit 127\n")
    assert start.find_python().command == [str(project.parent / "path" / "python3.12")]


@needs_shell
def test_a_wrong_python_is_told_what_is_needed_and_what_was_found(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "executable", put_stand_in(project.parent / "running" / "python3", OLD))
    only_on_path(project, monkeypatch, python3=TOO_NEW, python=OTHER_KIND)
    assert start.main([]) == 1
    message = capsys.readouterr().err
    assert "needs Python 3.11, 3.12 or 3.13" in message
    assert all(found in message for found in ("3.9.18 (/opt/python3.9)", "3.14.0", "/opt/other3.11"))
    assert calls(project) == []


@needs_shell
def test_a_python_without_venv_is_told_what_to_install(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "executable", put_stand_in(project.parent / "running" / "python3", WITHOUT_VENV))
    only_on_path(project, monkeypatch)
    assert start.main([]) == 1
    assert "apt-get install python3.11-venv" in capsys.readouterr().err
    only_on_path(project, monkeypatch, python3_12=FITTING)
    assert start.find_python().path == "/opt/python3.12"


# --- setting up -----------------------------------------------------------------------------------------


@needs_shell
def test_the_first_run_sets_up_and_the_second_only_runs(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert start.main([]) == 0
    assert "Making .venv with Python 3.12.1 (/opt/python3.12)" in capsys.readouterr().out
    venv, tools, whole, demo = calls(project)
    assert venv.startswith("-m venv --clear ")
    wheels_only = "-m pip install --only-binary :all: -c constraints.txt "
    assert tools == wheels_only + "hatchling editables"
    assert whole == wheels_only + "--no-build-isolation -e ."
    assert demo == "-m collaudo serve --at /demo"
    assert start.main([]) == 0
    assert calls(project) == [demo]


@needs_shell
@pytest.mark.parametrize("changed", ["pyproject.toml", "constraints.txt", ".venv/installed.json"])
def test_a_change_installs_again_but_keeps_the_environment(project: Path, changed: str) -> None:
    start.main([])
    calls(project)
    with (project / changed).open("a", encoding="utf-8") as file:
        file.write("\n# changed, and no longer valid as JSON\n")
    assert start.main([]) == 0
    assert [call.split()[1] for call in calls(project)] == ["pip", "pip", "collaudo"]


@needs_shell
def test_a_moved_project_is_installed_again(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    start.main([])
    calls(project)
    settle(project.rename(project.parent / "moved"), monkeypatch)
    assert start.main([]) == 0
    assert [call.split()[1] for call in calls(project)] == ["pip", "pip", "collaudo"]


@needs_shell
def test_an_install_broken_off_halfway_does_not_look_complete_when_the_change_is_taken_back(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    start.main([])
    before = (project / "constraints.txt").read_bytes()
    (project / "constraints.txt").write_bytes(before + b"# changed")
    monkeypatch.setenv("PIP_CODE", "1")
    assert start.main([]) == 1
    monkeypatch.setenv("PIP_CODE", "0")
    (project / "constraints.txt").write_bytes(before)
    calls(project)
    assert start.main([]) == 0
    assert [call.split()[1] for call in calls(project)] == ["pip", "pip", "collaudo"]


@needs_shell
@pytest.mark.parametrize("left", [None, OLD, WITHOUT_VENV], ids=["no python", "an old python", "no pip"])
def test_a_broken_environment_is_made_again(project: Path, left: str | None) -> None:
    start.main([])
    inside = project / ".venv" / "bin" / "python"
    inside.unlink()
    if left:
        put_stand_in(inside, left)
    calls(project)
    assert start.main([]) == 0
    assert calls(project)[0].startswith("-m venv --clear ")


@needs_shell
def test_a_folder_that_is_no_environment_is_left_alone(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (project / ".venv").mkdir()
    (project / ".venv" / "mine.txt").write_text("mine")
    assert start.main([]) == 1
    assert "is not a virtual environment" in capsys.readouterr().err
    assert (project / ".venv" / "mine.txt").read_text() == "mine"


# --- trouble: one message, no traceback, and the next start goes on -------------------------------------

NO_SPACE = "ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device"
NO_NETWORK = (
    "WARNING: Retrying after 'NewConnectionError: [Errno -3] name resolution': /hatchling/\n"
    "ERROR: No matching distribution found for hatchling"
)
NO_INDEX = "ERROR: ResolutionImpossible: for help visit the manual"
READ_ONLY = "ERROR: Could not install packages due to an OSError: [Errno 30] Read-only file system: 'x'"
NO_ENSUREPIP = "The virtual environment was not created successfully because ensurepip is not available."
UNKNOWN = "something\nquite unforeseen"


@needs_shell
@pytest.mark.parametrize(
    ("said", "told"),
    [
        (NO_SPACE, "the disk is full"),
        (NO_NETWORK, "there is no network"),
        (NO_INDEX, "no package index is in reach"),
        (READ_ONLY, "this folder cannot be written to"),
        (UNKNOWN, "The last lines were:\nsomething\nquite unforeseen"),
    ],
)
def test_a_failed_install_is_explained_and_tried_again(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], said: str, told: str
) -> None:
    monkeypatch.setenv("PIP_SAYS", said)
    monkeypatch.setenv("PIP_CODE", "1")
    assert start.main([]) == 1
    message = capsys.readouterr().err
    assert message.startswith("Installing failed")
    assert told in message
    calls(project)
    monkeypatch.setenv("PIP_CODE", "0")
    assert start.main([]) == 0
    assert [call.split()[1] for call in calls(project)] == ["pip", "pip", "collaudo"]


@needs_shell
@pytest.mark.parametrize(
    ("said", "told"), [(NO_SPACE, "the disk is full"), (NO_ENSUREPIP, "venv or ensurepip is missing")]
)
def test_a_failed_environment_is_explained(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], said: str, told: str
) -> None:
    monkeypatch.setenv("VENV_SAYS", said)
    monkeypatch.setenv("VENV_CODE", "1")
    assert start.main([]) == 1
    message = capsys.readouterr().err
    assert message.startswith("Making .venv failed")
    assert told in message
    assert not any("pip" in call for call in calls(project))


@needs_shell
def test_a_disk_that_fills_up_at_the_end_is_told(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", "installed.json")

    monkeypatch.setattr(start.os, "replace", full)
    assert start.main([]) == 1
    assert "installed.json failed: the disk is full" in capsys.readouterr().err
    assert not (project / ".venv" / "installed.json").exists()


@needs_shell
def test_a_folder_that_may_not_be_written_is_told(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start.os, "access", lambda *_: False)
    assert start.main([]) == 1
    assert "this folder cannot be written to" in capsys.readouterr().err
    assert calls(project) == []


@needs_shell
def test_ctrl_c_ends_everything_with_one_line(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert start.main([]) == 0  # the environment is there, the install has to be done again
    (project / ".venv" / "installed.json").unlink()
    calls(project)
    monkeypatch.setenv("PIP_WAITS", "1")
    running = subprocess.Popen(
        [THIS_PYTHON, "start.py"],
        cwd=project,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    until_s = time.monotonic() + 20
    while not calls(project, forget=False) and time.monotonic() < until_s:
        time.sleep(0.02)
    os.killpg(running.pid, signal.SIGINT)
    _, message = running.communicate(timeout=20)
    assert running.returncode == 130
    assert message == "\nStopped. Start again to go on from here.\n"


def test_ctrl_c_while_a_program_runs_leaves_it_time_to_end() -> None:
    class Child:
        def __init__(self) -> None:
            self.waits: list[float | None] = []

        def wait(self, timeout: float | None = None) -> int:
            self.waits.append(timeout)
            if len(self.waits) == 1:
                raise KeyboardInterrupt
            return 0

        def kill(self) -> None:
            raise AssertionError("killed, though it ended by itself")

    child = Child()
    with pytest.raises(KeyboardInterrupt):
        start.wait_for(child)  # type: ignore[arg-type]
    assert child.waits == [None, start.LONGEST_WAIT_s]


@needs_shell
def test_closing_the_bench_with_ctrl_c_is_no_fault(
    project: Path,  # noqa: ARG001  # start.py works in it
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def closed(command: list[str], **more: str) -> int:
        assert command[1:4] == ["-m", "collaudo", "serve"]
        assert not more
        raise KeyboardInterrupt

    python = start.make_venv()
    capsys.readouterr()
    monkeypatch.setattr(start, "run", closed)
    assert start.open_bench(python) == 0
    told = capsys.readouterr()
    assert len(told.out.splitlines()) == 2
    assert told.err == ""


# --- the tests ------------------------------------------------------------------------------------------


@needs_shell
def test_the_tests_read_the_code_compile_once_then_run_pytest(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "workers", lambda: 2)
    assert start.main(["test", "tests/unit", "-k", "two words"]) == 0
    installed, *side_by_side, tests = calls(project)[2:]
    assert installed == (
        "-m pip install --only-binary :all: -c constraints.txt --no-build-isolation -e .[test]"
    )
    assert sorted(side_by_side) == [
        "-m collaudo.cli.main measure --compile",
        "-m mypy",
        "-m ruff check --output-format concise",
    ]
    assert tests == "-m pytest -n 2 --dist worksteal tests/unit -k two words"


@needs_shell
def test_the_main_job_after_the_tests_installs_nothing(project: Path) -> None:
    start.main(["test"])
    calls(project)
    assert start.main([]) == 0
    assert calls(project) == ["-m collaudo serve --at /demo"]


@needs_shell
def test_the_tests_after_the_main_job_install_what_they_need(project: Path) -> None:
    start.main([])
    calls(project)
    start.main(["test"])
    assert any(call.endswith("-e .[test]") for call in calls(project))


@needs_shell
@pytest.mark.parametrize(
    ("failing", "code"), [("RUFF_CODE", 1), ("COMPILE_CODE", 1), ("PYTEST_CODE", 5), ("PYTEST_CODE", 1)]
)
def test_one_failing_step_fails_the_whole_but_pytest_still_runs(
    project: Path, monkeypatch: pytest.MonkeyPatch, failing: str, code: int
) -> None:
    monkeypatch.setenv(failing, str(code))
    assert start.main(["test"]) == code
    assert calls(project)[-1].startswith("-m pytest")


def test_there_is_at_least_one_worker_and_no_more_than_cores() -> None:
    assert 1 <= start.workers() <= (os.cpu_count() or 1)


@pytest.mark.parametrize(("word", "code"), [("--help", 0), ("tset", 2)])
def test_help_and_unknown_words_show_how_to_use_it(
    project: Path, capsys: pytest.CaptureFixture[str], word: str, code: int
) -> None:
    assert start.main([word]) == code
    shown = capsys.readouterr()
    assert "python3 start.py test" in (shown.out if code == 0 else shown.err)
    assert not (project / ".venv").exists()
