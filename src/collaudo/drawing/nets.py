"""Joints become nets, nets become trees of stretches: who uses each stretch, where dots and hops go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from collaudo.drawing.items import End, Joint
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, Box
from collaudo.drawing.route import Point, Router, Terminal

MARGIN = 6
"""Steps of free lattice round everything placed, for lines that go outside."""


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


def route_all(nets: Sequence[Net], placed: Mapping[str, Placed], extra: Sequence[Box] = ()) -> None:
    """Give every net its stretches: short nets first, then each once more with all others in place."""
    obstacles = [box.grown(0.0 if at == 0 else 2.0) for item in placed.values() for at, box in enumerate(item.boxes)]
    obstacles += extra
    width = max(int(box.right / STEP) for box in obstacles) + MARGIN
    height = max(int(box.bottom / STEP) for box in obstacles) + MARGIN
    router = Router(width, height, obstacles)
    terminals = {end: _terminal(placed, end) for net in nets for joint in net.joints for end in (joint.a, joint.b)}
    for net in nets:
        for joint in net.joints:
            for end in (joint.a, joint.b):
                router.keep(terminals[end].lead, net.number)
    trees: dict[int, _Tree] = {}
    order = sorted(nets, key=lambda net: (net.joints[0].kind == "link", _spread(net, terminals), net.number))
    for again in (False, True):
        for net in order:
            if again:
                router.release(net.number)
            trees[net.number] = _grow(router, net, terminals)
    for net in nets:
        _finish(net, trees[net.number])


def _terminal(placed: Mapping[str, Placed], end: End) -> Terminal:
    port = placed[end.item].port(end.port)
    return Terminal(int(port.x), int(port.y), port.side)


def _spread(net: Net, terminals: Mapping[End, Terminal]) -> int:
    """How far apart the ends of a net lie."""
    ends = [terminals[end] for joint in net.joints for end in (joint.a, joint.b)]
    xs, ys = [end.x for end in ends], [end.y for end in ends]
    return max(xs) - min(xs) + max(ys) - min(ys)


@dataclass
class _Tree:
    """Which points are joined, and where each end sits."""

    near: dict[Point, set[Point]] = field(default_factory=dict)
    ends: dict[End, Point] = field(default_factory=dict)

    def add(self, points: Sequence[Point]) -> None:
        for a, b in zip(points, points[1:], strict=False):
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


def _grow(router: Router, net: Net, terminals: Mapping[End, Terminal]) -> _Tree:
    """Join all ends of a net: the nearest two first, then always the end nearest to the tree."""
    ends = list(dict.fromkeys(end for joint in net.joints for end in (joint.a, joint.b)))
    tree = _Tree()
    for end in ends:
        tree.ends[end] = (terminals[end].x, terminals[end].y)
    first = ends[0]
    waiting = ends[1:]
    root = terminals[first]
    stub = [tree.ends[first], root.lead]
    tree.add(stub)
    router.occupy(net.number, stub)
    while waiting:
        end = min(waiting, key=lambda one: min(_far(terminals[one].lead, point) for point in tree.near))
        waiting.remove(end)
        goals: dict[Point, int | None] = {point: None for point in tree.near if point not in tree.ends.values()}
        at = terminals[end]
        points = [(at.x, at.y), at.lead] if at.lead in goals else [(at.x, at.y), *router.route(net.number, at, goals)]
        tree.add(points)
        router.occupy(net.number, points)
    return tree


def _far(a: Point, b: Point) -> int:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def _finish(net: Net, tree: _Tree) -> None:
    """Paths of the joints, the stretches they share, and dots where three ways meet."""
    users: dict[tuple[Point, Point], dict[str, int]] = {}
    kinds = {joint.key: joint.kind for joint in net.joints}
    for joint in net.joints:
        way = tree.way(tree.ends[joint.a], tree.ends[joint.b])
        net.paths[joint.key] = tuple((x * STEP, y * STEP) for x, y in _corners(way))
        for a, b in zip(way, way[1:], strict=False):
            edge, sense = ((a, b), 1) if a < b else ((b, a), -1)
            users.setdefault(edge, {})[joint.key] = sense
    near: dict[Point, list[Point]] = {}
    for a, b in users:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    net.dots = [(x * STEP, y * STEP) for (x, y), others in near.items() if len(others) > 2]
    breaks = {point for point, others in near.items() if len(others) != 2}
    left = dict.fromkeys(sorted(users))
    while left:
        edge = next((edge for edge in left if breaks & set(edge)), next(iter(left)))
        start = edge[0] if edge[0] in breaks else edge[1] if edge[1] in breaks else edge[0]
        chain = [start]
        at = edge[1] if start == edge[0] else edge[0]
        del left[edge]
        while True:
            last = chain[-1]
            chain.append(at)
            edge = (min(last, at), max(last, at))
            if at in breaks:
                break
            onward = [point for point in near[at] if (min(at, point), max(at, point)) in left]
            if not onward:
                break
            del left[min(at, onward[0]), max(at, onward[0])]
            at = onward[0]
        a, b = chain[0], chain[1]
        sense = 1 if a < b else -1
        ways = {key: way * sense for key, way in users[min(a, b), max(a, b)].items()}
        points = tuple((x * STEP, y * STEP) for x, y in _corners(chain))
        net.stretches.append(Stretch(points, ways, kinds[next(iter(ways))]))


def _corners(points: Sequence[Point]) -> list[Point]:
    """The points where the way bends, and its ends."""
    kept = list(points[:1])
    for before, at, after in zip(points, points[1:], points[2:], strict=False):
        if (at[0] - before[0], at[1] - before[1]) != (after[0] - at[0], after[1] - at[1]):
            kept.append(at)
    return kept + list(points[1:][-1:])
