"""``collaudo draw``: circuit diagrams."""

from __future__ import annotations

import argparse
from pathlib import Path

from collaudo.cli.output import note
from collaudo.errors import InputError, Problem

DRAWN = ("water", "heat", "current")


def draw(arguments: argparse.Namespace) -> int:
    """Write a diagram of a machine to a file."""
    from collaudo.bench.explaining.drawings import draw_machine

    output = Path(arguments.output)
    _refuse(output, arguments.machine)
    picture = draw_machine(arguments.machine, arguments.state or "", arguments.of)
    output.write_text(picture, encoding="utf-8", newline="\n")
    note(str(output))
    return 0


def _refuse(output: Path, machine: str) -> None:
    """Say what is wrong with an output before anything is reckoned."""
    if output.suffix.lower() != ".svg":
        raise InputError(
            Problem("a drawing is written as SVG", "let the file's name end in .svg", str(output))
        )
    if output.is_dir():
        raise InputError(Problem("this is a folder", "name a file in it", str(output)))
    if not output.parent.is_dir():
        raise InputError(Problem(f"there is no folder {str(output.parent)!r}", "make it first", str(output)))
    if output.exists() and Path(machine).exists() and output.samefile(machine):
        raise InputError(
            Problem("this file is read by the same command", "write to another file", str(output))
        )
