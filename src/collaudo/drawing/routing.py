"""Give every net its ways between placed items."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from collaudo.drawing.items import End
from collaudo.drawing.nets import Net, Point, Tree, finish
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP
from collaudo.drawing.route import Router, Terminal

TRIES = 3
"""Times all nets are routed, those that found no way first the next time."""
MARGIN = 6
"""Steps of free lattice round everything placed, for lines that go outside."""


def route_all(nets: Sequence[Net], placed: Mapping[str, Placed]) -> None:
    """Give every net its stretches: short nets first, then each once more with all others in place.

    The last try stands, also where a net was lost.
    """
    router = lattice(placed)
    terminals = {
        end: _terminal(placed, end) for net in nets for joint in net.joints for end in (joint.a, joint.b)
    }
    for net in nets:
        for joint in net.joints:
            for end in (joint.a, joint.b):
                router.keep(terminals[end], net.number)
    trees: dict[int, Tree] = {}
    order = sorted(nets, key=lambda net: (net.joints[0].kind == "link", _spread(net, terminals), net.number))
    for attempt in range(TRIES):
        for again in (False, True):
            for net in order:
                if again:
                    router.release(net.number)
                trees[net.number] = _grow(router, net, terminals)
        lost = [net for net in order if _lost(net, trees[net.number])]
        if not lost or attempt == TRIES - 1:
            break
        order = lost + [net for net in order if net not in lost]
        for net in nets:
            router.release(net.number)
    for net in nets:
        finish(net, trees[net.number])


def lattice(placed: Mapping[str, Placed]) -> Router:
    """The lattice with what is placed on it, no line drawn yet."""
    obstacles = [
        box.grown(0.0 if at == 0 else 2.0) for item in placed.values() for at, box in enumerate(item.boxes)
    ]
    width = max(int(box.right / STEP) for box in obstacles) + MARGIN
    height = max(int(box.bottom / STEP) for box in obstacles) + MARGIN
    return Router(width, height, obstacles)


def _lost(net: Net, tree: Tree) -> bool:
    """Whether some joint of a net found no way."""
    return any(not tree.way(tree.ends[joint.a], tree.ends[joint.b]) for joint in net.joints)


def _terminal(placed: Mapping[str, Placed], end: End) -> Terminal:
    port = placed[end.item].port(end.port)
    return Terminal(int(port.x), int(port.y), port.side)


def _spread(net: Net, terminals: Mapping[End, Terminal]) -> int:
    """How far apart the ends of a net lie."""
    ends = [terminals[end] for joint in net.joints for end in (joint.a, joint.b)]
    xs, ys = [end.x for end in ends], [end.y for end in ends]
    return max(xs) - min(xs) + max(ys) - min(ys)


def _grow(router: Router, net: Net, terminals: Mapping[End, Terminal]) -> Tree:
    """Join all ends of a net: the nearest two first, then always the end nearest to the tree."""
    ends = list(dict.fromkeys(end for joint in net.joints for end in (joint.a, joint.b)))
    tree = Tree()
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
        points = _to_tree(router, net.number, terminals[end], tree)
        tree.add(points)
        router.occupy(net.number, points)
    return tree


def _to_tree(router: Router, number: int, start: Terminal, tree: Tree) -> list[Point]:
    """The way from a port to the tree."""
    port = (start.x, start.y)
    goals: set[Point] = {point for point in tree.near if point not in tree.ends.values()}
    if start.lead in goals:
        return [port, start.lead]
    return [port, *router.route(number, start, goals)]


def _far(a: Point, b: Point) -> int:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])
