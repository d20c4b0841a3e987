"""One function per command: ask the bench, print the answer, return the exit code."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from collaudo.errors import InputError, Problem
from collaudo.quantities.units import split_suffix, unit_of


def machines(arguments: argparse.Namespace) -> int:
    """List the library."""
    from collaudo.bench.machines import machines as all_machines

    found = all_machines()
    if arguments.json:
        _print_json([{"id": machine.id, "title": machine.title} for machine in found])
        return 0
    width = max(len(machine.id) for machine in found)
    for machine in found:
        print(f"{machine.id:{width}}  {machine.title}")
    return 0


def machine_check(arguments: argparse.Namespace) -> int:
    """Say whether a machine file can be used."""
    from collaudo.bench.machines import check_machine

    try:
        found = check_machine(arguments.file)
    except InputError as fault:
        if arguments.json:
            problems = [asdict(problem) for problem in fault.problems]
            _print_json({"file": arguments.file, "fine": False, "problems": problems})
        raise
    if arguments.json:
        _print_json({"file": arguments.file, "fine": True, "problems": [], **asdict(found)})
        return 0
    print(f"{arguments.file}: {found.id}, {found.title}")
    print(f"fine: {found.parts} parts, {found.lines} lines, {found.wires} wires")
    return 0


def run(arguments: argparse.Namespace) -> int:
    """Perform a session."""
    from collaudo.bench.session import run_session

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
        _print_json({key: getattr(result, key) for key in keys} | {"events": events})
        return 0
    print(f"{result.machine}: {result.title}")
    for event in result.events:
        print(f"{_clock(event.time_s)}  {event.device.replace('_', ' ')}: {event.state}")
    print(f"{_clock(result.duration_s)}  end")
    for name, values in result.series.items():
        if name != "time_s":
            print(f"  {_label(name)}: {_shown(name, float(values[-1]))}")
    missing = ", ".join(f"{name} {share:.0e}" for name, share in result.balances.items())
    print(f"Missing from the balances (share): {missing}")
    print(f"Computed in {result.wall_s:.3f} s, {result.steps} steps.")
    return 0


def measure(arguments: argparse.Namespace) -> int:
    """Compile the twin, measure its speed, or both."""
    if not arguments.compile and not arguments.what:
        known = "write 'measure speed', 'measure integrator', 'measure tuned' or 'measure --compile'"
        raise InputError(Problem("nothing to measure", known))
    if arguments.what == "tuned":
        _list_tuned(arguments.json)
        return 0
    from collaudo.bench.speed import compile_library, measure_speed

    if arguments.compile:
        _note("Compiling the twin (once; this can take some minutes)")
        compile_library(lambda name: _note(f"  {name}"))
        _note("Compiled.")
    if arguments.what == "speed":
        speed = measure_speed()
        if arguments.json:
            _print_json(asdict(speed) | {"times_real_time": speed.times_real_time})
            return 0
        taken = f"{1000 * speed.wall_s:.1f} ms (best of {speed.repeats})"
        print(f"{speed.machine}: {speed.duration_s:.0f} s in {taken}")
        print(f"{speed.times_real_time:,.0f} times real time")
        print(f"{speed.steps} steps, {speed.rejected} of them rejected, {speed.events} events")
    if arguments.what == "integrator":
        _compare_integrators(arguments.json)
    return 0


def _compare_integrators(as_json: bool) -> None:
    from collaudo.bench.integrator import compare_integrators

    found = compare_integrators(tell=_note)
    if as_json:
        keys = ("times_faster", "times_faster_without_rates")
        _print_json(asdict(found) | {key: getattr(found, key) for key in keys})
        return
    print(f"{found.duration_s:.0f} s on the machine, relative tolerance {found.rtol:g}")
    for timing in (found.own, *found.others):
        inside = f", {timing.in_rates_s:.2f} s of it in the rates" if timing.in_rates_s else ""
        spent = f"{timing.wall_s:8.3f} s, {timing.rates} evaluations{inside}"
        print(f"{timing.method:8}{spent}; {timing.cup_g:.2f} g in the cup")
    free = found.times_faster_without_rates
    print(f"{found.times_faster:.0f} times faster than the best of the others")
    print(f"{free:.1f} times if rates and slopes, called from Python, cost the others nothing")


def _list_tuned(as_json: bool) -> None:
    from collaudo.bench.tuned import tuned_parameters

    parameters = tuned_parameters()
    if as_json:
        _print_json([asdict(parameter) for parameter in parameters])
        return
    for parameter in parameters:
        print(f"{parameter.field} = {parameter.value:g}")
        print(f"    moved for {parameter.moved_for}; origin: {parameter.origin}")


def demo(arguments: argparse.Namespace) -> int:
    """Warm up the demonstration machine and read it."""
    _note("The twin is compiled on first use; that can take some minutes.")
    from collaudo.bench.demo import READING_s, warm_up

    warm = warm_up(progress=Progress("warming up"))
    if arguments.json:
        _print_json(asdict(warm))
        return 0
    print(f"{warm.machine}: {warm.title}")
    print(f"Switched on cold; after {warm.time_s / 60:.0f} minutes, over the last {READING_s / 60:.0f}:")
    for reading in warm.readings:
        low, high = _shown(reading.name, reading.low), _shown(reading.name, reading.high)
        print(f"  {_label(reading.name)}: {low}" + ("" if low == high else f" to {high}"))
    print(f"The pressure switch has opened {warm.heating_cycles} times.")
    return 0


def completion(arguments: argparse.Namespace) -> int:
    """Print a shell's completion script."""
    import shtab

    from collaudo.cli.arguments import make_parser

    print(shtab.complete(make_parser(), shell=arguments.shell))
    return 0


class Progress:
    """A line on the terminal that tells how far the work is; nothing where no terminal looks on."""

    def __init__(self, doing: str) -> None:
        self.doing = doing
        self.shown = -1

    def __call__(self, time_s: float, total_s: float) -> None:
        """Tell that ``time_s`` of ``total_s`` are done."""
        percent = min(100, int(100 * time_s / total_s))
        if percent == self.shown or not sys.stderr.isatty():
            return
        self.shown = percent
        end = "\r" if percent < 100 else "\r\033[K"
        print(f"{self.doing}: {percent} % of {total_s / 60:.0f} min", end=end, file=sys.stderr, flush=True)


def _note(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _print_json(value: Any) -> None:
    print(json.dumps(value, indent=2, allow_nan=False))


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
    return split_suffix(name)[0].replace("_", " ")


def _shown(name: str, value: float) -> str:
    """A value of the series ``name`` as printed: hundredths of a bar, on or off, else one digit."""
    unit = split_suffix(name)[1]
    if unit == "share":
        return "on" if value > 0.5 else "off"
    text = f"{value:z.{2 if unit == 'bar' else 1}f}"
    return f"{text} {unit_of(unit).text}"
