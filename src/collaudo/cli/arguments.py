"""What the command line understands. Commands import what they need when they run."""

from __future__ import annotations

import argparse
import math

from collaudo.cli import commands

_CAUTION = (
    "Espresso machines work with steam, pressure and mains. Local codes and licensed practice come first; "
    "a safety device is never bridged, adjusted or left out."
)
LEAST_RTOL, MOST_RTOL = 1e-9, 1e-2


def make_parser() -> argparse.ArgumentParser:
    """The parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="collaudo",
        description="A twin of the espresso machine on the bench.",
        epilog=_CAUTION,
        allow_abbrev=False,
    )
    words = parser.add_subparsers(metavar="COMMAND", required=True)
    _machines(words)
    _run(words)
    _measure(words)
    demo = _word(words, "demo", "warm up the demonstration machine and read its gauges", commands.demo)
    demo.add_argument("--json", action="store_true", help="print JSON")
    completion = _word(words, "completion", "print the completion script of a shell", commands.completion)
    completion.add_argument("shell", choices=("bash", "zsh", "tcsh"))
    return parser


def _word(
    words: argparse._SubParsersAction[argparse.ArgumentParser], name: str, text: str, command: object
) -> argparse.ArgumentParser:
    sentence = text[0].upper() + text[1:] + "."
    parser = words.add_parser(name, help=text, description=sentence, allow_abbrev=False)
    parser.set_defaults(command=command)
    return parser


def _machines(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    many = _word(words, "machines", "list the machines of the library", commands.machines)
    many.add_argument("--json", action="store_true", help="print JSON: a list of objects with id and title")
    one = words.add_parser("machine", help="work with a machine file", allow_abbrev=False)
    check = _word(
        one.add_subparsers(metavar="COMMAND", required=True),
        "check",
        "read a machine file and say everything that is wrong with it",
        commands.machine_check,
    )
    check.add_argument("file", metavar="FILE", help="a machine file")
    check.add_argument("--json", action="store_true", help="print JSON")


def _run(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    run = _word(words, "run", "perform a session on a machine", commands.run)
    run.add_argument("machine", metavar="MACHINE", help="a machine of the library or a machine file")
    run.add_argument("operations", metavar="OPERATIONS", help="a session file")
    run.add_argument("--json", action="store_true", help="print JSON: duration_s, events, wall_s, balances")
    run.add_argument("--csv", metavar="FILE", help="write the series to a file")
    run.add_argument("--rtol", type=_rtol, help=f"relative tolerance, {LEAST_RTOL:g} to {MOST_RTOL:g} (1e-3)")


WHAT_TO_MEASURE = (
    "speed: how fast the twin runs; integrator: the same beside SciPy's integrators; "
    "tuned: which parameters were fitted to the trade's ranges"
)


def _measure(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    measure = _word(words, "measure", "measure the tool itself", commands.measure)
    measure.add_argument("what", nargs="?", choices=("speed", "integrator", "tuned"), help=WHAT_TO_MEASURE)
    measure.add_argument("--compile", action="store_true", help="compile the twin once, for all commands")
    measure.add_argument("--json", action="store_true", help="print JSON")


def _rtol(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not LEAST_RTOL <= value <= MOST_RTOL:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is no number from {LEAST_RTOL:g} to {MOST_RTOL:g}")
    return value
