"""What flows where at one moment: through every part between its ports, and through every line.

Kernel elements give the flow of parts. Lines between bare ports (a tee, a joint) have no element of their
own: their flows are those that leave no port with more water coming than going, found by least squares, so
that the few milligrams a gauge's tube takes up are spread and not lost.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from collaudo.parts.circuit import Command, Member
from collaudo.twin.layout import JUNCTION, Chain, Layout, Line
from collaudo.twin.run import Run

JOINT = JUNCTION
"""Beginning of the names that `collaudo.twin.layout` gives joints."""


@dataclass(frozen=True)
class Passage:
    """A way through a part, and the kernel's element that stands for it."""

    part: str
    inlet: str
    outlet: str
    element: int
    opening_share: float | None = None


@dataclass
class Network:
    """Ports, passages and flows of lines [kg/s] of one moment."""

    run: Run
    layout: Layout
    passages: list[Passage] = field(default_factory=list)
    ports: list[str] = field(default_factory=list)
    line_flows: list[float] = field(default_factory=list)
    line_shares: list[tuple[float, float]] = field(default_factory=list)
    """Shares of steam and of air in what each line passes."""
    between: dict[str, tuple[str, str, float]] = field(default_factory=dict)
    """Ports inside a chain of throats: the chain's ends, and the share of its pressure drop before them."""

    def place_of(self, port: str) -> tuple[int, int, float]:
        """Zone and cell of a port; inside a chain those of its upstream end, and the share of the drop."""
        if port in self.between:
            start, _, share = self.between[port]
            return *self.fixed_place(start), share
        return *self.fixed_place(port), 0.0

    def far_place_of(self, port: str) -> tuple[int, int, float]:
        """Zone and cell of the other end of the chain a port lies in."""
        return *self.fixed_place(self.between[port][1]), 0.0

    def fixed_place(self, port: str) -> tuple[int, int]:
        """Zone and cell behind a port that is not inside a chain."""
        names, first = self.run.assembly.names, self.run.tables.zone_first
        if port in self.layout.reservoir_place:
            zone = names.zones[self.layout.reservoir_place[port][0]]
            return zone, int(first[zone])
        place = self.layout.place[port]
        zone = names.zones[place.vessel]
        vessel = self.layout.circuit.vessels[place.vessel]
        return zone, names.cells[f"{place.vessel}.{vessel.cells[place.cell].name}"]

    def in_joint(self, port: str) -> bool:
        """Whether a port lies in a joint of lines, which holds water of its own."""
        return port in self.layout.place and self.layout.place[port].vessel.startswith(JOINT)

    def flow(self, passage: Passage) -> float:
        """Mass flow [kg/s] of a passage."""
        return float(self.run.work.element[passage.element].flow)

    def shares(self, passage: Passage) -> tuple[float, float]:
        """Shares of steam and air in what a passage passes; the rest is water."""
        work = self.run.work.element[passage.element]
        steam = float(work.steam_share)
        return steam, max(1.0 - steam - float(work.liquid_share), 0.0)

    def commanded(self, command: Command) -> float:
        """Opening 0..1 that a command gives now."""
        mode, names = self.run.mode, self.run.assembly.names
        if command.kind == "input":
            span = command.full - command.start
            share = (float(mode.inputs[names.inputs[command.name]]) - command.start) / span
            return min(max(share, 0.0), 1.0)
        if command.kind in ("load", "load_off"):
            on = float(mode.energised[names.loads[command.name]])
            return on if command.kind == "load" else 1.0 - on
        if command.kind in ("device", "device_off"):
            on = float(self._is_on(command.name))
            return on if command.kind == "device" else 1.0 - on
        return 1.0

    def _is_on(self, device: str) -> bool:
        mode = self.run.mode.device[self.run.assembly.names.devices[device]]
        if mode.forced >= 0.0:
            return bool(mode.forced > 0.5)
        kind = next(x.kind for x in self.layout.circuit.devices if x.part == device)
        return mode.phase in ((2.0, 3.0) if kind == "fill_control" else (1.0,))


def network_of(layout: Layout, lines: list[Line], run: Run) -> Network:
    """The network of a machine as it stands in ``run``."""
    network = Network(run, layout)
    _passages(network)
    _ports(network, lines)
    _line_flows(network, lines)
    return network


def _passages(network: Network) -> None:
    """Elements in the assembler's order."""
    circuit, layout = network.layout.circuit, network.layout
    element = 0

    def chains(vapour: bool) -> None:
        nonlocal element
        for chain in layout.chains:
            if chain.members[0].vapour == vapour:
                network.passages += [_of_member(m, element, network) for m in chain.members]
                _inside(chain, element, network)
                element += 1

    chains(False)
    for group in (
        circuit.lifts,
        layout.tubes,
        [p for p in circuit.pumps if not p.vane],
        [p for p in circuit.pumps if p.vane],
    ):
        for x in group:
            network.passages.append(Passage(x.part, x.inlet, x.outlet, element))
            element += 1
    chains(True)


def _of_member(member: Member, element: int, network: Network) -> Passage:
    moved = None if member.command.kind == "always" else network.commanded(member.command)
    return Passage(member.part, member.inlet, member.outlet, element, moved)


def _inside(chain: Chain, element: int, network: Network) -> None:
    """Share of the drop before each port between two throats of a chain."""
    flow = abs(float(network.run.work.element[element].flow))
    drops = []
    for m in chain.members:
        area = max(m.area_m2 * network.commanded(m.command), m.leak_area_m2)
        if area <= 0.0:
            drops.append(float("inf"))
            continue
        # `collaudo.laws.throat`, for hot water: density 960 kg/m3, viscosity 3e-4 Pa s
        drops.append(flow**2 / (2.0 * 960.0 * area**2) + m.bed_per_m3 * 3e-4 * flow / 960.0)
    whole = sum(drops)
    passed = 0.0
    for n, m in enumerate(chain.members[1:]):
        passed += drops[n]
        network.between[m.inlet] = network.between[chain.members[n].outlet] = (
            chain.inlet,
            chain.outlet,
            _share(passed, whole),
        )


def _share(passed: float, whole: float) -> float:
    if whole == float("inf"):
        return 1.0 if passed == float("inf") else 0.0
    return passed / whole if whole > 0.0 else 0.0


def _ports(network: Network, lines: list[Line]) -> None:
    known = dict.fromkeys(port for line in lines for port in (line.a, line.b))
    network.ports = [
        port
        for port in known
        if port in network.layout.place or port in network.layout.reservoir_place or port in network.between
    ]


def _line_flows(network: Network, lines: list[Line]) -> None:
    bare = _bare_incomes(network)
    flows: list[float | None] = [_known_flow(line, network, bare) for line in lines]
    open_lines = [n for n, flow in enumerate(flows) if flow is None]
    rows = sorted({port for n in open_lines for port in (lines[n].a, lines[n].b)})
    matrix, right = np.zeros((len(rows), len(open_lines))), np.zeros(len(rows))
    at = {port: n for n, port in enumerate(rows)}
    for column, n in enumerate(open_lines):
        matrix[at[lines[n].a], column], matrix[at[lines[n].b], column] = 1.0, -1.0
    for port in rows:
        right[at[port]] = bare.get(port, 0.0)
    for line, flow in zip(lines, flows, strict=True):
        for port, sign in ((line.a, -1.0), (line.b, 1.0)):
            if flow is not None and port in at:
                right[at[port]] += sign * flow
    found = np.linalg.lstsq(matrix, right, rcond=None)[0] if open_lines else np.zeros(0)
    for n, value in zip(open_lines, found, strict=True):
        flows[n] = float(value)
    network.line_flows = [flow or 0.0 for flow in flows]
    network.line_shares = [
        _shares(line, flow, network) for line, flow in zip(lines, network.line_flows, strict=True)
    ]


def _bare_incomes(network: Network) -> dict[str, float]:
    """What parts bring to each port [kg/s]; ports of vessels and reservoirs take and give what they like."""
    circuit = network.layout.circuit
    found: dict[str, float] = {}
    for passage in network.passages:
        flow = network.flow(passage)
        for port, sign in ((passage.inlet, -1.0), (passage.outlet, 1.0)):
            if port not in circuit.ports and port not in circuit.reservoir_ports:
                found[port] = found.get(port, 0.0) + sign * flow
    return found


def _known_flow(line: Line, network: Network, bare: dict[str, float]) -> float | None:
    """Flow of a line that an element or a vessel's edge gives; None for a line between two bare ports."""
    layout, circuit = network.layout, network.layout.circuit
    fixed = [port in circuit.ports or port in circuit.reservoir_ports for port in (line.a, line.b)]
    if all(fixed):
        return _leg_flow(line, network)
    if not any(fixed):
        return None
    at_vessel, port = (line.a, line.b) if fixed[0] else (line.b, line.a)
    sign = 1.0 if fixed[0] else -1.0
    for passage in network.passages:
        if passage.part == f"{at_vessel} to {_vessel_at(port, layout)}":
            along = 1.0 if passage.inlet == at_vessel else -1.0
            return sign * along * network.flow(passage)
    return -sign * bare.get(port, 0.0)


def _vessel_at(port: str, layout: Layout) -> str:
    return layout.place[port].vessel if port in layout.place else ""


def _leg_flow(line: Line, network: Network) -> float:
    """Flow from vessel ``a`` into the leg's first cell."""
    run, layout = network.run, network.layout
    tb, wk = run.tables, run.work
    if f"{line.a} to {line.b}.leg0" not in run.assembly.names.cells:
        return 0.0
    place = layout.circuit.ports[line.a]
    vessel = layout.circuit.vessels[place.vessel]
    x = run.assembly.names.cells[f"{place.vessel}.{vessel.cells[place.cell].name}"]
    y = run.assembly.names.cells[f"{line.a} to {line.b}.leg0"]
    if tb.cell[x].parent == y:
        return float(wk.cell[x].edge)
    if tb.cell[y].parent == x:
        return -float(wk.cell[y].edge)
    for loop in tb.loop:
        if (loop.start, loop.end) == (x, y):
            return float(run.y[loop.state])
        if (loop.start, loop.end) == (y, x):
            return -float(run.y[loop.state])
    return 0.0


def _shares(line: Line, flow: float, network: Network) -> tuple[float, float]:
    """Shares of steam and air in what a line passes: those of the passage it comes from or goes to."""
    donor, taker = (line.a, line.b) if flow >= 0.0 else (line.b, line.a)
    for port, side in ((taker, "inlet"), (donor, "outlet"), (taker, "outlet"), (donor, "inlet")):
        for passage in network.passages:
            if getattr(passage, side) == port and abs(network.flow(passage)) > 1e-9:
                return network.shares(passage)
    return 0.0, 0.0
