"""A machine's wiring as elements between nets: contacts, loads, leads, and which side each net lies on.

What parts say of themselves to the twin is all that is needed, so a new kind of part needs nothing here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit, Site

INSULATION_OHM = 1e5
"""What leads less than this is insulation, not drawn."""


@dataclass(frozen=True)
class Element:
    """Something between two terminals; ``b`` empty: the bare end of a lead, such as a metal body."""

    key: str
    part: str
    a: str
    b: str
    kind: str
    """make, break, plain (always closed), load, capacitor, body, source."""

    @property
    def consumes(self) -> bool:
        """Whether it lies between two supplies rather than in a lead."""
        return self.kind in ("load", "capacitor")


@dataclass(frozen=True)
class Wiring:
    """Elements, nets of terminals joined by wires, and how far each net lies from its supply."""

    elements: tuple[Element, ...]
    net: Mapping[str, int]
    """Of each terminal."""
    depth: Mapping[int, int]
    """Of each net: how many contacts lie between it and its supply."""
    side: Mapping[int, str]
    """Of each net: live, neutral, earth, or loose."""
    column: Mapping[str, int]
    """Of each element that joins nets: how many lie between it and the supply; poles of one part alike."""
    supplies: tuple[int, ...]
    """Nets of the supply: live ones, neutral, earth, in the order they are drawn."""


def wiring_of(machine: Machine) -> Wiring:
    """Read the wiring of a machine."""
    circuit = Circuit(Site())
    for part in sorted(machine.parts.values(), key=lambda part: part.kind != "mains"):
        part.describe(circuit)
    wired = {end for wire in machine.wires for end in wire}
    elements = [one for one in _elements(circuit) if one.a in wired or one.b in wired]
    covered = {end for one in elements for end in (one.a, one.b)} | {
        source.terminal for source in circuit.sources
    }
    elements += [
        Element(f"{end}.body", end.partition(".")[0], end, "", "body") for end in sorted(wired - covered)
    ]
    elements += [
        Element(f"source-{source.terminal}", source.terminal.partition(".")[0], source.terminal, "", "source")
        for source in circuit.sources
        if source.terminal in wired
    ]
    net = _nets(machine.wires, [end for one in elements for end in (one.a, one.b) if end])
    live = [source.terminal for source in circuit.sources if source.share > 0.0]
    others = [source.terminal for source in circuit.sources if source.share == 0.0]
    starts = [end for end in (*live, *others) if end in net]
    side: dict[int, str] = {}
    supply: dict[int, int] = {}
    depth: dict[int, int] = {}
    joins = [one for one in elements if not one.consumes and one.kind not in ("body", "source")]
    for end in starts:
        name = "live" if end in live else "earth" if end.endswith(".earth") else "neutral"
        for number in _reach(net[end], joins, net, side):
            side[number], supply[number] = name, net[end]
    for number in sorted(set(net.values()) - side.keys()):
        side[number], supply[number] = "loose", number
    order = {number: k for k, number in enumerate(side)}
    ways = {one.key: _way(one, net, order) for one in joins if net[one.a] != net[one.b]}
    column = _columns(joins, ways, supply, depth)
    for number in side:
        depth.setdefault(number, 0)
    return Wiring(tuple(elements), net, depth, side, column, tuple(dict.fromkeys(net[end] for end in starts)))


def _way(one: Element, net: Mapping[str, int], order: Mapping[int, int]) -> tuple[int, int]:
    """The nets of an element, the one met first from the supply before the other."""
    a, b = sorted((net[one.a], net[one.b]), key=order.__getitem__)
    return a, b


def _columns(
    joins: list[Element],
    ways: Mapping[str, tuple[int, int]],
    supply: Mapping[int, int],
    depth: dict[int, int],
) -> dict[str, int]:
    """Columns and depths, the longest way counting; poles in leads of different supplies stand in line."""
    column = dict.fromkeys(ways, 0)
    for _ in range(2 * len(ways)):
        before = dict(column), dict(depth)
        for one in joins:
            if one.key not in ways:
                continue
            a, b = ways[one.key]
            poles = [
                other.key
                for other in joins
                if other.part == one.part and other.key in ways and supply[ways[other.key][0]] != supply[a]
            ]
            column[one.key] = max(depth.get(a, 0), *(column[key] for key in (one.key, *poles)))
            depth[b] = max(depth.get(b, 0), column[one.key] + 1)
        if before == (column, depth):
            break
    return column


def _elements(circuit: Circuit) -> Iterable[Element]:
    kinds = {"always": "plain", "device_off": "break", "load_off": "break"}
    for k, contact in enumerate(circuit.contacts):
        yield Element(
            f"contact-{k}", contact.part, contact.a, contact.b, kinds.get(contact.command.kind, "make")
        )
    for load in circuit.loads:
        yield Element(f"load-{load.name}", load.name.partition(".")[0], load.a, load.b, "load")
    for k, lead in enumerate(circuit.resistors):
        if lead.farad > 0.0:
            yield Element(f"capacitor-{k}", lead.part, lead.a, lead.b, "capacitor")
        elif lead.ohm < INSULATION_OHM:
            yield Element(f"lead-{k}", lead.part, lead.a, lead.b, "plain")


def _nets(wires: Iterable[tuple[str, str]], ends: Iterable[str]) -> dict[str, int]:
    """A number for each set of terminals that wires join, in the order they are met."""
    joined: dict[str, set[str]] = {}
    for a, b in wires:
        merged = joined.get(a, {a}) | joined.get(b, {b})
        for end in merged:
            joined[end] = merged
    for end in ends:
        joined.setdefault(end, {end})
    numbers: dict[int, int] = {}
    return {end: numbers.setdefault(id(group), len(numbers)) for end, group in joined.items()}


def _reach(start: int, joins: list[Element], net: Mapping[str, int], taken: Mapping[int, str]) -> list[int]:
    """Every net reached through contacts from ``start``, nearest first, but those already ``taken``."""
    order = [] if start in taken else [start]
    for at in order:
        for one in joins:
            a, b = net[one.a], net[one.b]
            for here, there in ((a, b), (b, a)):
                if here == at and there not in taken and there not in order:
                    order.append(there)
    return order


def wire_states(machine: Machine, contacts: Iterable[tuple[str, str, bool]]) -> dict[str, str]:
    """Of wires on the live side: ``hot`` where closed contacts join them to a supply, else ``dead``."""
    found = list(contacts)
    mains = [part for part in machine.parts.values() if part.kind == "mains"]
    live = [part.at(end) for part in mains for end in part.terminals if end.startswith("live")]
    could = _joined_to(live, [*machine.wires, *((a, b) for a, b, _ in found)])
    does = _joined_to(live, [*machine.wires, *((a, b) for a, b, closed in found if closed)])
    return {
        f"wire-{k}": "hot" if wire[0] in does else "dead"
        for k, wire in enumerate(machine.wires)
        if wire[0] in could
    }


def _joined_to(starts: list[str], pairs: Iterable[tuple[str, str]]) -> set[str]:
    joined: dict[str, list[str]] = {}
    for a, b in pairs:
        joined.setdefault(a, []).append(b)
        joined.setdefault(b, []).append(a)
    found = dict.fromkeys(starts)
    waiting = list(found)
    for end in waiting:
        fresh = [other for other in joined.get(end, ()) if other not in found]
        found.update(dict.fromkeys(fresh))
        waiting += fresh
    return set(found)
