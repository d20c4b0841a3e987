"""Vessels joined by circulation legs become one zone: its cells in the order the kernel wants, its tree, its
loops."""

from __future__ import annotations

from collections import defaultdict, deque
from dataclasses import dataclass, field
from itertools import pairwise
from math import pi

from collaudo.parts.circuit import Cell, Circuit, Link, Vessel
from collaudo.twin.layout import Layout

LEG_CELLS = 2
DISPERSION_KG_PER_S = 7.5e-3
"""Flow of a flush, at which the dispersion along the legs is kept the same however fine they are cut."""


@dataclass
class Edge:
    """Two cells that touch, and the height [m] at which they do."""

    a: int
    b: int
    elevation_m: float


@dataclass
class Zone:
    """One space with one pressure. Cells are sorted leaves first, the top cell last."""

    name: str
    vessels: list[Vessel]
    cells: list[Cell]
    cell_names: list[str]
    parent: list[int]
    edge_to_parent: list[Edge | None]
    chords: list[Edge]
    index: dict[tuple[str, int], int] = field(default_factory=dict)
    """Cell of each vessel's own cell number."""


def make_zones(layout: Layout, cell_factor: int) -> list[Zone]:
    """All vessel zones of a layout."""
    circuit = layout.circuit
    neighbours: dict[str, set[str]] = {name: set() for name in circuit.vessels}
    for leg in layout.legs:
        a, b = circuit.ports[leg.a].vessel, circuit.ports[leg.b].vessel
        neighbours[a].add(b)
        neighbours[b].add(a)
    zones, seen = [], set()
    for name in circuit.vessels:
        if name in seen:
            continue
        together, queue = [], deque([name])
        while queue:
            at = queue.popleft()
            if at not in seen:
                seen.add(at)
                together.append(at)
                queue.extend(sorted(neighbours[at]))
        zones.append(_zone(together, layout, cell_factor))
    return zones


def _zone(names: list[str], layout: Layout, cell_factor: int) -> Zone:
    circuit = layout.circuit
    cells: list[Cell] = []
    labels: list[str] = []
    edges: list[Edge] = []
    index: dict[tuple[str, int], int] = {}
    top = -1
    for name in names:
        vessel = circuit.vessels[name]
        base = len(cells)
        for k, cell in enumerate(vessel.cells):
            index[name, k] = base + k
            cells.append(cell)
            labels.append(f"{name}.{cell.name}")
        edges += [Edge(base + a, base + b, height) for a, b, height in vessel.edges]
        if vessel.top >= 0 or len(names) == 1:
            top = base + (vessel.top if vessel.top >= 0 else len(vessel.cells) - 1)
    for leg in layout.legs:
        pa, pb = circuit.ports[leg.a], circuit.ports[leg.b]
        if pa.vessel not in names:
            continue
        n = LEG_CELLS * cell_factor
        volume = 0.25 * pi * leg.bore_m**2 * leg.length_m
        before, height = index[pa.vessel, pa.cell], pa.elevation_m
        for k in range(n):
            cells.append(Cell(f"leg{k}", volume / n, leg.bore_m, leg.length_m / n, leg.fittings / n))
            labels.append(f"{leg.a} to {leg.b}.leg{k}")
            edges.append(Edge(before, len(cells) - 1, height))
            before = len(cells) - 1
            height = pa.elevation_m + (pb.elevation_m - pa.elevation_m) * (k + 1) / n
        edges.append(Edge(before, index[pb.vessel, pb.cell], pb.elevation_m))
        _disperse(labels[-n:], cell_factor, layout.circuit)
    return _rooted(names, [circuit.vessels[n] for n in names], cells, labels, edges, index, top)


def _disperse(labels: list[str], cell_factor: int, circuit: Circuit) -> None:
    """Keep the dispersion along a leg when it is cut finer.

    A front of temperature is smeared along a real leg by its layers, bends and wall. Cells of complete mixing
    smear it like an exchange of ``m cp / 2`` between neighbours whatever their length; what finer cells lose
    of that is put back, so that the dispersion is that of `LEG_CELLS` cells (assumed).
    """
    if cell_factor == 1:
        return
    # n cells have n - 1 joints between them and one to either side; the inner ones take the exchange of all.
    joints = len(labels) - 1
    exchange = 0.5 * DISPERSION_KG_PER_S * 4186.0 * (cell_factor - 1) * (joints + 2) / joints
    circuit.links += [
        Link("flow", a, b, 0.01, exchange, DISPERSION_KG_PER_S, at=a) for a, b in pairwise(labels)
    ]


def _rooted(
    names: list[str],
    vessels: list[Vessel],
    cells: list[Cell],
    labels: list[str],
    edges: list[Edge],
    index: dict[tuple[str, int], int],
    top: int,
) -> Zone:
    """Spanning tree from the top (breadth first), the rest of the edges as chords; renumbered leaves
    first."""
    touching: dict[int, list[Edge]] = defaultdict(list)
    for edge in edges:
        touching[edge.a].append(edge)
        touching[edge.b].append(edge)
    parent: dict[int, int] = {top: -1}
    to_parent: dict[int, Edge] = {}
    order = [top]
    for at in order:
        for edge in touching[at]:
            other = edge.b if edge.a == at else edge.a
            if other not in parent:
                parent[other] = at
                to_parent[other] = edge
                order.append(other)
    used = {id(edge) for edge in to_parent.values()}
    number = {cell: k for k, cell in enumerate(reversed(order))}

    def renumber(edge: Edge) -> Edge:
        return Edge(number[edge.a], number[edge.b], edge.elevation_m)

    back = list(reversed(order))
    return Zone(
        names[0],
        vessels,
        [cells[c] for c in back],
        [labels[c] for c in back],
        [number[parent[c]] if parent[c] >= 0 else -1 for c in back],
        [renumber(to_parent[c]) if c in to_parent else None for c in back],
        [renumber(e) for e in edges if id(e) not in used],
        {key: number[c] for key, c in index.items()},
    )


@dataclass(frozen=True)
class LoopPath:
    """A loop: its chord, the tree edges that close it (child cell, sign) and the cells it crosses (rise
    [m])."""

    start: int
    end: int
    edges: list[tuple[int, int]]
    cells: list[tuple[int, float]]


def loop_of(zone: Zone, chord: Edge) -> LoopPath:
    """The loop that ``chord`` closes: along the chord, then through the tree back to its start."""

    def ancestors(cell: int) -> list[int]:
        path = [cell]
        while zone.parent[path[-1]] >= 0:
            path.append(zone.parent[path[-1]])
        return path

    up, down = ancestors(chord.b), ancestors(chord.a)
    common = next(cell for cell in up if cell in set(down))
    rising, falling = up[: up.index(common)], down[: down.index(common)]
    walk = [(cell, 1, _elevation(zone, cell)) for cell in rising]
    walk += [(cell, -1, _elevation(zone, cell)) for cell in reversed(falling)]
    heights = [chord.elevation_m] + [height for _, _, height in walk] + [chord.elevation_m]
    crossed = [*rising, common, *reversed(falling)]
    return LoopPath(
        chord.a,
        chord.b,
        [(cell, sign) for cell, sign, _ in walk],
        [(cell, heights[k + 1] - heights[k]) for k, cell in enumerate(crossed)],
    )


def _elevation(zone: Zone, cell: int) -> float:
    edge = zone.edge_to_parent[cell]
    return edge.elevation_m if edge is not None else 0.0
