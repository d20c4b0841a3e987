"""Find right-angled ways for lines between placed items: short, with few bends and crossings.

Every net is a tree: its first joint goes from port to port, each further one from its port to where it
meets the tree. Nets may cross at right angles; they never share a stretch, and none bends on another's line.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from collaudo.drawing.nets import Point
from collaudo.drawing.plane import STEP, Box

BEND, CROSS, TIGHT, KEPT = 6, 12, 2, 4
"""What a bend, a crossing, a step beside another line and one across a port's way out cost, in steps."""
EARLY = 3
"""A bend at once behind the port, where it shuts the way for others."""
FAR = 1 << 30
THROUGH = 400
"""A step through a symbol or label: only where there is no other way."""
_WAYS = ((1, 0), (0, 1), (-1, 0), (0, -1))
_WAY_OF = {"E": 0, "S": 1, "W": 2, "N": 3}


@dataclass(frozen=True)
class Terminal:
    """A port on the lattice and the side it faces."""

    x: int
    y: int
    side: str

    @property
    def lead(self) -> Point:
        """The lattice point one step out of the port."""
        dx, dy = _WAYS[_WAY_OF[self.side]]
        return self.x + dx, self.y + dy


class _Guess:
    """The least a way to any of some goals can cost: the distance to the box round them."""

    def __init__(self, goals: set[Point], width: int) -> None:
        self.width = width
        xs, ys = [x for x, _ in goals], [y for _, y in goals]
        self.left, self.right, self.top, self.bottom = min(xs), max(xs), min(ys), max(ys)

    def at(self, node: int) -> int:
        """From one point."""
        y, x = divmod(node, self.width)
        return max(self.left - x, 0, x - self.right) + max(self.top - y, 0, y - self.bottom)


class Router:
    """The lattice with what stands on it, and the trees of all nets."""

    def __init__(self, width: int, height: int, obstacles: Iterable[Box]) -> None:
        self.width, self.height = width, height
        size = width * height
        self.wall_e, self.wall_s = bytearray(size), bytearray(size)
        self.used_e, self.used_s = [-1] * size, [-1] * size
        self.across: list[int] = [0] * size
        """Of each point: 1 a line passes level, 2 upright, 3 it is a corner, an end or a crossing."""
        self.points: dict[int, set[Point]] = {}
        self.kept: dict[int, tuple[int, int]] = {}
        """Points next to a port, kept for its net; 0 where its line leaves level, 1 upright."""
        for box in obstacles:
            self._block(box)

    def keep(self, port: Terminal, net: int) -> None:
        """Keep the way out of a port for its net: others may cross it, no more."""
        x, y = port.lead
        self.kept[y * self.width + x] = net, _WAY_OF[port.side] % 2

    def _others(self, node: int, net: int) -> bool:
        """Whether a point can only be crossed: another net passes there, or will."""
        kept = self.kept.get(node)
        return bool(self.across[node] and self._net_at(node) != net) or bool(kept and kept[0] != net)

    def _block(self, box: Box) -> None:
        """Close every stretch that would touch a box."""
        left, right = box.left / STEP, box.right / STEP
        top, bottom = box.top / STEP, box.bottom / STEP
        for y in range(max(0, int(top) - 1), min(self.height, int(bottom) + 2)):
            for x in range(max(0, int(left) - 1), min(self.width, int(right) + 2)):
                if x + 1 >= left and x <= right and top <= y <= bottom:
                    self.wall_e[y * self.width + x] = 1
                if y + 1 >= top and y <= bottom and left <= x <= right:
                    self.wall_s[y * self.width + x] = 1

    def route(self, net: int, start: Terminal, goals: set[Point]) -> list[Point]:
        """The way from a port to the nearest goal, from the port's lead on; empty where there is none."""
        targets = {y * self.width + x for x, y in goals}
        guess = _Guess(goals, self.width)
        lead = start.lead
        first = (lead[1] * self.width + lead[0]) * 4 + _WAY_OF[start.side]
        best = {first: 0}
        came: dict[int, int] = {}
        heap = [(0, 0, first)]
        count = 0
        done: set[int] = set()
        while heap:
            state = heapq.heappop(heap)[2]
            if state in done:
                continue
            done.add(state)
            if state // 4 in targets:
                return self._way_back(state, came)
            for fresh, cost in self._onward(state, net, first):
                total = best[state] + cost
                if total < best.get(fresh, FAR):
                    best[fresh] = total
                    came[fresh] = state
                    count += 1
                    heapq.heappush(heap, (total + guess.at(fresh // 4), count, fresh))
        return []

    def _onward(self, state: int, net: int, first: int) -> Iterator[tuple[int, int]]:
        """States (point and way) that can be come to from one, and what each step costs."""
        node, way = divmod(state, 4)
        y, x = divmod(node, self.width)
        for turn in (0,) if self._others(node, net) else (0, 1, 3):
            onward = (way + turn) % 4
            step = self._step(node, x, y, onward, net)
            if step is not None:
                bend = BEND + (EARLY if state == first else 0) if turn else 0
                yield step[0] * 4 + onward, step[1] + bend

    def _net_at(self, node: int) -> int:
        for used, at in (
            (self.used_e, node),
            (self.used_s, node),
            (self.used_e, node - 1),
            (self.used_s, node - self.width),
        ):
            if at >= 0 and used[at] >= 0:
                return used[at]
        return -1

    def _step(self, node: int, x: int, y: int, way: int, net: int) -> tuple[int, int] | None:
        """The next point that way and what going there costs; None where it cannot be gone."""
        dx, dy = _WAYS[way]
        nx, ny = x + dx, y + dy
        if not (0 <= nx < self.width and 0 <= ny < self.height):
            return None
        ahead = ny * self.width + nx
        low = min(node, ahead)
        used, wall = (self.used_e, self.wall_e) if dx else (self.used_s, self.wall_s)
        if used[low] >= 0 and used[low] != net:
            return None
        cost = 1
        kept = self.kept.get(ahead)
        if kept and kept[0] != net:
            if kept[1] == way % 2:
                return None
            cost += KEPT
        if wall[low]:
            cost += THROUGH
        there = self.across[ahead]
        if there and self._net_at(ahead) != net:
            if there in {3, 1 if dx else 2}:
                return None
            cost += CROSS
        for beside in (low - self.width, low + self.width) if dx else (low - 1, low + 1):
            if 0 <= beside < len(used) and used[beside] >= 0 and used[beside] != net:
                cost += TIGHT
        return ahead, cost

    def _way_back(self, state: int, came: dict[int, int]) -> list[Point]:
        way = [state // 4]
        while state in came:
            state = came[state]
            way.append(state // 4)
        return [(node % self.width, node // self.width) for node in reversed(way)]

    def occupy(self, net: int, points: Sequence[Point]) -> None:
        """Note a way as used by a net."""
        for a, b in itertools.pairwise(points):
            low = min(a[1] * self.width + a[0], b[1] * self.width + b[0])
            used = self.used_e if a[1] == b[1] else self.used_s
            used[low] = net
        self.points.setdefault(net, set()).update(points)
        for point in points:
            self._mark(point)

    def release(self, net: int) -> None:
        """Forget the ways of a net; what it crossed passes straight again."""
        points = self.points.pop(net, set())
        for x, y in points:
            at = y * self.width + x
            for used in (self.used_e, self.used_s):
                if used[at] == net:
                    used[at] = -1
        for point in points:
            self._mark(point)

    def _mark(self, point: Point) -> None:
        at = point[1] * self.width + point[0]
        east, south = self.used_e[at], self.used_s[at]
        west = self.used_e[at - 1] if point[0] else -1
        north = self.used_s[at - self.width] if point[1] else -1
        level = east >= 0 and east == west
        upright = south >= 0 and south == north
        count = sum(owner >= 0 for owner in (east, south, west, north))
        if not count:
            self.across[at] = 0
        elif level and count == 2:
            self.across[at] = 1
        elif upright and count == 2:
            self.across[at] = 2
        else:
            self.across[at] = 3
