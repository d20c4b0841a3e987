"""Joints become nets, nets become trees of stretches: who uses each stretch, where the dots go."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collaudo.drawing.items import End, Joint
from collaudo.drawing.plane import STEP

Point = tuple[int, int]
"""A point of the lattice, in steps."""
Edge = tuple[Point, Point]
"""Two neighbouring points, the lesser first."""


@dataclass(frozen=True)
class Stretch:
    """A way between two dots, ports or corners of the tree that the same joints use, in units.

    ``ways`` says for each joint whether it runs along the points (1) or against them (-1).
    """

    points: tuple[tuple[float, float], ...]
    ways: Mapping[str, int]
    kind: str


@dataclass
class Net:
    """Joints that share ends, and the stretches they are drawn as."""

    number: int
    joints: list[Joint]
    stretches: list[Stretch] = field(default_factory=list)
    dots: list[tuple[float, float]] = field(default_factory=list)
    paths: dict[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    """Of each joint the whole way, from its end ``a`` to its end ``b``."""


def nets_of(joints: Sequence[Joint]) -> list[Net]:
    """Joints that share an end, together; links never share with lines."""
    nets: list[Net] = []
    home: dict[tuple[str, End], Net] = {}
    for joint in joints:
        kind = "link" if joint.kind == "link" else "line"
        found = {id(net): net for end in (joint.a, joint.b) if (net := home.get((kind, end)))}
        merged = list(found.values())
        net = merged[0] if merged else Net(0, [])
        if not merged:
            nets.append(net)
        for other in merged[1:]:
            net.joints += other.joints
            nets.remove(other)
        net.joints.append(joint)
        for one in net.joints:
            for end in (one.a, one.b):
                home[kind, end] = net
    for number, net in enumerate(nets):
        net.number = number
    return nets


@dataclass
class Tree:
    """Which points are joined, and where each end sits."""

    near: dict[Point, set[Point]] = field(default_factory=dict)
    ends: dict[End, Point] = field(default_factory=dict)

    def add(self, points: Sequence[Point]) -> None:
        """Join points, each to the next."""
        for a, b in pairwise(points):
            self.near.setdefault(a, set()).add(b)
            self.near.setdefault(b, set()).add(a)

    def way(self, start: Point, goal: Point) -> list[Point]:
        """The way along the tree."""
        came: dict[Point, Point | None] = {start: None}
        waiting = [start]
        for point in waiting:
            for other in sorted(self.near.get(point, ())):
                if other not in came:
                    came[other] = point
                    waiting.append(other)
        way: list[Point] = []
        at: Point | None = goal if goal in came else None
        while at is not None:
            way.append(at)
            at = came[at]
        return way[::-1]


def finish(net: Net, tree: Tree) -> None:
    """Paths of the joints, the stretches they share, and dots where three ways meet."""
    users: dict[Edge, dict[str, int]] = {}
    for joint in net.joints:
        way = tree.way(tree.ends[joint.a], tree.ends[joint.b])
        net.paths[joint.key] = tuple((x * STEP, y * STEP) for x, y in _corners(way))
        for a, b in pairwise(way):
            users.setdefault(_edge(a, b), {})[joint.key] = 1 if a < b else -1
    near: dict[Point, list[Point]] = {}
    for a, b in users:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    net.dots = [(x * STEP, y * STEP) for (x, y), others in near.items() if len(others) > 2]
    kinds = {joint.key: joint.kind for joint in net.joints}
    for chain in _chains(users, near):
        a, b = chain[0], chain[1]
        ways = {key: way if a < b else -way for key, way in users[_edge(a, b)].items()}
        points = tuple((x * STEP, y * STEP) for x, y in _corners(chain))
        net.stretches.append(Stretch(points, ways, kinds[next(iter(ways))]))


def _edge(a: Point, b: Point) -> Edge:
    return (a, b) if a < b else (b, a)


def _chains(edges: Iterable[Edge], near: Mapping[Point, list[Point]]) -> Iterator[list[Point]]:
    """Ways along the edges from one end or dot to the next."""
    breaks = {point for point, others in near.items() if len(others) != 2}
    left = dict.fromkeys(sorted(edges))
    while left:
        first = next((edge for edge in left if breaks & set(edge)), next(iter(left)))
        start, at = first if first[0] in breaks else first[::-1]
        chain = [start, at]
        del left[first]
        while at not in breaks:
            onward = [point for point in near[at] if _edge(at, point) in left]
            if not onward:
                break
            del left[_edge(at, onward[0])]
            at = onward[0]
            chain.append(at)
        yield chain


def _corners(points: Sequence[Point]) -> list[Point]:
    """The points where the way bends, and its ends."""
    kept = list(points[:1])
    for before, at, after in zip(points, points[1:], points[2:], strict=False):
        if (at[0] - before[0], at[1] - before[1]) != (after[0] - at[0], after[1] - at[1]):
            kept.append(at)
    return kept + list(points[1:][-1:])
