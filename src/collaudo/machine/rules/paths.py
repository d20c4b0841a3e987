"""Where current can go: terminals joined by wires and closed contacts, and what the loads between lead to.

Every contact is taken as closed that can be: those of a relay only while its own coil can have current.
"""

from __future__ import annotations

from cmath import rect
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from math import radians

from collaudo.parts.circuit import Circuit, Contact, Load, Source

LEADS_ohm = 10.0
"""What has less resistance is a conductor (an earth bond), what has more is not (insulation)."""

HINDERS_TIMES = 10.0
"""A load of so many times the resistance lets too little through for another to act: a lamp, an element."""

Wires = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Paths:
    """Terminals gathered to nodes, and the sources (by their number in the circuit) each end leads to."""

    node: dict[str, str]
    """A word for what each terminal is joined to."""
    sources: dict[str, frozenset[int]]
    """Sources at a node itself."""
    supplied: frozenset[str]
    """Loads that can have current."""

    def at(self, terminal: str) -> frozenset[int]:
        """Sources a terminal is joined to, with no load between."""
        return self.sources.get(self.node.get(terminal, terminal), frozenset())


def paths(circuit: Circuit, wires: Wires, opened: Collection[str] = (), lost: Collection[int] = ()) -> Paths:
    """Paths with the contacts of the parts ``opened`` open, and the sources ``lost`` dead."""
    contacts = [contact for contact in circuit.contacts if contact.part not in opened]
    while True:
        found = _paths(circuit, wires, contacts, lost)
        closed = [contact for contact in contacts if _can_close(contact, circuit, found.supplied)]
        if len(closed) == len(contacts):
            return found
        contacts = closed


def _can_close(contact: Contact, circuit: Circuit, supplied: Collection[str]) -> bool:
    command = contact.command
    if command.kind == "load":
        return command.name in supplied
    if command.kind == "device":
        return all(d.load in ("", *supplied) for d in circuit.devices if d.part == command.name)
    return True


def _paths(circuit: Circuit, wires: Wires, contacts: Iterable[Contact], lost: Collection[int]) -> Paths:
    node = gathered([*wires, *((contact.a, contact.b) for contact in contacts)])
    at: dict[str, set[int]] = defaultdict(set)
    for number, source in enumerate(circuit.sources):
        if number not in lost:
            at[node.get(source.terminal, source.terminal)].add(number)
    sources = {place: frozenset(numbers) for place, numbers in at.items()}
    bare = Paths(node, sources, frozenset())
    supplied = {load.name for load in circuit.loads if has_current(load, circuit, bare)}
    return Paths(node, sources, frozenset(supplied))


def has_current(load: Load, circuit: Circuit, found: Paths) -> bool:
    """Whether the ends of a load lead to sources of different volts."""
    first, second = (leads_to(load, end, circuit, found) for end in (load.a, load.b))
    return any(volts_between(circuit.sources[a], circuit.sources[b]) > 0.0 for a in first for b in second)


def leads_to(load: Load, end: str, circuit: Circuit, found: Paths) -> frozenset[int]:
    """Sources that one end of ``load`` leads to, through others of like size where it must (a star point)."""
    start = found.node.get(end, end)
    seen, waiting = {start}, [start]
    reached: set[int] = set()
    while waiting:
        place = waiting.pop()
        if place in found.sources:
            reached |= found.sources[place]
            continue  # current turns back at a source
        for other in circuit.loads:
            if other is load or other.ohm > HINDERS_TIMES * load.ohm:
                continue
            a, b = (found.node.get(x, x) for x in (other.a, other.b))
            onward = b if a == place else a if b == place else place
            if onward not in seen:
                seen.add(onward)
                waiting.append(onward)
    return frozenset(reached)


def volts_between(a: Source, b: Source) -> float:
    """Volts between two sources as a share of the site's volts."""
    return abs(_phasor(a) - _phasor(b))


def volts_across(load: Load, circuit: Circuit, found: Paths) -> float:
    """Volts across a load as a share of the site's; a star point stands at the mean of what leads to it."""
    every = leads_to(load, load.a, circuit, found) | leads_to(load, load.b, circuit, found)
    ends = []
    for end in (load.a, load.b):
        sources = found.at(end) or every
        ends.append(sum(_phasor(circuit.sources[n]) for n in sources) / max(len(sources), 1))
    return abs(ends[0] - ends[1])


def _phasor(source: Source) -> complex:
    return rect(source.share, radians(source.angle_deg))


def gathered(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Each end that occurs, with one end that stands for all it is joined to."""
    above: dict[str, str] = {}

    def top(end: str) -> str:
        while (higher := above.setdefault(end, end)) != end:
            above[end] = end = above[higher]
        return end

    for a, b in pairs:
        above[top(a)] = top(b)
    return {end: top(end) for end in above}


def earthed(circuit: Circuit, wires: Wires) -> dict[str, str]:
    """Nodes where earth bonds lead too."""
    bonds = [(x.a, x.b) for x in circuit.resistors if x.farad == 0.0 and x.ohm < LEADS_ohm]
    return gathered([*wires, *((x.a, x.b) for x in circuit.contacts), *bonds])
