"""The command `measure`: one function for each thing it measures."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from dataclasses import asdict

from collaudo.cli.output import Counting, note, print_json
from collaudo.errors import InputError, Problem

DEFAULT_MACHINE = "hx-vibration"
CASES = 2000


def measure(arguments: argparse.Namespace) -> int:
    """Compile the twin, measure something, or both."""
    if not arguments.compile and not arguments.what:
        known = ", ".join(f"'measure {word}'" for word in MEASURED)
        raise InputError(Problem("nothing to measure", f"write {known} or 'measure --compile'"))
    if arguments.compile:
        from collaudo.bench.measuring.speed import compile_library

        note("Compiling the twin (once; this can take some minutes)")
        compile_library(lambda name: note(f"  {name}"))
        note("Compiled.")
    if arguments.what:
        MEASURED[arguments.what][1](arguments)
    return 0


def speed(arguments: argparse.Namespace) -> None:
    """Times real time of a working hour, of one machine or of each."""
    from collaudo.bench.measuring.speed import WANTED_TIMES, measure_speeds

    found = measure_speeds(arguments.machine or "")
    if arguments.json:
        print_json([asdict(item) | {"times_real_time": item.times_real_time} for item in found])
        return
    width = max(len(item.machine) for item in found)
    for item in found:
        taken = f"{item.duration_s:.0f} s in {1000 * item.wall_s:5.1f} ms"
        steps = f"{item.steps} steps, {item.rejected} rejected, {item.events} events"
        print(f"{item.machine:{width}}  {item.times_real_time:9,.0f} times real time  {taken}  {steps}")
    slow = sum(item.times_real_time < WANTED_TIMES for item in found)
    print(
        f"best of {found[0].repeats}; {slow} of {len(found)} slower than {WANTED_TIMES:,.0f} times real time"
    )


def integrator(arguments: argparse.Namespace) -> None:
    """Our integrator beside others on the same rates."""
    from collaudo.bench.measuring.integrator import compare_integrators

    found = compare_integrators(tell=note)
    if arguments.json:
        print_json(asdict(found) | {"times_faster": found.times_faster})
        return
    print(f"{found.duration_s:.0f} s on the machine, relative tolerance {found.rtol:g}")
    for timing in (found.own, *found.others):
        inside = f", {timing.in_rates_s:.2f} s of it in the rates" if timing.in_rates_s else ""
        spent = f"{timing.wall_s:8.3f} s, {timing.rates} evaluations{inside}"
        print(f"{timing.method:8}{spent}; {timing.cup_g:.2f} g in the cup")
    print(f"{found.times_faster:.0f} times faster than the best of the others")


def tuned(arguments: argparse.Namespace) -> None:
    """Every fitted parameter."""
    from collaudo.bench.measuring.tuned import tuned_parameters

    parameters = tuned_parameters()
    if arguments.json:
        print_json([asdict(parameter) for parameter in parameters])
        return
    for parameter in parameters:
        of = f"{parameter.machine}: " if parameter.machine else ""
        print(f"{of}{parameter.field} = {parameter.value:g}")
        print(f"    moved for {parameter.moved_for}; origin: {parameter.origin}")


def accuracy(arguments: argparse.Namespace) -> None:
    """How far tolerance and cells move the readings."""
    from collaudo.bench.measuring.accuracy import RTOL, SHARE_ALLOWED, readings_moved

    moved = readings_moved(arguments.machine or DEFAULT_MACHINE, Counting("drawn machines"))
    if arguments.json:
        print_json([asdict(item) | {"share": None if item.changed else item.share} for item in moved])
        return
    print(f"At a relative tolerance of {RTOL:g}, moved by half of it and by twice the cells:")
    print(f"{'reading':34} {'value':>10}       {'tolerance':>10} {'cells':>10} {'spread':>10}  share of it")
    for item in moved:
        if item.changed:
            print(f"{item.reading:34} changes: {item.changed}")
            continue
        print(
            f"{item.reading:34} {item.value:10.4g} {item.unit:5} {item.by_tolerance:10.2g}"
            f" {item.by_cells:10.2g} {item.spread:10.3g}  {item.share:.3f}"
        )
    beyond = sum(item.share > SHARE_ALLOWED for item in moved)
    print(f"{len(moved)} readings, {beyond} moved by more than {SHARE_ALLOWED:g} of their spread")


def diagnosis(arguments: argparse.Namespace) -> None:
    """How good the ranking is on unseen cases."""
    from collaudo.bench.measuring.evaluation import evaluate

    found = evaluate(
        arguments.machine or DEFAULT_MACHINE,
        arguments.cases or CASES,
        by_frequency=not arguments.uniformly,
        progress=Counting("drawn machines, then cases made, then cases ranked"),
    )
    if arguments.json:
        print_json(asdict(found))
        return
    how = "causes as common as they are" if found.by_frequency else "every cause as often"
    print(f"{found.machine}: {found.cases} unseen cases ({how}), {found.draws} drawn machines")
    print(f"right repair first: {100 * found.first:.1f} %; among three: {100 * found.among_three:.1f} %")
    print(
        f"calibration error {found.calibration_error:.4f}; of a perfectly calibrated ranker on so many cases "
        f"{found.calibration_of_perfect:.4f}"
    )
    print(f"log score {found.log_score:.3f} nat; of the frequencies alone {found.log_score_of_prior:.3f}")
    for true, first, times in found.confused[:10]:
        print(f"  {times:4d} times {first} stood before {true}")


def loading(arguments: argparse.Namespace) -> None:
    """How long machine files take to load."""
    from collaudo.bench.measuring.loading import REPEATS, ALLOWED_ms, measure_loading

    found = measure_loading(arguments.machine or "")
    if arguments.json:
        print_json([asdict(item) for item in found])
        return
    width = max(len(item.machine) for item in found)
    for item in found:
        times = f"{item.best_ms:6.1f} ms, median {item.median_ms:.1f}"
        print(f"{item.machine:{width}}  {item.parts:3d} parts  {times}")
    slow = sum(item.best_ms > ALLOWED_ms for item in found)
    print(f"best of {REPEATS}; {slow} of {len(found)} take more than {ALLOWED_ms:g} ms")


def drawing(arguments: argparse.Namespace) -> None:
    """How long drawings take."""
    from collaudo.bench.measuring.drawing_speed import REPEATS, ALLOWED_ms, measure_drawings

    found = measure_drawings(arguments.machine or "")
    if arguments.json:
        print_json([asdict(item) for item in found])
        return
    width = max(len(item.machine) for item in found)
    for item in found:
        print(f"{item.machine:{width}}  {item.of:8} {item.best_ms:6.1f} ms")
    slow = sum(item.best_ms > ALLOWED_ms for item in found)
    print(f"processor time, best of {REPEATS}; {slow} of {len(found)} take more than {ALLOWED_ms:g} ms")


MEASURED: Mapping[str, tuple[str, Callable[[argparse.Namespace], None]]] = {
    "speed": ("how fast the twin runs", speed),
    "integrator": ("the twin's integrator beside SciPy's stiff ones", integrator),
    "tuned": ("which parameters were fitted to the trade's ranges", tuned),
    "accuracy": ("how far tolerance and cells move the readings", accuracy),
    "loading": ("how long machine files take to load", loading),
    "drawing": ("how long drawings take", drawing),
    "diagnosis": ("how good the ranking is on unseen cases", diagnosis),
}
