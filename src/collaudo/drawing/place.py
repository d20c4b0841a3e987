"""Put items on the sheet so that lines are short, straight, and leave ports the way they face.

Whole numbers only, and the first of equally good places: the same machine gives the same drawing everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.drawing.cost import LINE_WEIGHT, LINK_WEIGHT, Whole, sheet_cost, wire_cost
from collaudo.drawing.items import Item, Joint, Look
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, Box
from collaudo.drawing.symbols import PortPlace

REACH, FARTHEST = 9, 60
"""How far round the ports an item is joined to a place is looked for first, and at most, in steps."""
FORBIDDEN = 1_000_000
ROUNDS = 6
"""Times every item is moved to its best place at most."""
BETWEEN = 11
"""Steps from one anchor to the next below it."""
TRIES = 12
"""Places looked at before a way to stand is given up, where the cheapest shut some port's way out."""
RADIUS = 2
"""How many joints away from one item others are taken up and put down again together with it."""
LABEL_GAP = 0.3 * STEP
"""From a label to whatever else stands there."""

Boxes = NDArray[np.float64]
Mask = NDArray[np.bool_]
Link = tuple[str, str, str, int]
"""My port, the other item, its port, the weight of what joins them."""


def mend(
    placed: Mapping[str, Placed], joints: Sequence[Joint], keys: Sequence[str], lines: Sequence[Box], gap: int
) -> dict[str, Placed]:
    """The same sheet with the items ``keys`` moved, or their labels, to where no line runs through them."""
    search = Search([one.item for one in placed.values()], joints, gap)
    search.placed = dict(placed)
    search.lines = lines
    for key in keys:
        search.settle(key, search.placed.pop(key))
    return search.placed


@dataclass(frozen=True)
class _Taken:
    """What has a place already."""

    boxes: Boxes
    """Left, top, right, bottom, and how far symbols must keep from it."""
    for_labels: Boxes
    """The same, and lines that no label may cover."""
    leads: Mapping[tuple[int, int], tuple[str, str]]
    """Ways out of ports: item and port."""
    points: Boxes
    """The same in units."""


def place(
    items: Sequence[Item],
    joints: Sequence[Joint],
    fixed: Mapping[str, tuple[int, int]] | None = None,
    gap: int = 2,
) -> dict[str, Placed]:
    """A place for every item: ``fixed`` ones at their given steps, ``gap`` steps free between symbols."""
    search = Search(items, joints, gap)
    for key, (x, y) in (fixed or {}).items():
        search.fix(key, x, y)
    search.begin()
    search.improve(set(search.items))
    search.rebuild()
    return search.placed


class Search:
    """Places found so far, and the cost of every other place for one item at a time."""

    def __init__(self, items: Sequence[Item], joints: Sequence[Joint], gap: int) -> None:
        self.items = {item.key: item for item in items}
        self.joints = joints
        self.gap = gap
        sizes = {item.key: item.picture.width * item.picture.height for item in items}
        self.anchors = [item.key for item in items if item.anchor] or [max(sizes, key=sizes.__getitem__)]
        self.placed: dict[str, Placed] = {}
        self.lines: Sequence[Box] = ()
        """Lines already drawn that no label may cover, and no symbol either where they stay."""
        self.lines_stay = False
        self.fixed: set[str] = set()
        self.joined: dict[str, list[Link]] = {key: [] for key in self.items}
        for joint in joints:
            weight = LINE_WEIGHT if joint.kind == "line" else LINK_WEIGHT
            for a, b in ((joint.a, joint.b), (joint.b, joint.a)):
                if a.item != b.item:
                    self.joined[a.item].append((a.port, b.item, b.port, weight))
        self.pairs = {key: {link[:3] for link in links} for key, links in self.joined.items()}

    def fix(self, key: str, x: int, y: int) -> None:
        """Hold an item at a given place; its look is still chosen."""
        item = self.items[key]
        self.placed[key] = Placed(item, item.looks[0], x, y)
        self.fixed.add(key)

    def begin(self) -> None:
        """Place the anchors one below another, then always the item with most joints to those placed."""
        bottom = 0
        for key in self.anchors:
            if key not in self.placed and not self.fixed:
                item = self.items[key]
                self.placed[key] = Placed(item, item.looks[0], 0, bottom)
                bottom += int(item.picture.height / STEP) + BETWEEN
        self._put_down([key for key in self.items if key not in self.placed])

    def _put_down(self, waiting: list[str]) -> None:
        while waiting:
            key = max(waiting, key=self._known_joints)
            waiting.remove(key)
            self.settle(key)

    def _known_joints(self, key: str) -> tuple[int, int]:
        known = sum(weight for _, other, _, weight in self.joined[key] if other in self.placed)
        return known, -len(self.joined[key])

    def improve(self, moved: set[str]) -> None:
        """Move items whose neighbours have ``moved`` to the best place there is for them, till none moves."""
        for _ in range(ROUNDS):
            fresh: set[str] = set()
            for key in self.items:
                if not (moved | fresh) & {key, *(link[1] for link in self.joined[key])}:
                    continue
                before = self.placed.pop(key)
                self.settle(key, before)
                after = self.placed[key]
                if (after.x, after.y, after.look) != (before.x, before.y, before.look):
                    fresh.add(key)
            moved = fresh
            if not moved:
                break

    def rebuild(self) -> None:
        """Take up each item with a bent line, and those round it; put them down anew; keep what gains."""
        cost = sheet_cost(self.placed, self.joints)
        for key in self.items:
            if not self._bent(key):
                continue
            taken = self._round(key)
            kept = dict(self.placed)
            for other in taken:
                del self.placed[other]
            if not self.placed:
                self.placed = kept
                continue
            self._put_down(list(taken))
            self.improve(set(taken))
            fresh = sheet_cost(self.placed, self.joints)
            if fresh < cost:
                cost = fresh
            else:
                self.placed = kept

    def _bent(self, key: str) -> bool:
        """Whether a line of an item does not run straight to where it goes."""
        mine = self.placed[key]
        for port, other, its_port, _ in self.joined[key]:
            a, b = mine.port(port), self.placed[other].port(its_port)
            straight = a.x == b.x if a.side in "NS" else a.y == b.y
            if not straight or {a.side, b.side} not in ({"N", "S"}, {"E", "W"}):
                return True
        return not self.joined[key]

    def _round(self, key: str) -> list[str]:
        """The items up to `RADIUS` joints away that may move; anchors stay: all else hangs on them."""
        found = [key]
        for _ in range(RADIUS):
            found += [link[1] for one in found for link in self.joined[one] if one not in self.anchors]
        return [one for one in dict.fromkeys(found) if one not in self.fixed and one not in self.anchors]

    def settle(self, key: str, before: Placed | None = None) -> int:
        """The best place for one item, all others standing; what it costs."""
        item = self.items[key]
        links = [link for link in self.joined[key] if link[1] in self.placed]
        at = before or max(self.placed.values(), key=lambda one: one.y)
        near = [self.placed[other].port(port) for _, other, port, _ in links] or [PortPlace(at.x, at.y, "N")]
        taken = self._taken()
        reach = REACH
        best: tuple[int, Placed] | None = None
        while best is None or best[0] >= FORBIDDEN:
            span = _window(near, item, reach)
            if key in self.fixed and before is not None:
                span = np.array([before.x]), np.array([before.y])
            best = self._best(item, links, span, taken)
            if key in self.fixed or reach > FARTHEST:
                break
            reach += REACH
        self.placed[key] = best[1]
        return best[0]

    def _taken(self) -> _Taken:
        leads: dict[tuple[int, int], tuple[str, str]] = {}
        for key, placed in self.placed.items():
            for point, port in placed.leads.items():
                leads[point] = key, port
        gap = self.gap * STEP - 1.0
        symbols = [(*one.edges[0], gap) for one in self.placed.values()]
        labels = [(*edge, LABEL_GAP) for one in self.placed.values() for edge in one.edges[1:]]
        lines = [(line.left, line.top, line.right, line.bottom, LABEL_GAP) for line in self.lines]
        every = np.array([*symbols, *labels, *lines], dtype=float).reshape(-1, 5)
        points = STEP * np.array(list(leads), dtype=float).reshape(-1, 2)
        return _Taken(every[: len(symbols) + len(labels)], every, leads, points)

    def _best(
        self, item: Item, links: list[Link], span: tuple[Whole, Whole], taken: _Taken
    ) -> tuple[int, Placed]:
        """The best place within a window, over all ways the item can stand."""
        xs, ys = span
        found: list[tuple[int, int, Placed]] = []
        masks: dict[Box, Mask] = {}
        ways: dict[int, Whole] = {}
        for order, look in enumerate(item.looks):
            key = id(look.ports)  # looks that differ in their label alone share their ports
            if key not in ways:
                ways[key] = self.total(item, look, links, span)
            total = ways[key] + 2 * look.dislike
            if found and total.min() >= min(cost for cost, _, _ in found):
                continue  # not even its best place is better than one found before
            for at, box in enumerate(look.boxes):
                if box not in masks:
                    shut = taken.boxes if at == 0 and not self.lines_stay else taken.for_labels
                    gaps = shut[:, 4] if at == 0 else LABEL_GAP
                    masks[box] = _covered(box, gaps, shut, xs, ys)
                total[masks[box]] = FORBIDDEN
            for _ in range(TRIES):
                row, column = divmod(int(total.argmin()), len(xs))
                placed = Placed(item, look, int(xs[column]), int(ys[row]))
                cost = int(total[row, column])
                if cost >= FORBIDDEN or not self._blocks(placed, taken):
                    break
                total[row, column] = cost = FORBIDDEN
            found.append((cost, order, placed))
        cost, _, placed = min(found, key=lambda one: one[:2])
        return cost, placed

    def total(self, item: Item, look: Look, links: list[Link], span: tuple[Whole, Whole]) -> Whole:
        """What an item's lines cost at each place of a window, standing in one way."""
        xs, ys = span
        across, down = np.zeros(len(xs), dtype=int), np.zeros(len(ys), dtype=int)
        for port, other, its_port, weight in links:
            level, upright = wire_cost(look.ports[port], self.placed[other].port(its_port), xs, ys)
            across += weight * level
            down += weight * upright
        if not links:
            across, down = np.abs(xs - xs[len(xs) // 2]), np.abs(ys - ys[len(ys) // 2])
        across, down = across - item.pull[0] * xs, down - item.pull[1] * ys
        return across[np.newaxis, :] + down[:, np.newaxis]

    def _blocks(self, mine: Placed, taken: _Taken) -> bool:
        """Whether some port's way out would be shut, here or at what has a place."""
        for at in mine.leads.keys() & taken.leads.keys():
            if (mine.leads[at], *taken.leads[at]) not in self.pairs[mine.item.key]:
                return True
        leads = STEP * np.array(list(mine.leads), dtype=float).reshape(-1, 2)
        boxes = np.array(mine.edges)
        return _inside(leads, taken.boxes) or _inside(taken.points, boxes)


def _inside(points: Boxes, boxes: Boxes) -> bool:
    """Whether any of some points lies in one of some boxes, or too close to it."""
    x, y = points[:, 0, np.newaxis], points[:, 1, np.newaxis]
    within = (boxes[:, 0] - 4 < x) & (x < boxes[:, 2] + 4) & (boxes[:, 1] - 4 < y) & (y < boxes[:, 3] + 4)
    return bool(within.any())


def _covered(mine: Box, gaps: Boxes | float, taken: Boxes, xs: Whole, ys: Whole) -> Mask:
    """The places from which a box would cover, or stand too near, what has a place."""
    x, y = int(xs[0]), int(ys[0])
    mask = np.zeros((len(ys), len(xs)), dtype=bool)
    begin = np.array([[x], [y]])
    low = np.floor((taken[:, :2].T - gaps - [[mine.right], [mine.bottom]]) / STEP).astype(int) + 1 - begin
    high = np.ceil((taken[:, 2:4].T + gaps - [[mine.left], [mine.top]]) / STEP).astype(int) - begin
    near = (low[0] < len(xs)) & (low[1] < len(ys)) & (high[0] > 0) & (high[1] > 0)
    spans = np.concatenate((np.maximum(low, 0), high))[:, near].T.tolist()
    for left, top, right, bottom in spans:
        mask[top:bottom, left:right] = True
    return mask


def _window(near: Sequence[PortPlace], item: Item, reach: int) -> tuple[Whole, Whole]:
    """The places looked at: round the ports an item is joined to."""
    size = int(max(item.picture.width, item.picture.height) // STEP)
    xs, ys = [int(port.x) for port in near], [int(port.y) for port in near]
    wide = np.arange(min(xs) - reach - size, max(xs) + reach + 1)
    tall = np.arange(min(ys) - reach - size, max(ys) + reach + 1)
    return wide, tall
