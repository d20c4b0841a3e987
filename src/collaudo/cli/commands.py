"""One function per command: ask the bench, print the answer, return the exit code."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Any

from collaudo.bench.naming import part_in_words
from collaudo.cli.output import Progress, note, print_json
from collaudo.errors import InputError, Problem
from collaudo.quantities.units import split_suffix, unit_of


def machines(arguments: argparse.Namespace) -> int:
    """List the library."""
    from collaudo.bench.machines.library import machines as all_machines

    found = all_machines()
    if arguments.json:
        print_json([{"id": machine.id, "title": machine.title} for machine in found])
        return 0
    width = max(len(machine.id) for machine in found)
    for machine in found:
        print(f"{machine.id:{width}}  {machine.title}")
    return 0


def run(arguments: argparse.Namespace) -> int:
    """Perform a session."""
    from collaudo.bench.runs.session import run_session

    if arguments.csv:
        _refuse_input_as_output(arguments.csv, (arguments.machine, arguments.operations))
    result = run_session(
        arguments.machine, arguments.operations, rtol=arguments.rtol, progress=Progress("running")
    )
    if arguments.csv:
        _write_csv(arguments.csv, result.series)
    if arguments.json:
        keys = ("machine", "title", "duration_s", "wall_s", "steps", "balances")
        events = [asdict(event) for event in result.events]
        print_json({key: getattr(result, key) for key in keys} | {"events": events})
        return 0
    print(f"{result.machine}: {result.title}")
    for event in result.events:
        print(f"{_clock(event.time_s)}  {part_in_words(event.device)}: {event.state}")
    print(f"{_clock(result.duration_s)}  end")
    for name, values in result.series.items():
        if name != "time_s":
            print(f"  {_label(name)}: {_shown(name, float(values[-1]))}")
    missing = ", ".join(f"{name} {share:.0e}" for name, share in result.balances.items())
    print(f"Missing from the balances (share): {missing}")
    print(f"Computed in {result.wall_s:.3f} s, {result.steps} steps.")
    return 0


def demo(arguments: argparse.Namespace) -> int:
    """Diagnose the demonstration machine."""
    from collaudo.bench.demo import demo_file
    from collaudo.cli.diagnosis_commands import diagnose_file

    with demo_file() as file:
        note(f"A machine comes in; what was found stands in {file.name}:")
        note(file.read_text(encoding="utf-8"))
        return diagnose_file(str(file), as_json=arguments.json)


def completion(arguments: argparse.Namespace) -> int:
    """Print a shell's completion script."""
    import shtab

    from collaudo.cli.arguments import make_parser

    print(shtab.complete(make_parser(), shell=arguments.shell))
    return 0


def _refuse_input_as_output(output: str, inputs: tuple[str, ...]) -> None:
    path = Path(output)
    if any(Path(name).exists() and path.exists() and path.samefile(name) for name in inputs):
        raise InputError(Problem("this file is read by the same command", "write to another file", output))
    if path.is_dir():
        raise InputError(Problem("this is a folder", "name a file in it", output))
    if not path.parent.is_dir():
        raise InputError(Problem(f"there is no folder {str(path.parent)!r}", "make it first", output))


def _write_csv(output: str, series: dict[str, Any]) -> None:
    import csv

    with Path(output).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(series)
        writer.writerows([f"{value:.9g}" for value in row] for row in zip(*series.values(), strict=True))


def _clock(time_s: float) -> str:
    minutes, seconds = divmod(time_s, 60.0)
    return f"{int(minutes):4d} min {seconds:4.1f} s"


def _label(name: str) -> str:
    """``second cup`` of ``cup_2_g``, ``heating element, leg 2`` of a leg of it."""
    part, _, leg = split_suffix(name)[0].partition(".")
    return ", ".join([part_in_words(part), *([leg.replace("_", " ")] if leg else [])])


def _shown(name: str, value: float) -> str:
    """A value of the series ``name`` as printed: hundredths of a bar, on or off, else one digit."""
    unit = split_suffix(name)[1]
    if unit == "share":
        return "on" if value > 0.5 else "off"
    text = f"{value:z.{2 if unit == 'bar' else 1}f}"
    return f"{text} {unit_of(unit).text}"
