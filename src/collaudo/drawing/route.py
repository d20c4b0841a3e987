"""Find right-angled ways for lines between placed items: short, with few bends and crossings.

Every net is a tree: its first joint goes from port to port, each further one from its port to where it
meets the tree. Nets may cross at right angles; they never share a stretch, and none bends on another's line.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collaudo.drawing.nets import Point
from collaudo.drawing.plane import STEP, Box

BEND, CROSS, TIGHT, KEPT = 6, 12, 2, 4
"""What a bend, a crossing, a step beside another line and one across a port's way out cost, in steps."""
EARLY = 3
"""A bend at once behind the port, where it shuts the way for others."""
FAR = 1 << 30
DOUBT = 1000
"""States after which a search asks whether its goals are shut in."""
THROUGH = 12
"""A step through a symbol or label, tried only where there is no other way."""
FREE, EDGE = -1, -2
"""Of a stretch: no net's, and beyond the lattice."""
_TURNS = ((0, 1, 3), (1, 2, 0), (2, 3, 1), (3, 0, 2))
"""Of each way: straight on, to the right, to the left."""
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
    """The least a way to any of some goals can cost: the distance to the box round them, and the bends."""

    def __init__(self, goals: set[Point], width: int, height: int) -> None:
        self.width = width
        self.across = _offsets([x for x, _ in goals], width)
        self.down = _offsets([y for _, y in goals], height)

    def at(self, state: int) -> int:
        """From one point, gone on from in one way."""
        node, way = state >> 2, state & 3
        x, y = self.across[node % self.width], self.down[node // self.width]
        along, aside = (y, x) if way & 1 else (x, y)
        if way > 1:
            along = -along
        return abs(x) + abs(y) + (2 * BEND if along < 0 else BEND if aside else 0)


def _offsets(goals: Sequence[int], count: int) -> list[int]:
    """Of each place how far the span of the goals lies ahead of it (behind: less than 0)."""
    low, high = min(goals), max(goals)
    return [low - at if at < low else min(high - at, 0) for at in range(count)]


class Router:
    """The lattice with what stands on it, and the trees of all nets."""

    def __init__(self, width: int, height: int, obstacles: Iterable[Box]) -> None:
        self.width, self.height = width, height
        size = width * height
        self.wall_e, self.wall_s = bytearray(size), bytearray(size)
        self.used_e, self.used_s = [FREE] * size, [FREE] * size
        self.across: list[int] = [0] * size
        """Of each point: 1 a line passes level, 2 upright, 3 it is a corner, an end or a crossing."""
        self.owner = [FREE] * size
        """Of each point: the net that passes there."""
        self.points: dict[int, set[Point]] = {}
        self.kept: dict[int, tuple[int, int]] = {}
        """Points next to a port, kept for its net; 0 where its line leaves level, 1 upright."""
        self.deltas = (1, width, -1, -width)
        for y in range(height):
            self.used_e[y * width + width - 1] = EDGE
        for x in range(width):
            self.used_s[(height - 1) * width + x] = EDGE
        for box in obstacles:
            self._block(box)

    def keep(self, port: Terminal, net: int) -> None:
        """Keep the way out of a port for its net: others may cross it, no more."""
        x, y = port.lead
        self.kept[y * self.width + x] = net, _WAY_OF[port.side] % 2

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
        return self._search(net, start, goals, 0) or self._search(net, start, goals, THROUGH)

    def _search(self, net: int, start: Terminal, goals: set[Point], through: int) -> list[Point]:
        """The way as far as it need not cost ``through`` for each step in a box; 0: never in one."""
        targets = {y * self.width + x for x, y in goals}
        guess = _Guess(goals, self.width, self.height).at
        lead = start.lead
        first = (lead[1] * self.width + lead[0]) * 4 + _WAY_OF[start.side]
        best = {first: 0}
        came: dict[int, int] = {}
        heap = [(guess(first), 0, first)]
        count = 0
        done: set[int] = set()
        while heap:
            state = heapq.heappop(heap)[2]
            if state in done:
                continue
            done.add(state)
            if state >> 2 in targets:
                return self._way_back(state, came)
            if len(done) == DOUBT and self._shut(net, targets, through):
                break
            reached = best[state]
            for fresh, cost in self._onward(state, net, first, through):
                total = reached + cost
                if total < best.get(fresh, FAR):
                    best[fresh] = total
                    came[fresh] = state
                    count -= 1  # of equally good ones the latest: it is the farthest on
                    heapq.heappush(heap, (total + guess(fresh), count, fresh))
        return []

    def flood(self, net: int, start: Terminal, limit: int) -> dict[int, int]:
        """What it costs to come from a port to every state (point and way), as far as ``limit``."""
        lead = start.lead
        first = (lead[1] * self.width + lead[0]) * 4 + _WAY_OF[start.side]
        best = {first: 0}
        heap = [(0, first)]
        while heap:
            reached, state = heapq.heappop(heap)
            if reached > best[state]:
                continue
            for fresh, cost in self._onward(state, net, first, 0):
                total = reached + cost
                if total < best.get(fresh, limit):
                    best[fresh] = total
                    heapq.heappush(heap, (total, fresh))
        return best

    def _shut(self, net: int, goals: Iterable[int], through: int) -> bool:
        """Whether nothing but a few points can be come to from the goals, so that no way leads there."""
        reached = [goal * 4 + way for goal in goals for way in range(4)]
        seen = set(reached)
        for state in reached:
            fresh = [other for other, _ in self._onward(state, net, -1, through) if other not in seen]
            seen.update(fresh)
            reached += fresh
            if len(seen) > DOUBT:
                return False
        return True

    def _onward(self, state: int, net: int, first: int, through: int) -> list[tuple[int, int]]:
        """States (point and way) that can be come to from one, and what each step costs."""
        node, way = state >> 2, state & 3
        kept, owner, found = self.kept, self.owner, []
        held = kept.get(node)
        straight = (self.across[node] and owner[node] != net) or (held and held[0] != net)
        for onward in (way,) if straight else _TURNS[way]:
            upright = onward & 1
            ahead = node + self.deltas[onward]
            low = node if onward < 2 else ahead
            used = self.used_s if upright else self.used_e
            if low < 0 or (used[low] != FREE and used[low] != net):
                continue
            cost = 1 if onward == way else 1 + BEND + (EARLY if state == first else 0)
            held = kept.get(ahead)
            if held and held[0] != net:
                if held[1] == upright:
                    continue
                cost += KEPT
            if (self.wall_s if upright else self.wall_e)[low]:
                if not through:
                    continue
                cost += through
            there = self.across[ahead]
            if there and owner[ahead] != net:
                own = held and held[0] == net and held[1] == upright  # the way out of its port, crossed
                if not own and there in (3, 1 + upright):
                    continue
                cost += CROSS
            aside = 1 if upright else self.width
            for beside in (low - aside, low + aside):
                if 0 <= beside < len(used) and used[beside] >= 0 and used[beside] != net:
                    cost += TIGHT
            found.append((ahead * 4 + onward, cost))
        return found

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
        west = self.used_e[at - 1] if point[0] else FREE
        north = self.used_s[at - self.width] if point[1] else FREE
        owners = [owner for owner in (east, south, west, north) if owner >= 0]
        self.owner[at] = owners[0] if owners else FREE
        if not owners:
            self.across[at] = 0
        elif east == west >= 0 and len(owners) == 2:
            self.across[at] = 1
        elif south == north >= 0 and len(owners) == 2:
            self.across[at] = 2
        else:
            self.across[at] = 3
