"""Having the twin compiled in a process of its own, so that a server answers meanwhile.

Compiling takes some minutes the first time on a computer and holds the interpreter; afterwards the machine
code is loaded in half a second. ``python -m collaudo.bench.running.twin_ready`` is that process; it ends when
its input is closed, that is when whoever began it is gone.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from pathlib import Path

from collaudo.bench.judging.getting_ready import twin_is_compiled
from collaudo.errors import CollaudoError

SERVES = "collaudo.bench.running.twin_ready"
"""This module, run by itself."""
SMALLEST = "flow-through"
"""Any machine makes the compiler do all of it."""

__all__ = ["make_ready", "twin_is_compiled"]


def make_ready() -> None:
    """Return when the twin is compiled; raises `CollaudoError` where the compiler ended without."""
    package = str(Path(__file__).parents[3])
    paths = [package, *filter(None, [os.environ.get("PYTHONPATH")])]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}
    command = [sys.executable, "-m", SERVES]
    process = subprocess.Popen(  # our own module, by our own interpreter
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        env=environment,
        start_new_session=sys.platform != "win32",
    )
    assert process.stdin is not None and process.stderr is not None  # noqa: S101, PT018  # asked for above
    with process.stdin, process.stderr:
        told = process.stderr.read().decode(errors="replace").strip().splitlines()[-1:]
        code = process.wait()
    if code:
        raise CollaudoError(f"the twin could not be compiled here: {''.join(told)[:200]}")


def _end_with_input() -> None:
    with contextlib.suppress(OSError, ValueError):
        # Not by `sys.stdin`: its lock would be held when the interpreter ends.
        while os.read(0, 1):
            pass
    os._exit(1)


def main() -> int:
    """The process."""
    threading.Thread(target=_end_with_input, daemon=True).start()
    from collaudo.machine.load import find_machine
    from collaudo.twin.run import Run

    run = Run.of(find_machine(SMALLEST))
    run.advance(1.0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
