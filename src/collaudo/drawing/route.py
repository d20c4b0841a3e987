"""Find right-angled ways for lines between placed items: short, with few bends and crossings.

Every net is a tree: its first joint goes from port to port, each further one from its port to wherever it
meets the tree. Nets may cross at right angles; they never share a stretch, and nobody bends on another's line.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collaudo.drawing.plane import STEP, Box

BEND, CROSS, TIGHT = 6, 12, 2
"""What a bend, a crossing and a step close beside another line cost, in steps."""
KEPT = 40
"""A step across the way out of another net's port."""
THROUGH = 400
"""A step through a symbol or label: only where there is no other way."""
Point = tuple[int, int]
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
        self.kept: dict[int, int] = {}
        """Points next to a port, kept for its net."""
        for box in obstacles:
            self._block(box)

    def keep(self, point: Point, net: int) -> None:
        """Keep the way out of a port for its net."""
        self.kept[point[1] * self.width + point[0]] = net

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

    def route(self, net: int, start: Terminal, goals: dict[Point, int | None]) -> list[Point]:
        """The way from a port to the nearest goal: a point, and the way it must be entered (None: any).

        Returns lattice points from the port's lead to the goal, empty where there is none.
        """
        width = self.width
        away = _WAY_OF[start.side]
        lead = start.lead
        first = (lead[1] * width + lead[0]) * 4 + away
        targets = {y * width + x: way for (x, y), way in goals.items()}
        left = min(x for x, _ in goals)
        right = max(x for x, _ in goals)
        top = min(y for _, y in goals)
        bottom = max(y for _, y in goals)
        best = {first: 0}
        came: dict[int, int] = {}
        heap = [(0, 0, first)]
        count = 0
        done: set[int] = set()
        while heap:
            _, _, state = heapq.heappop(heap)
            if state in done:
                continue
            done.add(state)
            node, way = divmod(state, 4)
            if node in targets and (targets[node] is None or targets[node] == way):
                return self._way_back(state, came)
            spent = best[state]
            y, x = divmod(node, width)
            crossing = self.across[node] and not self._own(node, net)
            for turn in (0, 1, 3):
                onward = (way + turn) % 4
                if crossing and turn:
                    continue
                step = self._step(node, x, y, onward, net)
                if step is None:
                    continue
                ahead, cost = step
                if turn:
                    cost += BEND
                fresh = ahead * 4 + onward
                total = spent + cost
                if total < best.get(fresh, 1 << 30):
                    best[fresh] = total
                    came[fresh] = state
                    ay, ax = divmod(ahead, width)
                    guess = max(left - ax, 0, ax - right) + max(top - ay, 0, ay - bottom)
                    count += 1
                    heapq.heappush(heap, (total + guess, count, fresh))
        return []

    def _own(self, node: int, net: int) -> bool:
        return self._net_at(node) == net

    def _net_at(self, node: int) -> int:
        for used, at in ((self.used_e, node), (self.used_s, node), (self.used_e, node - 1), (self.used_s, node - self.width)):
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
        if self.kept.get(ahead, net) != net:
            cost += KEPT
        if wall[low]:
            cost += THROUGH
        there = self.across[ahead]
        if there and self._net_at(ahead) != net:
            if there == 3 or there == (1 if dx else 2):
                return None
            cost += CROSS
        for beside in ((low - self.width, low + self.width) if dx else (low - 1, low + 1)):
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
        for a, b in zip(points, points[1:], strict=False):
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
