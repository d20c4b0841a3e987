"""The command ``collaudo``.

Exit codes: 0 fine, 2 something given cannot be used, 3 a run that cannot go on, 130 stopped by Ctrl-C.
What is asked for goes to standard output, everything else to standard error.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Sequence

from collaudo.cli.arguments import make_parser
from collaudo.cli.serve_commands import Server
from collaudo.errors import CollaudoError, InputError, RunError

FINE, BAD_INPUT, CANNOT_GO_ON, STOPPED = 0, 2, 3, 130


def main(argv: Sequence[str] | None = None, *, server: Server | None = None) -> int:
    """Run one command; returns the exit code and never raises for what a person may give.

    ``server`` opens the bench in the browser: the command line itself knows no other face.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")  # a terminal that lacks a sign still shows the rest
    try:
        code = _run(argv, server)
        sys.stdout.flush()
    except BrokenPipeError:
        _leave_pipe()
        return FINE
    except KeyboardInterrupt:
        _tell("\nStopped.")
        return STOPPED
    return code


def _run(argv: Sequence[str] | None, server: Server | None) -> int:
    try:
        arguments = make_parser().parse_args(argv, argparse.Namespace(server=server))
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else BAD_INPUT
    try:
        return int(arguments.command(arguments))
    except InputError as fault:
        for problem in fault.problems:
            _tell(f"collaudo: {problem}")
        return BAD_INPUT
    except RunError as fault:
        _tell(f"collaudo: {fault}")
        return CANNOT_GO_ON
    except CollaudoError as fault:
        _tell(f"collaudo: {fault}")
        return BAD_INPUT
    except BrokenPipeError:
        raise
    except OSError as fault:
        file, reason = fault.filename or "a file", fault.strerror or fault
        _tell(f"collaudo: {file}: {reason} -- check folder, name and rights")
        return BAD_INPUT


def _tell(text: str) -> None:
    with contextlib.suppress(BrokenPipeError):
        print(text, file=sys.stderr)


def _leave_pipe() -> None:
    """Whoever read our output has left: nothing more is written, not even when Python closes its streams."""
    with contextlib.suppress(OSError, ValueError):  # standard output need not be a file of the system
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    sys.exit(main())
