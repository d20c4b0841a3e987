"""Put items on the sheet so that lines are short, straight, and leave ports the way they face.

Whole numbers only, and the first of equally good places: the same machine gives the same drawing everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from collaudo.drawing.cost import LINE_WEIGHT, LINK_WEIGHT, Whole, sheet_cost, wire_cost
from collaudo.drawing.items import Item, Joint
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, Box
from collaudo.drawing.symbols import PortPlace

REACH = 9
"""How far round the ports an item is joined to a place is looked for first, in steps."""
FORBIDDEN = 1_000_000
ROUNDS = 6
"""Times every item is moved to its best place at most."""
RADII = (1, 2)
"""How many joints away from one item others are taken up and put down again together with it."""
LABEL_GAP = 0.3 * STEP
"""From a label to whatever else stands there."""

Boxes = NDArray[np.float64]
Mask = NDArray[np.bool_]
_Link = tuple[str, str, str, int]
"""My port, the other item, its port, the weight of what joins them."""


def place(
    items: Sequence[Item],
    joints: Sequence[Joint],
    fixed: Mapping[str, tuple[int, int]] | None = None,
    gap: int = 2,
) -> dict[str, Placed]:
    """A place for every item: ``fixed`` ones at their given steps, ``gap`` steps free between symbols."""
    search = _Search(items, joints, gap)
    for key, (x, y) in (fixed or {}).items():
        search.fix(key, x, y)
    search.begin()
    search.improve(set(search.items))
    for radius in RADII:
        search.rebuild(radius)
    return search.placed


class _Search:
    """Places found so far, and the cost of every other place for one item at a time."""

    def __init__(self, items: Sequence[Item], joints: Sequence[Joint], gap: int) -> None:
        self.items = {item.key: item for item in items}
        self.joints = joints
        self.gap = gap
        self.largest = max(items, key=lambda item: item.picture.width * item.picture.height).key
        self.placed: dict[str, Placed] = {}
        self.fixed: set[str] = set()
        self.joined: dict[str, list[_Link]] = {key: [] for key in self.items}
        for joint in joints:
            weight = LINE_WEIGHT if joint.kind == "line" else LINK_WEIGHT
            for a, b in ((joint.a, joint.b), (joint.b, joint.a)):
                if a.item != b.item:
                    self.joined[a.item].append((a.port, b.item, b.port, weight))

    def fix(self, key: str, x: int, y: int) -> None:
        """Hold an item at a given place; its look is still chosen."""
        item = self.items[key]
        self.placed[key] = Placed(item, item.looks[0], x, y)
        self.fixed.add(key)

    def begin(self) -> None:
        """Place the largest item, then always the one with most joints to those that have a place."""
        waiting = [key for key in self.items if key not in self.placed]
        if waiting and not self.placed:
            item = self.items[self.largest]
            self.placed[self.largest] = Placed(item, item.looks[0], 0, 0)
            waiting.remove(self.largest)
        self._put_down(waiting)

    def _put_down(self, waiting: list[str]) -> None:
        while waiting:
            key = max(waiting, key=self._known_joints)
            waiting.remove(key)
            self._settle(key)

    def _known_joints(self, key: str) -> tuple[int, int]:
        known = sum(weight for _, other, _, weight in self.joined[key] if other in self.placed)
        return known, -len(self.joined[key])

    def improve(self, moved: set[str]) -> None:
        """Move items whose neighbours have ``moved`` to the best place there is for them, until none moves."""
        for _ in range(ROUNDS):
            fresh: set[str] = set()
            for key in self.items:
                if not (moved | fresh) & {key, *(link[1] for link in self.joined[key])}:
                    continue
                before = self.placed.pop(key)
                self._settle(key, before)
                after = self.placed[key]
                if (after.x, after.y, after.look) != (before.x, before.y, before.look):
                    fresh.add(key)
            moved = fresh
            if not moved:
                break

    def rebuild(self, radius: int) -> None:
        """Take up each item with those round it, put them down anew; keep that where the sheet gains."""
        cost = sheet_cost(self.placed, self.joints)
        for key in self.items:
            taken = self._round(key, radius)
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

    def _round(self, key: str, radius: int) -> list[str]:
        """The items up to ``radius`` joints away that may move; the largest stays, for all else hangs on it."""
        found = [key]
        for _ in range(radius):
            found += [link[1] for one in found for link in self.joined[one] if one != self.largest]
        return [one for one in dict.fromkeys(found) if one not in self.fixed and one != self.largest]

    def _settle(self, key: str, before: Placed | None = None) -> None:
        item = self.items[key]
        links = [link for link in self.joined[key] if link[1] in self.placed]
        at = before or next(iter(self.placed.values()))
        near = [self.placed[other].port(port) for _, other, port, _ in links] or [PortPlace(at.x, at.y, "N")]
        taken = self._taken({link[1] for link in links})
        reach = REACH
        best: tuple[int, Placed] | None = None
        while best is None or best[0] >= FORBIDDEN:
            span = _window(near, item, reach)
            if key in self.fixed and before is not None:
                span = np.array([before.x]), np.array([before.y])
            best = self._best(item, links, span, taken)
            if key in self.fixed:
                break
            reach += REACH
        self.placed[key] = best[1]

    def _taken(self, friends: set[str]) -> Boxes:
        """What has a place: left, top, right, bottom of each box, and how far others must keep from it."""
        rows = []
        for key, placed in self.placed.items():
            gap = self.gap * STEP if key in friends else (self.gap + 1) * STEP
            for at, box in enumerate(placed.boxes):
                rows.append((box.left, box.top, box.right, box.bottom, gap - 1.0 if at == 0 else LABEL_GAP))
        return np.array(rows, dtype=float).reshape(-1, 5)

    def _best(
        self, item: Item, links: list[_Link], span: tuple[Whole, Whole], taken: Boxes
    ) -> tuple[int, Placed]:
        """The best place within a window, over all ways the item can stand."""
        xs, ys = span
        found: list[tuple[int, int, Placed]] = []
        masks: dict[Box, Mask] = {}
        for order, look in enumerate(item.looks):
            across, down = np.zeros(len(xs), dtype=int), np.zeros(len(ys), dtype=int)
            for port, other, its_port, weight in links:
                level, upright = wire_cost(look.ports[port], self.placed[other].port(its_port), xs, ys)
                across += weight * level
                down += weight * upright
            if not links:
                across, down = np.abs(xs - xs[len(xs) // 2]), np.abs(ys - ys[len(ys) // 2])
            across, down = across - item.pull[0] * xs, down - item.pull[1] * ys
            total = across[np.newaxis, :] + down[:, np.newaxis] + 2 * look.dislike
            for at, box in enumerate(look.boxes):
                if box not in masks:
                    gaps = taken[:, 4] if at == 0 else LABEL_GAP
                    masks[box] = _covered(box, gaps, taken, xs, ys)
                total[masks[box]] = FORBIDDEN
            row, column = divmod(int(total.argmin()), len(xs))
            found.append((int(total[row, column]), order, Placed(item, look, int(xs[column]), int(ys[row]))))
        cost, _, placed = min(found, key=lambda one: one[:2])
        return cost, placed


def _covered(mine: Box, gaps: Boxes | float, taken: Boxes, xs: Whole, ys: Whole) -> Mask:
    """The places from which a box would cover, or stand too near, what has a place."""
    x, y = int(xs[0]), int(ys[0])
    mask = np.zeros((len(ys), len(xs)), dtype=bool)
    low = np.floor((taken[:, :2].T - gaps - [[mine.right], [mine.bottom]]) / STEP).astype(int) + [[1 - x], [1 - y]]
    high = np.ceil((taken[:, 2:4].T + gaps - [[mine.left], [mine.top]]) / STEP).astype(int) - [[x], [y]]
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
