"""Processes of our own beside a server, for what takes minutes: they end when whoever began them is gone."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path


def own_module(module: str, *words: str) -> list[str]:
    """The command that runs a module of this package, by this interpreter."""
    return [sys.executable, "-m", module, *words]


def begin_beside(command: Sequence[str], *, said: int, faults: int) -> subprocess.Popen[bytes]:
    """Begin a process whose input stays open as long as this one lives; ``said`` and ``faults`` are where its
    output and its error output go, as for `subprocess.Popen`."""
    package = Path(__file__).parents[2]
    path = os.pathsep.join(filter(None, [str(package), os.environ.get("PYTHONPATH", "")]))
    return subprocess.Popen(  # our own module, by our own interpreter
        command,
        stdin=subprocess.PIPE,
        stdout=said,
        stderr=faults,
        env={**os.environ, "PYTHONPATH": path},
        # Ctrl-C is for the server: it ends the others.
        start_new_session=sys.platform != "win32",
    )


def end_with_input() -> None:
    """Called by such a process: it ends when its input is closed."""
    threading.Thread(target=_wait_for_the_end, daemon=True).start()


def _wait_for_the_end() -> None:
    # Past Python's own buffer, whose lock would still be held when the process ends by itself.
    with contextlib.suppress(OSError, ValueError):
        while os.read(0, 1):
            pass
    os._exit(1)
