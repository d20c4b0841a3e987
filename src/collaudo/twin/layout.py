"""From what the parts said to zones, cells, elements: names and joints, still without numbers of states.

Lines join ports. Ports of vessels stay what they are; bare ports (of valves, pumps, gauges) that lines join
form a
*junction*, a small vessel of its own, with two exceptions: a single bare port hangs directly on the vessel
its
line leads to, and two throats screwed to each other become one throat in series. A line between two vessels
makes them one zone and adds a cell of its own (a leg of the circulation).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from math import pi

from collaudo.parts.circuit import Cell, Circuit, Member, Tube, Vessel, VesselPort


@dataclass(frozen=True)
class Line:
    """A hose, pipe or joint between two ports."""

    a: str
    b: str
    bore_m: float
    length_m: float
    fittings: float = 0.0
    line_number: int = 0


@dataclass
class Chain:
    """Throats in series between two places."""

    members: list[Member]
    inlet: str
    outlet: str


@dataclass
class Layout:
    """Zones by name, where every port ended, elements."""

    circuit: Circuit
    place: dict[str, VesselPort] = field(default_factory=dict)
    """Each port's place; the vessel's name is the zone's part for junctions."""
    reservoir_place: dict[str, tuple[str, float]] = field(default_factory=dict)
    chains: list[Chain] = field(default_factory=list)
    tubes: list[Tube] = field(default_factory=list)
    legs: list[Line] = field(default_factory=list)


JUNCTION = "junction of "
"""How the names of junctions begin."""

# What a hose gives under pressure [m3/(Pa m3)], and the least volume and compliance of a junction: fittings,
# a few drops of water, its own compressibility.
HOSE_COMPLIANCE_PER_PA = 1.0e-8
JUNCTION_VOLUME_M3 = 1.5e-6
JUNCTION_COMPLIANCE = 4.0e-14


def _is_fixed(port: str, circuit: Circuit) -> bool:
    return port in circuit.ports or port in circuit.reservoir_ports


def lay_out(circuit: Circuit, lines: list[Line]) -> Layout:
    """Work out junctions, chains, tubes and circulation legs."""
    for port, level in circuit.port_levels.items():
        circuit.ports[port] = replace(circuit.ports[port], level=level)
    layout = Layout(circuit)
    layout.place.update(circuit.ports)
    layout.reservoir_place.update(circuit.reservoir_ports)
    groups, hanging = _group_bare_ports(circuit, lines, layout)
    ends: dict[str, list[Member]] = defaultdict(list)
    for member in circuit.members:
        ends[member.inlet].append(member)
        ends[member.outlet].append(member)
    screwed: dict[str, str] = {}
    for bare in groups:
        fixed = [line for port in bare for line in hanging.get(port, [])]
        if len(bare) == 1 and len(fixed) == 1:
            other = fixed[0].b if fixed[0].a == bare[0] else fixed[0].a
            _put(layout, bare[0], other)
        elif len(bare) == 2 and not fixed and all(len(ends[p]) == 1 for p in bare) and _in_series(bare, ends):
            screwed[bare[0]], screwed[bare[1]] = bare[1], bare[0]
        else:
            _junction(layout, bare, fixed, lines)
    layout.tubes.extend(circuit.tubes)
    _chain_members(layout, screwed)
    return layout


def _group_bare_ports(
    circuit: Circuit, lines: list[Line], layout: Layout
) -> tuple[list[list[str]], dict[str, list[Line]]]:
    """Sets of bare ports joined by lines, and the lines that lead from them to vessels or reservoirs."""
    root: dict[str, str] = {}

    def find(port: str) -> str:
        while root.setdefault(port, port) != port:
            port = root[port]
        return port

    hanging: dict[str, list[Line]] = defaultdict(list)
    for line in lines:
        fixed_a, fixed_b = _is_fixed(line.a, circuit), _is_fixed(line.b, circuit)
        if fixed_a and fixed_b:
            layout.legs.append(line)
        elif fixed_a or fixed_b:
            bare = line.b if fixed_a else line.a
            find(bare)
            hanging[bare].append(line)
        else:
            root[find(line.a)] = find(line.b)
    groups: dict[str, list[str]] = defaultdict(list)
    for port in root:
        groups[find(port)].append(port)
    return list(groups.values()), hanging


def _in_series(bare: list[str], ends: dict[str, list[Member]]) -> bool:
    first, second = ends[bare[0]][0], ends[bare[1]][0]
    return first.cracking_Pa == 0.0 and second.cracking_Pa == 0.0 and first.vapour == second.vapour


def _put(layout: Layout, port: str, other: str) -> None:
    if other in layout.circuit.ports:
        layout.place[port] = layout.circuit.ports[other]
    else:
        layout.reservoir_place[port] = layout.circuit.reservoir_ports[other]


def _junction(layout: Layout, bare: list[str], fixed: list[Line], lines: list[Line]) -> None:
    circuit = layout.circuit
    inside = set(bare)
    volume, compliance = JUNCTION_VOLUME_M3, JUNCTION_COMPLIANCE
    for line in lines:
        if line.a in inside or line.b in inside:
            held = 0.25 * pi * line.bore_m**2 * line.length_m
            volume += held
            compliance += held * HOSE_COMPLIANCE_PER_PA / 10.0
    for port in bare:
        extra = circuit.bare_volumes.get(port, (0.0, 0.0))
        volume, compliance = volume + extra[0], compliance + extra[1]
    name = f"{JUNCTION}{min(bare)}"
    circuit.vessels[name] = Vessel(name, [Cell("water", volume)], [], compliance, 1e-3)
    for port in bare:
        layout.place[port] = VesselPort(name, 0, 0.5)
    for line in fixed:
        other = line.a if _is_fixed(line.a, circuit) else line.b
        mouth = f"{other} to {name}"
        layout.place[mouth] = VesselPort(name, 0, 0.5)
        inlet, outlet = (line.a, mouth) if other == line.a else (mouth, line.b)
        layout.tubes.append(
            Tube(mouth, inlet, outlet, line.bore_m, max(line.length_m, 0.02), fittings=1.5 + line.fittings)
        )


def _chain_members(layout: Layout, screwed: dict[str, str]) -> None:
    by_port = {m.inlet: m for m in layout.circuit.members} | {m.outlet: m for m in layout.circuit.members}
    placed: set[int] = set()
    for member in layout.circuit.members:
        if id(member) in placed:
            continue
        first = member
        while first.inlet in screwed:
            first = by_port[screwed[first.inlet]]
        run = [first]
        while run[-1].outlet in screwed:
            run.append(by_port[screwed[run[-1].outlet]])
        placed.update(id(m) for m in run)
        layout.chains.append(Chain(run, run[0].inlet, run[-1].outlet))
