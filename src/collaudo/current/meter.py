"""What meters show: volts, ohms, insulation, the clamp's amperes, current that leaves to earth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import inf, sqrt

from collaudo.current.network import Network, unplugged
from collaudo.current.nodal import Solved
from collaudo.errors import InputError, Problem

DIGITAL_OHM = 1.0e7
"""Input of a digital multimeter: it shows ghost volts on wires that hang free (common practice, no
source)."""
TESTER_OHM = 3.0e5
"""A two-pole tester with low input impedance: ghosts vanish (common practice, no source)."""
OHMS_TOP = 6.0e7
"""An ohmmeter shows nothing beyond (common practice, no source)."""
INSULATION_TOP_OHM = 1.0e10
"""An insulation tester at 500 V shows nothing beyond (common practice, no source)."""
HALF_WAVE = 1.0 / sqrt(2.0)
"""Root mean square of half of each wave against that of the whole."""
TRIPS_mA = (15.0, 22.0, 30.0)
"""A residual-current device of 30 mA trips from, as a rule, at the latest (common practice, no source)."""


@dataclass(frozen=True)
class Volts:
    """A voltage [V], and what it would be without the meter."""

    shown_V: float
    without_meter_V: float
    floats: bool
    """A probe's point has no path to the supply: what is shown is a ghost or nothing."""


@dataclass(frozen=True)
class Step:
    """A part that current to earth passes, and how much of it [mA]."""

    name: str
    part: str
    mA: float


@dataclass(frozen=True)
class Leakage:
    """The way of a leak to earth, from the supply on."""

    steps: tuple[Step, ...]
    residual_mA: float
    """All that leaves the machine by its earth."""
    trips: str
    """no, perhaps, as a rule, yes: what a residual-current device of 30 mA does."""


def volts(network: Network, a: str, b: str, meter_ohm: float = DIGITAL_OHM) -> Volts:
    """Volts between two test points of the plugged machine on a meter of ``meter_ohm``.

    The meter's own load counts (Thevenin's theorem): volts that reach a point through a capacitance or an
    open solid-state relay alone break down on a tester.
    """
    a, b = network.point(a), network.point(b)
    solved = network.solve()
    there = solved.open_volts(a, b)
    shown = there * meter_ohm / (meter_ohm + solved.source_impedance_ohm(a, b))
    floats = bool(solved.undefined & {a, b}) or _reached_by_strays(network, a, b)
    return Volts(abs(shown), abs(there), floats)


def ohms(network: Network, a: str, b: str) -> float:
    """Ohms between two points of the unplugged machine; infinite beyond `OHMS_TOP`.

    Everything in parallel is read with it: pull a lead off to measure one part alone. A diode lets none of
    the meter's little voltage through.
    """
    a, b = network.point(a), network.point(b)
    return _direct_ohm(unplugged(network, through_diodes=False), a, b, OHMS_TOP)


def insulation_Mohm(network: Network, a: str, b: str) -> float:
    """Megohms between two points of the unplugged machine at 500 V; infinite beyond `INSULATION_TOP_OHM`.

    What lies behind an open contact is not reached.
    """
    a, b = network.point(a), network.point(b)
    return 1e-6 * _direct_ohm(unplugged(network, through_diodes=True), a, b, INSULATION_TOP_OHM)


def clamp_A(network: Network, part: str) -> dict[str, float]:
    """Amperes [A, rms] in each branch of a part, or in one wire, as a clamp shows them.

    Through a diode half of each wave flows: its rms is 0.707 of the whole wave's.
    """
    solved = network.solve()
    return {
        x.name: abs(solved.current_A[x.name]) * (HALF_WAVE if x.one_way else 1.0)
        for x in network.of_part(part)
    }


def residual_A(network: Network, solved: Solved | None = None) -> float:
    """What leaves by the earth [A]: a clamp round all other conductors of the cord shows the same."""
    solved = solved or network.solve()
    return abs(sum(amps for pin, amps in solved.source_A.items() if pin.endswith(".earth")))


def leakage(network: Network, part: str) -> Leakage:
    """The way the leak of a part takes: what each thing on it carries more for the leak's sake.

    Follows the largest share from the leak back to the supply and on to earth.
    """
    leaks = [x for x in network.of_part(part) if x.kind == "leak"]
    if not leaks:
        raise InputError(
            Problem(f"{part} has no insulation that could leak", "name a part that touches metalwork")
        )
    solved = network.solve()
    leak = max(leaks, key=lambda x: abs(solved.current_A[x.name])).branch
    without = replace(network, places=tuple(x for x in network.places if x.name != leak.name)).solve()
    added = {name: amps - without.current_A.get(name, 0j) for name, amps in solved.current_A.items()}
    before = _follow(network, added, leak.a, leak.name)
    after = _follow(network, added, leak.b, leak.name)
    parts = {x.name: x.part or "wire" for x in network.places}
    names = [*reversed(before), leak.name, *after]
    steps = tuple(Step(name, parts[name], 1e3 * abs(added[name])) for name in names)
    total_mA = 1e3 * residual_A(network, solved)
    return Leakage(steps, total_mA, trips(total_mA))


def trips(residual_mA: float) -> str:
    """What a residual-current device of 30 mA does at a current [mA]: no, perhaps, as a rule, yes."""
    words = ("no", "perhaps", "as a rule", "yes")
    return words[sum(residual_mA >= level for level in TRIPS_mA)]


def _direct_ohm(network: Network, a: str, b: str, top_ohm: float) -> float:
    if not {a, b} <= set(network.points):
        return inf  # all that led there was taken away
    if a == b:
        return 0.0
    held = replace(network, sources={b: 0j}).solve()
    if a in held.undefined:
        return inf
    ohm = replace(network, sources={b: 0j, a: 1 + 0j}).solve().source_A[a].real
    return 1.0 / ohm if ohm * top_ohm > 1.0 else inf


def _reached_by_strays(network: Network, a: str, b: str) -> bool:
    firm = replace(network, places=tuple(x for x in network.places if x.kind != "stray"))
    known = firm.solve()
    return any(x not in known.potential_V or x in known.undefined for x in (a, b))


def _follow(network: Network, added: Mapping[str, complex], start: str, leak: str) -> list[str]:
    """Branches of the largest current from a node to the supply."""
    at, way = start, [leak]
    while at not in network.pins.values():
        near = [x.branch for x in network.places if at in (x.branch.a, x.branch.b) and x.name not in way]
        if not near:
            break
        best = max(near, key=lambda x: abs(added[x.name]))
        way.append(best.name)
        at = best.b if at == best.a else best.a
    return way[1:]
