"""Measure a machine's wiring: volts, ohms, clamp, insulation, leak; find the open place of a dead load."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite

from collaudo.current.halving import CAUTION_DEAD, CAUTION_LIVE, Hunt, Next, Probe, Seen, hunt
from collaudo.current.meter import (
    DIGITAL_OHM,
    HALF_WAVE,
    TESTER_OHM,
    Leakage,
    clamp_A,
    insulation_Mohm,
    leakage,
    ohms,
    residual_A,
    trips,
    volts,
)
from collaudo.current.network import Condition, Network, loads_that_act, network_of
from collaudo.errors import InputError, Problem, QuantityError, unknown_name
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.machine.site import site_from
from collaudo.quantities.units import parse_quantity

_POSITIONS = {"open": False, "closed": True}
_HANDS = {"on": 1.0, "off": 0.0, "up": 1.0, "down": 0.0}
_NEVER_BRIDGED = ("cut_out", "fuse", "residual_current_device", "earth_bond")
CAUTION_NEVER_BRIDGED = (
    "It is never bridged, not even for a moment. Find out why it is open before it is reset or replaced "
    "by its like."
)
_PLUG = {"in": True, "out": False}
_NOTHING = ("open", "nothing")


@dataclass(frozen=True)
class LoadReading:
    """What one load gets."""

    load: str
    volts_V: float
    amps_A: float
    acts: bool


@dataclass(frozen=True)
class Measured:
    """One measurement and what the meter shows; None: beyond its range."""

    what: str
    """volts, ohms, insulation, clamp."""
    between: tuple[str, ...]
    value: float | None
    unit: str
    note: str = ""


@dataclass(frozen=True)
class Found:
    """Where a search for an open place stands."""

    load: str
    suspects: tuple[str, ...]
    """Places that are left; one: it is the fault."""
    parts: tuple[str, ...]
    """The parts they are in; wires are in none."""
    next: Next | None
    caution: str = ""
    """What holds for the place that is left."""


@dataclass(frozen=True)
class CurrentAnswer:
    """What was asked for; what was not asked for is empty."""

    machine: str
    title: str
    mains_V: float
    plugged: bool
    loads: tuple[LoadReading, ...]
    residual_mA: float
    trips: str
    """no, perhaps, as a rule, yes: what a residual-current device of 30 mA does."""
    measured: tuple[Measured, ...]
    leakage: Leakage | None
    found: Found | None
    cautions: tuple[str, ...] = ()
    """What holds for the measurements that were asked for."""


def measure_current(
    machine: str,
    *,
    condition: Mapping[str, str] | None = None,
    site: Mapping[str, str] | None = None,
    lifted: Sequence[str] = (),
    meter: str = "digital",
    volts_between: Sequence[tuple[str, str]] = (),
    ohms_between: Sequence[tuple[str, str]] = (),
    insulation_between: Sequence[tuple[str, str]] = (),
    clamp: Sequence[str] = (),
    leak: Mapping[str, str] | None = None,
    find: str = "",
    seen: Mapping[str, str] | None = None,
) -> CurrentAnswer:
    """Measure ``machine`` (an id of the library or a file) in a condition, without running the twin.

    ``condition``: ``power=1`` (a position), ``pressure_switch=open`` or ``closed``, ``plug=in`` or ``out``.
    ``lifted``: terminals whose wires are pulled off. ``leak``: insulation to the metalwork, in Mohm.
    Volts and clamp are read plugged in, ohms and insulation unplugged. ``seen``: a point, or ``point/pin`` of
    the supply it was measured against, and the volts or ohms seen there. Raises `InputError`.
    """
    found = find_machine(machine)
    if seen and not find:
        raise InputError(
            Problem(
                "something was seen, and nothing is looked for", "name the dead load it was seen of (find)"
            )
        )
    place = site_from(site or {}, found)
    how = _condition(found, condition or {}, lifted, leak or {})
    network = network_of(found, how, place)
    dead = network_of(found, replace(how, plugged=False), place)
    solved = network.solve()
    acting = loads_that_act(network, solved)
    meter_ohm = {"digital": DIGITAL_OHM, "tester": TESTER_OHM}[meter]
    measured = [_volts(network, a, b, meter_ohm) for a, b in volts_between]
    measured += [_ohms(dead, a, b) for a, b in ohms_between]
    measured += [_insulation(dead, a, b) for a, b in insulation_between]
    for part in clamp:
        measured += [Measured("clamp", (name,), amps, "A") for name, amps in clamp_A(network, part).items()]
    residual_mA = 1e3 * residual_A(network, solved)
    loads = (x for x in network.places if x.kind == "load")
    return CurrentAnswer(
        machine=found.id,
        title=found.title,
        mains_V=place.mains_V,
        plugged=how.plugged,
        loads=tuple(
            LoadReading(
                x.name,
                abs(solved.open_volts(x.branch.a, x.branch.b)),
                abs(solved.current_A[x.name]) * (HALF_WAVE if x.one_way else 1.0),
                x.name in acting,
            )
            for x in loads
        ),
        residual_mA=residual_mA,
        trips=trips(residual_mA),
        measured=tuple(measured),
        leakage=leakage(network, next(iter(leak))) if leak else None,
        found=_find(found, hunt(found, find, how, place), network, dead, seen or {}) if find else None,
        cautions=_cautions(how, measured),
    )


def _cautions(how: Condition, measured: Sequence[Measured]) -> tuple[str, ...]:
    """Volts and clamp are read live; ohms and insulation with the plug out."""
    taken = {item.what for item in measured}
    live = how.plugged and bool(taken & {"volts", "clamp"})
    return (CAUTION_LIVE,) * live + (CAUTION_DEAD,) * bool(taken & {"ohms", "insulation"})


def _volts(network: Network, a: str, b: str, meter_ohm: float) -> Measured:
    shown = volts(network, a, b, meter_ohm)
    ghost = "no firm path to the supply: a ghost" if shown.floats and shown.shown_V > 1.0 else ""
    return Measured("volts", (a, b), shown.shown_V, "V", ghost)


def _ohms(network: Network, a: str, b: str) -> Measured:
    ohm = ohms(network, a, b)
    return Measured("ohms", (a, b), ohm if isfinite(ohm) else None, "ohm")


def _insulation(network: Network, a: str, b: str) -> Measured:
    Mohm = insulation_Mohm(network, a, b)
    return Measured("insulation", (a, b), Mohm if isfinite(Mohm) else None, "Mohm")


def _find(machine: Machine, search: Hunt, live: Network, dead: Network, seen: Mapping[str, str]) -> Found:
    taken = [_seen(live, dead, point, text) for point, text in seen.items()]
    left = search.left(taken)
    if not left:
        raise InputError(
            Problem(
                f"no single open place shows all that was seen of {search.load}",
                "measure again, or look for two faults: start with the first measurement alone",
            )
        )
    suspects = [search.suspects[n] for n in left]
    parts = tuple(dict.fromkeys(x.part for x in suspects))
    kind = machine.parts[parts[0]].kind if parts == (suspects[0].part,) and parts[0] else ""
    caution = CAUTION_NEVER_BRIDGED if kind in _NEVER_BRIDGED else ""
    return Found(search.load, tuple(x.name for x in suspects), parts, search.next(taken), caution)


def _seen(live: Network, dead: Network, point: str, text: str) -> Seen:
    """``heating_element.live`` or ``heating_element.neutral/neutral``; ``230 V``, ``0.3 ohm`` or ``open``."""
    terminal, _, pin = point.partition("/")
    in_volts = re.fullmatch(r".*[0-9. ](m?V)", text) is not None
    reference = live.pin(pin or "neutral") if in_volts else dead.pin(pin or "live")
    probe = Probe("volts" if in_volts else "ohms", live.point(terminal), reference)
    if text in _NOTHING:
        return Seen(probe, inf)
    try:
        return Seen(probe, parse_quantity(text, "voltage" if in_volts else "resistance"))
    except QuantityError as fault:
        raise InputError(Problem(f"{point}: {fault}", "such as 230 V, 0.3 ohm or open")) from None


def _condition(
    machine: Machine, given: Mapping[str, str], lifted: Sequence[str], leak: Mapping[str, str]
) -> Condition:
    inputs, held, plugged = {}, {}, True
    for key, word in given.items():
        if key == "plug":
            plugged = _one_of(key, word, _PLUG)
        elif word in _POSITIONS:
            held[key] = _POSITIONS[word]
        else:
            inputs[key] = _HANDS[word] if word in _HANDS else _number(key, word, 0.0, 1.0)
    terminals = {end for wire in machine.wires for end in wire}
    for terminal in lifted:
        if terminal not in terminals:
            raise unknown_name("terminal with a wire", terminal, terminals)
    leak_ohm = {
        part: 1e6 * _number(part, word.removesuffix("Mohm"), 1e-4, 1e4) for part, word in leak.items()
    }
    return Condition(inputs, held, plugged, frozenset(lifted), leak_ohm)


def _one_of(key: str, word: str, known: Mapping[str, bool]) -> bool:
    if word not in known:
        raise unknown_name(f"word for {key}", word, known)
    return known[word]


def _number(key: str, word: str, low: float, high: float) -> float:
    try:
        value = float(word)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise InputError(
            Problem(f"{key}={word[:40]} cannot be used", f"write a number from {low:g} to {high:g}")
        )
    return value
