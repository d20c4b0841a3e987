"""What the command line understands. Commands import what they need when they run."""

from __future__ import annotations

import argparse
import math

from collaudo.cli import (
    catalogue_commands,
    commands,
    current_commands,
    diagnosis_commands,
    draw_commands,
    machine_commands,
    measure_commands,
    path_commands,
    serve_commands,
)

_CAUTION = (
    "Espresso machines work with steam, pressure and mains. Local codes and licensed practice come first; "
    "a safety device is never bridged, adjusted or left out."
)
LEAST_RTOL, MOST_RTOL = 1e-9, 1e-2
LEAST_CASES = 25
LEAST_DRAWS, MOST_DRAWS = 2, 64
MACHINE = "a machine of the library or a machine file"
UNITS = ("bar", "psi", "degC", "degF")


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
    _path(words)
    _draw(words)
    _diagnosis(words)
    _catalogue(words)
    _current(words)
    _measure(words)
    text = "open the bench in the browser, on this computer alone or with --lan on its network"
    serve_commands.add_serve_arguments(_word(words, "serve", text, serve_commands.serve))
    demo = _word(words, "demo", "diagnose the demonstration machine", commands.demo)
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
    each = one.add_subparsers(metavar="COMMAND", required=True)
    check = _word(
        each,
        "check",
        "read a machine file and say everything that is wrong with it",
        machine_commands.machine_check,
    )
    check.add_argument("file", metavar="FILE", help="a machine file")
    check.add_argument("--json", action="store_true", help="print JSON")
    show = _word(
        each,
        "show",
        "print a machine whole, with all it takes from those it is like",
        machine_commands.machine_show,
    )
    show.add_argument("machine", metavar="MACHINE", help=MACHINE)
    show.add_argument("--json", action="store_true", help="print JSON")
    _machine_new(each)


def _machine_new(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    new = _word(
        words,
        "new",
        "make a machine file like another, asking what is known of this one",
        machine_commands.machine_new,
    )
    new.add_argument("--like", metavar="MACHINE", required=True, help=f"{MACHINE}: what it is built like")
    new.add_argument(
        "--answer",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        help="answer without being asked: volts=120, boiler.volume_l=2.1, title='The one by the window'",
    )
    new.add_argument("--questions", action="store_true", help="list the questions, their units and ranges")
    new.add_argument("-o", "--output", metavar="FILE", help="write it to a file")
    new.add_argument("--force", action="store_true", help="write over a file that is there")
    new.add_argument("--json", action="store_true", help="print JSON; nothing is asked")


def _diagnosis(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    diagnose = _word(
        words,
        "diagnose",
        "rank the causes of what was found, and name the next check",
        diagnosis_commands.diagnose,
    )
    diagnose.add_argument("findings", metavar="FINDINGS", help="a findings file ('findings new' makes one)")
    diagnose.add_argument("--json", action="store_true", help="print JSON, the whole answer alone")
    diagnose.add_argument("--first", action="store_true", help="be content with a first answer")
    diagnose.add_argument("--all", action="store_true", help="show all causes")
    _draws(diagnose)
    expect = _word(
        words, "expect", "say what a sound machine shows in every check", diagnosis_commands.expect
    )
    expect.add_argument("machine", metavar="MACHINE", help=MACHINE)
    expect.add_argument(
        "--site",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        help="where it stands: mains_V=225, altitude_m=900",
    )
    expect.add_argument(
        "--setting", metavar="NAME=VALUE", action="append", default=[], help="boiler_pressure='1.2 bar'"
    )
    expect.add_argument(
        "--units",
        metavar="UNIT",
        action="append",
        default=[],
        choices=UNITS,
        help=f"read in these units, one each time: {', '.join(UNITS)}",
    )
    expect.add_argument(
        "-o", "--output", metavar="FILE", help="write a sheet for the wall: FILE.html or FILE.pdf"
    )
    expect.add_argument("--json", action="store_true", help="print JSON: a list of readings")
    signatures = words.add_parser(
        "signatures", help="build what the diagnosis of a machine rests on", allow_abbrev=False
    ).add_subparsers(metavar="COMMAND", required=True)
    build = _word(
        signatures,
        "build",
        "draw machines, put in every cause, make every check on the twin",
        diagnosis_commands.signatures_build,
    )
    build.add_argument("machine", metavar="MACHINE", help=MACHINE)
    build.add_argument("--json", action="store_true", help="print JSON: machine, draws, wall_s, file")
    _draws(build)
    kept = _word(signatures, "list", "say which signatures are kept", diagnosis_commands.signatures_list)
    kept.add_argument("--json", action="store_true", help="print JSON: machine, draws, begun")


def _draws(parser: argparse.ArgumentParser) -> None:
    text = f"machines drawn, {LEAST_DRAWS} to {MOST_DRAWS} ({MOST_DRAWS}); more is steadier, and takes longer"
    parser.add_argument("--draws", metavar="N", type=_count, help=text)


def _catalogue(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    checks = _word(words, "checks", "list the checks, or show one of them", catalogue_commands.checks)
    checks.add_argument("machine", metavar="MACHINE", nargs="?", help=MACHINE)
    checks.add_argument(
        "check", metavar="CHECK", nargs="?", help="show its steps, tools, cautions and readings"
    )
    checks.add_argument("--json", action="store_true", help="print JSON")
    causes = _word(words, "causes", "list the causes, or show one of them", catalogue_commands.causes)
    causes.add_argument("machine", metavar="MACHINE", nargs="?", help=MACHINE)
    causes.add_argument("cause", metavar="CAUSE", nargs="?", help="show its reason, remedy and cautions")
    causes.add_argument("--json", action="store_true", help="print JSON")
    findings = words.add_parser("findings", help="work with findings files", allow_abbrev=False)
    new = _word(
        findings.add_subparsers(metavar="COMMAND", required=True),
        "new",
        "print a findings file to fill in, with every check and reading of a machine",
        catalogue_commands.findings_new,
    )
    new.add_argument("machine", metavar="MACHINE", help=MACHINE)
    new.add_argument("-o", "--output", metavar="FILE", help="write it to a new file")


def _current(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    current = _word(
        words,
        "current",
        "measure the wiring of a machine: volts, ohms, amperes, leaks; find what leaves a load dead",
        current_commands.current,
    )
    current.add_argument("machine", metavar="MACHINE", help=MACHINE)
    current_commands.add_current(current)


def _run(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    run = _word(words, "run", "perform a session on a machine", commands.run)
    run.add_argument("machine", metavar="MACHINE", help=MACHINE)
    run.add_argument("operations", metavar="OPERATIONS", help="a session file")
    run.add_argument("--json", action="store_true", help="print JSON: duration_s, events, wall_s, balances")
    run.add_argument("--csv", metavar="FILE", help="write the series to a file")
    run.add_argument("--rtol", type=_rtol, help=f"relative tolerance, {LEAST_RTOL:g} to {MOST_RTOL:g} (1e-3)")


def _path(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    text = "tell where water, heat and current go in a state of a machine"
    parser = _word(words, "path", text, path_commands.path)
    parser.add_argument("machine", metavar="MACHINE", help=MACHINE)
    path_commands.add_path_arguments(parser)


def _draw(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    draw = _word(words, "draw", "draw the circuit of a machine as SVG", draw_commands.draw)
    draw.add_argument("machine", metavar="MACHINE", help=MACHINE)
    draw.add_argument("--of", choices=draw_commands.DRAWN, default="water", help="what is drawn (water)")
    draw.add_argument(
        "--state", metavar="STATE", help="a state by name ('path MACHINE' lists them); else at rest"
    )
    draw.add_argument("-o", "--output", metavar="FILE", required=True, help="write it to FILE.svg")


def _measure(words: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    measured = measure_commands.MEASURED
    measure = _word(words, "measure", "measure the tool itself", measure_commands.measure)
    what = "; ".join(f"{word}: {text}" for word, (text, _) in measured.items())
    measure.add_argument("what", nargs="?", choices=tuple(measured), help=what)
    measure.add_argument(
        "--machine",
        metavar="MACHINE",
        help="of accuracy, diagnosis (hx-vibration), loading and drawing (all)",
    )
    measure.add_argument("--cases", type=_cases, metavar="N", help="of diagnosis: how many (2000)")
    measure.add_argument("--uniformly", action="store_true", help="of diagnosis: every cause as often")
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


def _cases(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 7 and int(text) >= LEAST_CASES):
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is no whole number from {LEAST_CASES} on")
    return int(text)


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 6 and LEAST_DRAWS <= int(text) <= MOST_DRAWS):
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r} is no whole number from {LEAST_DRAWS} to {MOST_DRAWS}"
        )
    return int(text)
