"""The command `current`: what a meter shows at the wiring, and where to measure next."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterable
from dataclasses import asdict
from typing import TYPE_CHECKING

from collaudo.cli.output import print_json
from collaudo.cli.words import chance_in_words, wrapped
from collaudo.errors import InputError, Problem
from collaudo.quantities.digits import digits_of, with_digits

if TYPE_CHECKING:
    from collaudo.bench.runs.current import CurrentAnswer, Found, Measured

_WIRE = "wire "
_TRIPS = {
    "no": "does not trip",
    "perhaps": "may trip",
    "as a rule": "trips as a rule",
    "yes": "trips",
}

LAST_DIGIT = {"V": 0.005, "A": 0.0005, "mA": 0.005, "ohm": 0.005}
"""Half of what the last digit of a usual meter's display is worth."""
WIRES_TOLD = 3
"""More wires than this are counted, not named: contacts and windings fail far more often."""


def add_current(parser: argparse.ArgumentParser) -> None:
    """What the command understands besides the machine."""
    add = parser.add_argument
    text = "power=on, pressure_switch=open, plug=out: how it stands; what is not named is at rest, plugged in"
    add("--condition", metavar="WHAT=HOW", action="append", default=[], help=text)
    add("--site", metavar="KEY=VALUE", action="append", default=[], help="where it stands: mains_V=225")
    add("--lift", metavar="TERMINAL", action="append", default=[], help="pull the wires off a terminal")
    add("--meter", choices=("digital", "tester"), default="digital", help="10 Mohm or 300 kohm (digital)")
    pair = ("A", "B")
    add("--volts", nargs=2, metavar=pair, action="append", default=[], help="volts between two terminals")
    text = "ohms between two terminals, unplugged"
    add("--ohms", nargs=2, metavar=pair, action="append", default=[], help=text)
    text = "megohms between two terminals at 500 V, unplugged"
    add("--insulation", nargs=2, metavar=pair, action="append", default=[], help=text)
    add("--clamp", metavar="PART", action="append", default=[], help="amperes through a part")
    add("--leak", metavar="PART=MOHM", action="append", default=[], help="where a damp part leaks to")
    add("--find", metavar="LOAD", default="", help="find the open place that leaves a load dead")
    text = "seen in the search: heating_element.live=0V, cut_out.b=0.3ohm, cut_out.b/neutral=open"
    add("--seen", metavar="POINT=READING", action="append", default=[], help=text)
    add("--json", action="store_true", help="print JSON")


def current(arguments: argparse.Namespace) -> int:
    """Measure the wiring of a machine."""
    from collaudo.bench.runs.current import measure_current

    answer = measure_current(
        arguments.machine,
        condition=_pairs("--condition", arguments.condition),
        site=_pairs("--site", arguments.site),
        lifted=arguments.lift,
        meter=arguments.meter,
        volts_between=[(a, b) for a, b in arguments.volts],
        ohms_between=[(a, b) for a, b in arguments.ohms],
        insulation_between=[(a, b) for a, b in arguments.insulation],
        clamp=arguments.clamp,
        leak=_pairs("--leak", arguments.leak),
        find=arguments.find,
        seen=_pairs("--seen", arguments.seen),
    )
    if arguments.json:
        print_json(_plain(asdict(answer)))
        return 0
    print("\n".join(_text(answer)))
    return 0


def _pairs(option: str, given: Iterable[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in given:
        key, sign, value = text.partition("=")
        if not (key.strip() and sign and value.strip()):
            raise InputError(Problem(f"{option} {text[:60]!r} has no =", f"write {option} this=that"))
        if key in found:
            raise InputError(Problem(f"{option} {key[:60]} is given twice", "give it once"))
        found[key.strip()] = value.strip()
    return found


def _plain(value: object) -> object:
    """What JSON can say: no reading is null."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return None if value == float("inf") else value


def _text(answer: CurrentAnswer) -> list[str]:
    lines = [f"{answer.machine}: {answer.title}"]
    if answer.found:
        return lines + _found_text(answer.found)
    if answer.measured:
        lines += [_measured_text(item) for item in answer.measured]
    if answer.leakage:
        lines.append("The leak's way to earth:")
        steps = [step for step in answer.leakage.steps if not step.name.startswith(_WIRE)]
        lines += [f"  {_shown(step.mA, 'mA'):>10}  {_place(step.name)}" for step in steps]
    if not answer.measured and not answer.leakage:
        width = max(len(load.load) for load in answer.loads)
        for load in answer.loads:
            acts = "works" if load.acts else "rests"
            lines.append(f"  {load.load:{width}}  {load.volts_V:6.1f} V  {load.amps_A:7.3f} A  {acts}")
        if answer.plugged and not any(load.acts for load in answer.loads):
            lines.append("Nothing works as it stands; --condition power=on switches it on.")
    if answer.plugged:
        trips = _TRIPS[answer.trips]
        to_earth = _shown(answer.residual_mA, "mA")
        lines.append(f"To earth {to_earth}: a residual-current device of 30 mA {trips}.")
    for caution in answer.cautions:
        lines += wrapped(caution, "CAUTION: ")
    return lines


def _measured_text(item: Measured) -> str:
    shown = "nothing" if item.value is None else _shown(item.value, item.unit)
    remark = f" ({item.note})" if item.note else ""
    return f"  {item.what} {' to '.join(item.between)}: {shown}{remark}"


def _shown(value: float, unit: str) -> str:
    """A value as a meter's display rounds it: what lies below its last digit is nought."""
    digits = 3 if unit == "mA" else 4
    return f"{value:.{digits}g} {unit}" if abs(value) >= LAST_DIGIT.get(unit, 0.0) else f"0 {unit}"


def _place(name: str) -> str:
    """``cord (live)`` for a cord's live conductor; ``wire from cord.live_out to power_switch.a``."""
    if name.startswith(_WIRE):
        return f"wire from {name.removeprefix(_WIRE)}"
    if inside := re.fullmatch(r"(\S+) (\w+)_in to \2_out", name):
        return f"{inside[1]} ({inside[2]})"
    if leak := re.fullmatch(r"(\S+) to (\w+)", name):
        return f"{leak[1]} to its {leak[2]}" if leak[2] == "body" else leak[1]
    return re.sub(r"^(\S+) (\w+ to \w+)$", r"\1 (\2)", name)


def _part(name: str, names: Iterable[str]) -> str:
    """A place inside a part; a relay's own winding is named where its contacts are suspected too."""
    its_contacts = any(other.startswith(f"{name} ") for other in names)
    return f"{name} (coil)" if its_contacts else _place(name)


def _places(names: Iterable[str]) -> str:
    """Contacts and parts, which fail more often, before wires; many wires are counted."""
    names = list(names)
    wires = [_place(name) for name in names if name.startswith(_WIRE)]
    parts = [_part(name, names) for name in names if not name.startswith(_WIRE)]
    if len(wires) > WIRES_TOLD:
        wires = [f"one of {len(wires)} wires at or between them" if parts else f"one of {len(wires)} wires"]
    found = [*parts, *wires]
    return " or ".join([", ".join(found[:-1]), found[-1]]) if len(found) > 1 else found[0]


def _found_text(found: Found) -> list[str]:
    cautions = wrapped(found.caution, "CAUTION: ") if found.caution else []
    if len(found.suspects) == 1:
        return [f"Found: {found.load} is dead because this is open: {_place(found.suspects[0])}.", *cautions]
    lines = [f"{len(found.suspects)} places could be open:", *wrapped(_places(found.suspects), "  ")]
    if found.next is None:
        where = (
            f"all in {found.parts[0]}" if len(found.parts) == 1 and found.parts[0] else "look at each of them"
        )
        return [*lines, f"No terminal tells them apart: {where}.", *cautions]
    probe = found.next.probe
    lines.append(f"Measure {probe.how} from {probe.point} to {probe.against}.")
    lines += wrapped(found.next.caution, "CAUTION: ")
    unit = "V" if probe.how == "volts" else "ohm"
    for outcome in found.next.outcomes:
        lines += wrapped(
            f"{chance_in_words(outcome.chance)}: {_places(outcome.suspects)}",
            f"  {_span(outcome.low, outcome.high, unit):>20}  ",
        )
    return lines


def _span(low: float, high: float, unit: str) -> str:
    if low == float("inf"):
        return "nothing"
    if unit == "ohm" and high < 0.5:
        return "under 0.5 ohm"
    if unit == "V" and high < 1.0:
        return "0 V"
    if unit == "ohm" and low >= 1e3:
        scale, unit = (1e6, "Mohm") if low >= 1e6 else (1e3, "kohm")
        low, high = low / scale, high / scale
    first, last = with_digits(low, digits_of(high, unit)), with_digits(high, digits_of(high, unit))
    return f"about {first} {unit}" if first == last else f"{first} to {last} {unit}"
