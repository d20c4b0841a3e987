"""Items whose lines wander are taken up and put where their real ways are shortest.

The search for places guesses a line's way from its ends alone. Once everything is routed the real ways are
known: from every end of a wandering item's lines the ways to all points of the lattice are reckoned, past
all that stands there, and the item goes to where they add up to the least.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from collaudo.drawing.cost import Whole
from collaudo.drawing.items import Item, Joint, Look
from collaudo.drawing.nets import Net, Point
from collaudo.drawing.place import FORBIDDEN, Link, Search
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import AWAY, STEP, Box
from collaudo.drawing.route import BEND, FAR, Router, Terminal
from collaudo.drawing.routing import lattice

WANDERS = 2 * BEND
"""A way this much dearer than the distance of its ends wanders."""
SHORT = 8
"""So long may a link be, in steps: what feels something stands by it."""
FARTHEST = 40
"""Ways are reckoned as far as this, in steps."""
MOST = 2
"""An item with more joints than this hangs on too much to be moved alone."""
OPPOSITE = {"E": 2, "S": 3, "W": 0, "N": 1}
"""Of a port's side: the way in which its line comes to it."""


def wandering(nets: Sequence[Net], fixed: Mapping[str, object]) -> list[str]:
    """Items that may move with a way that wanders, the worst first; the one with fewer joints of two."""
    joints = [joint for net in nets for joint in net.joints]
    counts: dict[str, int] = {}
    for joint in joints:
        for end in (joint.a, joint.b):
            counts[end.item] = counts.get(end.item, 0) + 1
    found: dict[str, int] = {}
    for net in nets:
        for joint in net.joints:
            excess = _excess(net.paths[joint.key], SHORT if joint.kind == "link" else 0)
            movable = [
                end.item for end in (joint.a, joint.b) if end.item not in fixed and counts[end.item] <= MOST
            ]
            if excess >= WANDERS and movable:
                key = min(movable, key=counts.__getitem__)
                found[key] = max(found.get(key, 0), excess)
    return sorted(found, key=lambda key: -found[key])


def _excess(points: Sequence[tuple[float, float]], short: int) -> int:
    """How much longer than the distance of its ends a way is, with its bends but two; of a way that should
    be ``short``, how much longer than that."""
    length = sum(abs(bx - ax) + abs(by - ay) for (ax, ay), (bx, by) in pairwise(points))
    (ax, ay), (bx, by) = points[0], points[-1]
    least = short * STEP if short else abs(bx - ax) + abs(by - ay)
    return int((length - least) / STEP) + BEND * max(len(points) - 4, 0)


def put_tidily(
    key: str, nets: Sequence[Net], placed: Mapping[str, Placed], joints: Sequence[Joint], gap: int
) -> dict[str, Placed]:
    """The same sheet with one item where its real ways are shortest."""
    search = _Tidy(key, nets, placed, joints, gap)
    before = search.placed.pop(key)
    if search.settle(key, before) >= FORBIDDEN:
        search.placed[key] = before
    return search.placed


class _Tidy(Search):
    """A search that knows the real ways to the ends of one item's joints."""

    def __init__(
        self, key: str, nets: Sequence[Net], placed: Mapping[str, Placed], joints: Sequence[Joint], gap: int
    ) -> None:
        super().__init__([one.item for one in placed.values()], joints, gap)
        self.placed = dict(placed)
        self.lines_stay = True
        self.router = lattice({name: one for name, one in placed.items() if name != key})
        mine = {joint.key for joint in joints if key in (joint.a.item, joint.b.item)}
        lines: list[Box] = []
        for net in nets:
            for name, points in net.paths.items():
                if name not in mine:
                    self.router.occupy(net.number, _steps(points))
                    lines += [_narrow(a, b) for a, b in pairwise(points)]
        self.lines = lines
        self.reach = {
            (end.item, end.port): self._reach(net, end.item, end.port)
            for net in nets
            for joint in net.joints
            if joint.key in mine
            for end in (joint.a, joint.b)
            if end.item != key
        }

    def _reach(self, net: Net, item: str, port: str) -> list[Whole]:
        """What the way to each point of the lattice costs from one end, for each way of coming there."""
        place = self.placed[item].port(port)
        start = Terminal(int(place.x), int(place.y), place.side)
        return reach(self.router, net.number, start)

    def total(self, item: Item, look: Look, links: list[Link], span: tuple[Whole, Whole]) -> Whole:
        """What the real ways cost from each place of a window."""
        xs, ys = span
        total = -item.pull[0] * xs[np.newaxis, :] - item.pull[1] * ys[:, np.newaxis]
        for port, other, its_port, weight in links:
            place = look.ports[port]
            dx, dy = AWAY[place.side]
            costs = self.reach[other, its_port][OPPOSITE[place.side]]
            across = xs + round(place.x / STEP) + dx
            down = ys + round(place.y / STEP) + dy
            total += weight * _taken_from(costs, across, down)
        cheapest: Whole = np.minimum(total, FORBIDDEN)
        return cheapest


def _taken_from(costs: Whole, across: Whole, down: Whole) -> Whole:
    """Costs at some columns and rows; `FORBIDDEN` beyond the lattice."""
    height, width = costs.shape
    wide = np.pad(costs, 1, constant_values=FORBIDDEN)
    found: Whole = wide[np.ix_(np.clip(down + 1, 0, height + 1), np.clip(across + 1, 0, width + 1))]
    return found


def reach(router: Router, net: int, start: Terminal) -> list[Whole]:
    """Of each of the four ways of going on: what it costs to come to each point and go on so."""
    best = router.flood(net, start, FARTHEST)
    costs = np.full((4, router.height * router.width), FAR)
    states = np.fromiter(best, dtype=int, count=len(best))
    costs[states % 4, states // 4] = np.fromiter(best.values(), dtype=int, count=len(best))
    shape = (router.height, router.width)
    return [
        np.minimum(costs[way], np.minimum(costs[(way + 1) % 4], costs[(way + 3) % 4]) + BEND).reshape(shape)
        for way in range(4)
    ]


def _steps(points: Sequence[tuple[float, float]]) -> list[Point]:
    """A way from corner to corner as points of the lattice."""
    found = [(int(points[0][0] / STEP), int(points[0][1] / STEP))] if points else []
    for x, y in points[1:]:
        goal = (int(x / STEP), int(y / STEP))
        while found[-1] != goal:
            at = found[-1]
            found.append((at[0] + _sign(goal[0] - at[0]), at[1] + _sign(goal[1] - at[1])))
    return found


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def _narrow(a: tuple[float, float], b: tuple[float, float]) -> Box:
    return Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])).grown(0.5)
