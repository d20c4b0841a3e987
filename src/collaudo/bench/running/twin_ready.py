"""Having the twin compiled in a process of its own, so that a server answers meanwhile.

Compiling takes some minutes the first time on a computer and holds the interpreter; afterwards the machine
code is loaded in half a second. ``python -m collaudo.bench.running.twin_ready`` is that process; it ends when
its input is closed, that is when whoever began it is gone.
"""

from __future__ import annotations

import subprocess
import sys

from collaudo.bench.beside import begin_beside, end_with_input, own_module
from collaudo.bench.judging.getting_ready import twin_is_compiled
from collaudo.errors import CollaudoError

SERVES = "collaudo.bench.running.twin_ready"
"""This module, run by itself."""
SMALLEST = "flow-through"
"""Any machine makes the compiler do all of it."""

__all__ = ["make_ready", "twin_is_compiled"]


def make_ready() -> None:
    """Return when the twin is compiled; raises `CollaudoError` where the compiler ended without."""
    process = begin_beside(own_module(SERVES), said=subprocess.DEVNULL, faults=subprocess.PIPE)
    assert process.stdin is not None and process.stderr is not None  # noqa: S101, PT018  # asked for above
    with process.stdin, process.stderr:
        told = process.stderr.read().decode(errors="replace").strip().splitlines()[-1:]
        code = process.wait()
    if code:
        raise CollaudoError(f"the twin could not be compiled here: {''.join(told)[:200]}")


def main() -> int:
    """The process."""
    end_with_input()
    from collaudo.machine.load import find_machine
    from collaudo.twin.run import Run

    run = Run.of(find_machine(SMALLEST))
    run.advance(1.0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
