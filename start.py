#!/usr/bin/env python3
"""Everything from a fresh copy to a running tool, in one command.

    python3 start.py             set up, then open the bench in the browser with a demonstration machine
    python3 start.py test ...    set up, then check and test the project; the rest goes to pytest

Needs only a Python of the range below; any other Python from 3.6 on may start this file and looks for a
fitting one. Everything is kept in the folder .venv beside it. Once installed, no network is needed.
"""

import errno
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from typing import Dict, List, NamedTuple, Optional, Sequence, TextIO, Tuple

# This file must run on Python 3.6, if only to say what is needed: no newer syntax or library calls in it.

ROOT = os.path.dirname(os.path.abspath(__file__))
OLDEST, NEWEST = (3, 11), (3, 13)
NEEDED = "Python 3.11, 3.12 or 3.13 (CPython, 64 bit)"
VENV = os.path.join(ROOT, ".venv")
STAMP = os.path.join(VENV, "installed.json")
BUILD_TOOLS = ["hatchling", "editables"]
LONGEST_WAIT_s = 10  # after Ctrl-C, for the running step to put its things away

ABOUT_PYTHON = """\
import json, sys
def has(name):
    try:
        __import__(name)
    except Exception:
        return False
    return True
fit = sys.implementation.name == "cpython" and sys.maxsize > 2**32
can_make_venv = has("venv") and has("ensurepip")
print(json.dumps([list(sys.version_info[:3]), fit, can_make_venv, has("pip"), sys.executable]))
"""


class Stop(Exception):
    """The work cannot go on; the text says why and what to do."""


class Python(NamedTuple):
    """What one interpreter says of itself."""

    command: List[str]
    version: Tuple[int, ...]
    cpython_64_bit: bool
    has_venv: bool
    has_pip: bool
    path: str

    @property
    def fits(self) -> bool:
        """Whether the packages this project needs exist for it."""
        return self.cpython_64_bit and OLDEST <= self.version[:2] <= NEWEST

    def __str__(self) -> str:
        return f"Python {'.'.join(str(number) for number in self.version)} ({self.path})"


def say(text: str, stream: Optional[TextIO] = None) -> None:
    """Print at once, whatever the terminal can show."""
    out = stream or sys.stdout
    encoding = out.encoding or "ascii"
    print(text.encode(encoding, "backslashreplace").decode(encoding), file=out, flush=True)


def clean_environment() -> Dict[str, str]:
    """The caller's environment less what would make the folder .venv see packages from elsewhere."""
    misleading = ("PYTHONPATH", "PYTHONHOME", "__PYVENV_LAUNCHER__")
    environment = {name: value for name, value in os.environ.items() if name not in misleading}
    environment.update(PIP_USER="0", PIP_NO_INPUT="1", PIP_DISABLE_PIP_VERSION_CHECK="1")
    return environment


# --- running other programs -----------------------------------------------------------------------------


def wait_for(child: "subprocess.Popen[str]") -> int:
    """Exit code of the child. Ctrl-C reaches it too, so it gets time to end by itself."""
    try:
        return child.wait()
    except KeyboardInterrupt:
        try:
            child.wait(timeout=LONGEST_WAIT_s)
        except (subprocess.TimeoutExpired, KeyboardInterrupt):
            child.kill()
            child.wait()
        raise


def begin(command: Sequence[str], **more_environment: str) -> "subprocess.Popen[str]":
    """Start in the project's folder with the screen shared."""
    environment = dict(clean_environment(), **more_environment)
    return subprocess.Popen(list(command), cwd=ROOT, env=environment, universal_newlines=True)


def run(command: Sequence[str], **more_environment: str) -> int:
    """Run in the project's folder with the screen shared; returns the exit code."""
    code = wait_for(begin(command, **more_environment))
    return code if code >= 0 else 128 - code


def run_captured(command: Sequence[str], relay: Tuple[str, ...] = ()) -> Tuple[int, str]:
    """Run and keep all output; lines beginning with a word of ``relay`` are shown as they come."""
    environment = dict(clean_environment(), PYTHONUTF8="1")
    child = subprocess.Popen(
        list(command),
        cwd=ROOT,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    )
    lines = []
    try:
        for line in child.stdout or ():
            lines.append(line)
            if line.strip().startswith(relay) and ".metadata" not in line:
                say("  " + line.strip()[:100])
        code = wait_for(child)
    except KeyboardInterrupt:
        child.terminate()
        wait_for(child)
        raise
    finally:
        if child.stdout:
            child.stdout.close()
    return code, "".join(lines)


# --- finding a Python -----------------------------------------------------------------------------------


def ask(command: List[str]) -> Optional[Python]:
    """What the interpreter says of itself; None where the command does not run."""
    try:
        code, output = run_captured(command + ["-c", ABOUT_PYTHON])
        version, fit, has_venv, has_pip, path = json.loads(output.strip().splitlines()[-1])
    except (OSError, ValueError, IndexError):
        return None
    return Python(command, tuple(version), fit, has_venv, has_pip, path) if code == 0 else None


def candidates() -> List[List[str]]:
    """Commands that may be a fitting Python: the one running this file first, then the newest."""
    minors = range(NEWEST[1], OLDEST[1] - 1, -1)
    found = [[sys.executable]] if sys.executable else []
    for name in [f"python3.{minor}" for minor in minors] + ["python3", "python"]:
        path = shutil.which(name)
        if path and [path] not in found:
            found.append([path])
    launcher = shutil.which("py") if os.name == "nt" else None
    return found + ([[launcher, f"-3.{minor}"] for minor in minors] if launcher else [])


def find_python() -> Python:
    """The first fitting interpreter that can make a virtual environment."""
    seen = []
    for command in candidates():
        python = ask(command)
        if python and python.fits and python.has_venv:
            return python
        if python:
            seen.append(python)
    lacking = [python for python in seen if python.fits]
    if lacking:
        package = f"python3.{lacking[0].version[1]}-venv"
        raise Stop(
            f"{lacking[0]} cannot make a virtual environment: its module venv or ensurepip is missing.\n"
            f"Install it (on Debian or Ubuntu: apt-get install {package}), then start again."
        )
    there = ", ".join(sorted({str(python) for python in seen})) or "none that runs"
    raise Stop(
        f"This project needs {NEEDED}. Found: {there}.\n"
        "Install one of them, then start again with it, for example: python3.13 start.py"
    )


# --- the folder .venv -----------------------------------------------------------------------------------


def venv_command() -> List[str]:
    """The interpreter inside .venv."""
    parts = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return [os.path.join(VENV, *parts)]


def make_venv() -> Python:
    """The interpreter in .venv; a usable folder is kept, a broken one is made again."""
    there = ask(venv_command())
    if there and there.fits and there.has_pip:
        say(f"Using .venv: {there}")
        return there
    if os.path.isdir(VENV) and os.listdir(VENV) and not os.path.isfile(os.path.join(VENV, "pyvenv.cfg")):
        raise Stop(f"{VENV} is in the way: it is not a virtual environment. Move it, then start again.")
    if not os.access(ROOT, os.W_OK):
        raise OSError(errno.EACCES, "Permission denied", ROOT)
    python = find_python()
    say(f"Making .venv with {python}")
    code, output = run_captured(python.command + ["-m", "venv", "--clear", VENV])
    made = ask(venv_command()) if code == 0 else None
    if made is None or not made.has_pip:
        raise Stop(explain("Making .venv", output))
    return made


def wanted_stamp(python: Python) -> str:
    """Changes whenever something must be installed again; the place counts, since .venv points to it."""
    digest = hashlib.sha256(repr((python.version, ROOT)).encode("utf-8", "surrogateescape"))
    for name in ("pyproject.toml", "constraints.txt"):
        with open(os.path.join(ROOT, name), "rb") as file:
            digest.update(file.read())
    return digest.hexdigest()


def read_stamps() -> Dict[str, str]:
    """Stamps of what is installed, by "run" and "test"; empty when nothing is known to be complete."""
    try:
        with open(STAMP, encoding="utf-8") as file:
            stamps = json.load(file)
    except (OSError, ValueError):
        return {}
    return stamps if isinstance(stamps, dict) else {}


def install(python: Python, *, for_tests: bool) -> None:
    """Install the project and what it needs, unless that was done since the last change."""
    stamp, stamps = wanted_stamp(python), read_stamps()
    if stamps.get("test" if for_tests else "run") == stamp:
        return
    if os.path.exists(STAMP):
        os.remove(STAMP)  # an install that is broken off must not look complete
    say("Installing (the first time this fetches packages and takes some minutes)")
    pip = python.command + ["-m", "pip", "install", "--only-binary", ":all:", "-c", "constraints.txt"]
    # The project is built by the tools just installed: an isolated build would fetch its own, unconstrained.
    project = ["--no-build-isolation", "-e", ".[test]" if for_tests else "."]
    for what in (BUILD_TOOLS, project):
        code, output = run_captured(pip + what, relay=("Downloading", "Using cached", "Installing collected"))
        if code != 0:
            raise Stop(explain("Installing", output))
    stamps = {"run": stamp, "test": stamp} if for_tests else {"run": stamp}
    with open(STAMP + ".new", "w", encoding="utf-8") as file:
        json.dump(stamps, file)
    os.replace(STAMP + ".new", STAMP)


# --- saying what went wrong -----------------------------------------------------------------------------

# Signs in the output of pip and venv (regular expressions), looked for in this order, and what to tell.
NO_NETWORK = (
    "name resolution|Name or service not known|getaddrinfo failed|nodename nor servname|"
    "Network is unreachable|NewConnectionError|ConnectTimeout|ReadTimeout|"
    "Connection refused|Connection reset|ProxyError|Max retries"
)
SIGNS = {
    "No space left on device|Errno 28]|not enough space on the disk|quota exceeded": (
        "the disk is full. Free about 2 GB, then start again."
    ),
    "CERTIFICATE_VERIFY_FAILED": (
        "the package index shows a certificate that this computer does not trust.\n"
        "Set the computer's clock and certificates right (behind a proxy: PIP_CERT), then start again."
    ),
    NO_NETWORK: (
        "packages could not be fetched: there is no network.\n"
        "Connect (behind a proxy: set HTTPS_PROXY), then start again; what was already fetched is kept."
    ),
    "Read-only file system|Errno 30]|Permission denied|Errno 13]|Access is denied": (
        "this folder cannot be written to.\nCopy the project to a folder of your own, then start again there."
    ),
    "ensurepip is not available|No module named '?(ensurepip|venv)": (
        "this Python's module venv or ensurepip is missing.\n"
        "Install it (on Debian or Ubuntu: apt-get install python3-venv), then start again."
    ),
    # pip does not tell these apart: no index to ask, nothing ready-made that fits, versions at odds.
    "No matching distribution found|ResolutionImpossible": (
        "a package was not found in the version wanted. Either no package index is in reach (connect, then\n"
        f"start again), or none is ready-made for this computer and Python (needed: {NEEDED}),\n"
        "or constraints.txt and pyproject.toml, if they were changed, exclude each other."
    ),
}


def explain(doing: str, output: str) -> str:
    """One message for a failed step: the reason where it is known, else the last lines of the output."""
    for signs, meaning in SIGNS.items():
        if re.search(signs, output):
            return f"{doing} failed: {meaning}"
    last_lines = "\n".join(line[:200] for line in output.strip().splitlines()[-12:])
    return f"{doing} failed. The last lines were:\n{last_lines}"


def explain_os_error(error: OSError) -> str:
    """One message for an error of the operating system."""
    return explain(f"Working in {error.filename or ROOT}", f"[Errno {error.errno}] {error.strerror or error}")


# --- the two jobs ---------------------------------------------------------------------------------------


def open_bench(python: Python) -> int:
    """The main job: the bench in the browser, at the demonstration machine and its findings."""
    say("The bench opens in the browser, with a demonstration machine and its findings.")
    say("The first time it gets its twin ready beside that, for some minutes.")
    try:
        return run(python.command + ["-m", "collaudo", "serve", "--at", "/demo"])
    except KeyboardInterrupt:
        return 0  # how the bench is closed


def compiling(python: Python) -> "subprocess.Popen[str]":
    """Begin to compile the kernel, which takes minutes of one core and which all tests would wait for."""
    return begin(python.command + ["-m", "collaudo.cli.main", "measure", "--compile"])


def workers() -> int:
    """Test processes: as many as the cores that this process may use."""
    affinity = getattr(os, "sched_getaffinity", None)
    return min(8, len(affinity(0)) if affinity else os.cpu_count() or 1)


def check_and_test(python: Python, arguments: Sequence[str]) -> int:
    """Lint, types, then the tests; all run even if one fails, and the tests' closing line comes last."""
    failed = []
    say("\ncompiling, with ruff and mypy meanwhile")
    compiler = compiling(python)
    try:
        for name, command in (
            ("ruff", ["-m", "ruff", "check", "--output-format", "concise"]),
            ("mypy", ["-m", "mypy"]),
        ):
            if run(python.command + command) != 0:
                failed.append(name)
        if wait_for(compiler) != 0:
            failed.append("compiling")
    finally:
        if compiler.poll() is None:
            compiler.kill()
    say("\npytest")
    # One thread each: the workers already fill the cores.
    one_thread = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS"), "1")
    pytest = python.command + ["-m", "pytest", "-n", str(workers()), "--dist", "worksteal"]
    code = run(pytest + list(arguments), **one_thread)
    if failed:
        say("Failed before the tests: " + ", ".join(failed), sys.stderr)
    return code or (1 if failed else 0)


def work(arguments: Sequence[str]) -> int:
    """Do what the command line asks; raises Stop and OSError."""
    if arguments and arguments[0] != "test":
        say(str(__doc__), sys.stdout if arguments[0] in ("-h", "--help") else sys.stderr)
        return 0 if arguments[0] in ("-h", "--help") else 2
    python = make_venv()
    install(python, for_tests=bool(arguments))
    return check_and_test(python, arguments[1:]) if arguments else open_bench(python)


def main(arguments: Sequence[str]) -> int:
    """Exit code; every foreseen trouble ends in one message."""
    try:
        return work(arguments)
    except Stop as stop:
        say(str(stop), sys.stderr)
    except OSError as error:
        say(explain_os_error(error), sys.stderr)
    except KeyboardInterrupt:
        say("\nStopped. Start again to go on from here.", sys.stderr)
        return 130
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
