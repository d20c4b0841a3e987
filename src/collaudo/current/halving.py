"""A load is dead: where to measure next, and what each answer would mean, until one place is left.

Every place that could be open is a hypothesis; each is put into the network and every possible measurement
reckoned. A measurement that leaves half of what is left in the worst case finds one of n places in log2 n
steps (binary search: D. E. Knuth, The Art of Computer Programming 3, section 6.2.1). Measuring dead goes
first where it halves as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import ceil, inf, log10

from collaudo.current.meter import OHMS_TOP, TESTER_OHM
from collaudo.current.network import Condition, Network, loads_that_act, network_of, unplugged
from collaudo.current.nodal import Solved
from collaudo.errors import InputError, Problem, unknown_name
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Site

CAUTION_LIVE = (
    "Live parts: one hand, insulated probes, nothing else touched; only by someone allowed to work on mains. "
    "Between two phases stand 400 V."
)
CAUTION_DEAD = (
    "Plug out, dead proved with a tester proved before and after; capacitors discharged through a resistor. "
    "Switches and lever as in use."
)
FRESH_OHM = 0.5
"""Ohms that leads and clean contacts make: below, an ohmmeter tells nothing apart."""
SAME_DECADES = 0.2
SAME_VOLTS_SHARE = 0.15
"""Readings nearer than this are one outcome: of ohms in decades, of volts as a share of the mains'."""


@dataclass(frozen=True)
class Probe:
    """A measurement: ``volts`` of the running machine or ``ohms`` of the unplugged one, between points."""

    how: str
    point: str
    against: str


@dataclass(frozen=True)
class Seen:
    """A measurement and what it showed [V or ohm]; infinite ohms: no way."""

    probe: Probe
    value: float


@dataclass(frozen=True)
class Suspect:
    """A place that may be open."""

    name: str
    kind: str
    """wire, contact, load (its winding or wire inside)."""
    part: str
    odds: float


@dataclass(frozen=True)
class Outcome:
    """What a measurement may show, and where the fault then is."""

    low: float
    high: float
    """Span of what the suspects would make it show [V or ohm]."""
    chance: float
    suspects: tuple[str, ...]


@dataclass(frozen=True)
class Next:
    """The next measurement."""

    probe: Probe
    outcomes: tuple[Outcome, ...]
    caution: str


@dataclass(frozen=True)
class Hunt:
    """All that is needed to find the open place of one dead load."""

    load: str
    suspects: tuple[Suspect, ...]
    shown: Mapping[Probe, tuple[float, ...]]
    """What each measurement would show were each suspect open."""
    mains_V: float

    def left(self, seen: Iterable[Seen] = ()) -> list[int]:
        """Numbers of the suspects that would have shown what was seen."""
        numbers = list(range(len(self.suspects)))
        for one in seen:
            if one.probe not in self.shown:
                raise InputError(
                    Problem(
                        f"{one.probe.how} at {one.probe.point!r} tell nothing here",
                        f"known points: {', '.join(sorted({p.point for p in self.shown}))}",
                    )
                )
            values = self.shown[one.probe]
            numbers = [n for n in numbers if not self.differ(one.probe.how, values[n], one.value)]
        return numbers

    def differ(self, how: str, one: float, other: float) -> bool:
        """Whether a meter tells two readings apart."""
        if how == "volts":
            return abs(one - other) > SAME_VOLTS_SHARE * self.mains_V
        if inf in (one, other):
            return one != other
        return abs(log10(max(one, FRESH_OHM) / max(other, FRESH_OHM))) > SAME_DECADES

    def outcomes(self, probe: Probe, left: list[int]) -> list[list[int]]:
        """Suspects by what a measurement would show, least reading first; a chain of near ones is one."""
        groups: list[list[int]] = []
        values = self.shown[probe]
        for n in sorted(left, key=lambda n: values[n]):
            if groups and not self.differ(probe.how, values[groups[-1][-1]], values[n]):
                groups[-1].append(n)
            else:
                groups.append([n])
        return groups

    def next(self, seen: Iterable[Seen] = ()) -> Next | None:
        """The measurement that halves what is left; None when one suspect or none is left, or none can be
        told from another."""
        left = self.left(seen)
        total = sum(self.suspects[n].odds for n in left)
        worst: dict[Probe, float] = {}
        for probe in self.shown if len(left) > 1 else ():
            groups = self.outcomes(probe, left)
            if len(groups) > 1:
                worst[probe] = max(sum(self.suspects[n].odds for n in group) for group in groups) / total
        if not worst:
            return None
        least = min(worst.values())
        fair = max(least, ceil(0.5 * len(left)) / len(left))
        best = min(worst, key=lambda p: (worst[p] > fair + 1e-9, p.how == "volts", worst[p]))
        outcomes = [self._outcome(best, group, total) for group in self.outcomes(best, left)]
        caution = CAUTION_LIVE if best.how == "volts" else CAUTION_DEAD
        return Next(best, tuple(outcomes), caution)

    def _outcome(self, probe: Probe, group: list[int], total: float) -> Outcome:
        values = [self.shown[probe][n] for n in group]
        chance = sum(self.suspects[n].odds for n in group) / total
        return Outcome(min(values), max(values), chance, tuple(self.suspects[n].name for n in group))


def hunt(
    machine: Machine,
    load: str,
    condition: Condition,
    site: Site | None = None,
    odds: Mapping[str, float] | None = None,
) -> Hunt:
    """Every place whose opening alone leaves ``load`` dead in a condition in which it should work.

    ``odds``: how often places fail, by name; 1 where nothing is said. Raises `InputError` where the load does
    not work even when all is sound: a switch is open that must be closed for it.
    """
    condition = replace(condition, plugged=True)
    sound = network_of(machine, condition, site)
    if load not in sound.works_from_V:
        raise unknown_name("load", load, sound.works_from_V)
    if load not in loads_that_act(sound):
        raise InputError(
            Problem(f"{load} has no current in this condition", "close what must be closed for it: power=1 …")
        )
    suspects, live, dead = [], [], []
    for place in sound.places:
        if place.kind not in ("wire", "contact", "load"):
            continue
        broken = replace(condition, broken=frozenset({place.name}))
        network = network_of(machine, broken, site)
        if load not in loads_that_act(network):
            suspects.append(Suspect(place.name, place.kind, place.part, (odds or {}).get(place.name, 1.0)))
            live.append(network)
            dead.append(network_of(machine, replace(broken, plugged=False), site))
    shown = _volts_shown(sound, live) | _ohms_shown(sound, dead)
    return Hunt(load, tuple(suspects), shown, abs(next(iter(sound.sources.values()))))


def _volts_shown(sound: Network, networks: list[Network]) -> dict[Probe, tuple[float, ...]]:
    """Every terminal against the supply's neutral, on a tester."""
    reference = sound.pin("neutral")
    columns = []
    for network in networks:
        solved = network.solve()
        shown = {}
        for point in sound.points:
            if point in solved.potential_V:
                z = solved.source_impedance_ohm(point, reference)
                shown[point] = abs(solved.open_volts(point, reference) * TESTER_OHM / (TESTER_OHM + z))
            else:
                shown[point] = 0.0
        columns.append(shown)
    return {
        Probe("volts", point, reference): tuple(column[point] for column in columns) for point in sound.points
    }


def _ohms_shown(sound: Network, networks: list[Network]) -> dict[Probe, tuple[float, ...]]:
    """Every terminal against each pin of the plug."""
    found: dict[Probe, list[float]] = {}
    for network in networks:
        direct = unplugged(network, through_diodes=False)
        held: list[Solved] = []
        for pin in network.pins.values():
            # One solution serves all pins that are joined.
            joined = next((x for x in held if pin in x.potential_V and pin not in x.undefined), None)
            solved = joined or replace(direct, sources={pin: 0j}).solve()
            held += [] if joined else [solved]
            for point in sound.points:
                way = point in solved.potential_V and point not in solved.undefined
                ohm = solved.source_impedance_ohm(point, pin).real if way else inf
                found.setdefault(Probe("ohms", point, pin), []).append(ohm if ohm < OHMS_TOP else inf)
    return {probe: tuple(values) for probe, values in found.items()}
