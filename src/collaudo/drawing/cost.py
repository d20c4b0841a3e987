"""What places cost: length, bends and direction of the lines, crossings, lines through symbols."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from collaudo.drawing.items import Joint
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import AWAY, STEP
from collaudo.drawing.symbols import PortPlace

BEND = 5
"""A bend costs as much as so many steps of line."""
BACKWARD = 14
"""A port that must be left against the way it faces."""
CROSSING, COVERING = 16, 30
"""A crossing of lines, and a line through a symbol or label, in steps."""
LINK_WEIGHT, LINE_WEIGHT = 1, 2
"""How much a step of a link counts beside one of a line."""

Whole = NDArray[np.int_]


def wire_cost(mine: PortPlace, other: PortPlace, xs: Whole, ys: Whole) -> tuple[Whole, Whole]:
    """Length and bends of the line from my port, for my box beginning at each x and y: what each adds."""
    (ax, ay), (bx, by) = AWAY[mine.side], AWAY[other.side]
    dx = (int(other.x) + bx) - (xs + round(mine.x / STEP) + ax)
    dy = (int(other.y) + by) - (ys + round(mine.y / STEP) + ay)
    across, down = np.abs(dx), np.abs(dy)
    if (ax, ay) == (-bx, -by):  # face to face: leads may share their last step
        across += _opposite(dx * ax if ax else dx, along=bool(ax))
        down += _opposite(dy * ay if ay else dy, along=bool(ay))
    elif (ax, ay) == (bx, by):
        across += 2 * BEND
    else:
        if ax != bx:
            across += BACKWARD * (dx * (ax - bx) < 0)
        if ay != by:
            down += BACKWARD * (dy * (ay - by) < 0)
        across += BEND
    return across, down


def _opposite(ahead: Whole, *, along: bool) -> Whole:
    """Along the way two facing ports look: dear when behind; across it: two bends unless in line."""
    return 2 * BACKWARD * (ahead < -1) if along else 2 * BEND * (ahead != 0)


def sheet_cost(placed: Mapping[str, Placed], joints: Sequence[Joint]) -> int:
    """What the whole sheet costs, lines taken straight, round one corner or round two."""
    total = 2 * sum(one.look.dislike for one in placed.values())
    total -= sum(one.item.pull[0] * one.x + one.item.pull[1] * one.y for one in placed.values())
    pieces: list[tuple[int, int, int, int, int]] = []
    owners: dict[tuple[str, str], int] = {}
    for joint in joints:
        ends = [(joint.a.item, joint.a.port), (joint.b.item, joint.b.port)]
        a, b = (placed[item].port(port) for item, port in ends)
        level, upright = wire_cost(PortPlace(a.x * STEP, a.y * STEP, a.side), b, _ORIGIN, _ORIGIN)
        total += (LINE_WEIGHT if joint.kind == "line" else LINK_WEIGHT) * int(level[0] + upright[0])
        known = [owners[end] for end in ends if end in owners]
        net = known[0] if known else len(owners)
        for end in ends:
            owners.setdefault(end, net)
        points = _guess(a, b)
        pieces += [(*p, *q, net) for p, q in itertools.pairwise(points)]
    return total + CROSSING * _crossings(np.array(pieces)) + COVERING * _coverings(np.array(pieces), placed)


_ORIGIN = np.zeros(1, dtype=int)


def _guess(a: PortPlace, b: PortPlace) -> list[tuple[int, int]]:
    """A likely way between two ports: along how the first faces, then across."""
    ax, ay, bx, by = int(a.x), int(a.y), int(b.x), int(b.y)
    level_a, level_b = a.side in "EW", b.side in "EW"
    if level_a and level_b:
        middle = (ax + bx) // 2
        return [(ax, ay), (middle, ay), (middle, by), (bx, by)]
    if not level_a and not level_b:
        middle = (ay + by) // 2
        return [(ax, ay), (ax, middle), (bx, middle), (bx, by)]
    return [(ax, ay), (bx, ay) if level_a else (ax, by), (bx, by)]


def _crossings(pieces: Whole) -> int:
    """Level pieces that cross upright ones of another net."""
    level = pieces[(pieces[:, 1] == pieces[:, 3]) & (pieces[:, 0] != pieces[:, 2])]
    upright = pieces[(pieces[:, 0] == pieces[:, 2]) & (pieces[:, 1] != pieces[:, 3])]
    left, right = np.minimum(level[:, 0], level[:, 2]), np.maximum(level[:, 0], level[:, 2])
    top, bottom = np.minimum(upright[:, 1], upright[:, 3]), np.maximum(upright[:, 1], upright[:, 3])
    x, y = upright[:, 0], level[:, 1]
    meets = (left[:, None] <= x) & (x <= right[:, None]) & (top <= y[:, None]) & (y[:, None] <= bottom)
    return int(np.count_nonzero(meets & (level[:, 4:5] != upright[:, 4])))


def _coverings(pieces: Whole, placed: Mapping[str, Placed]) -> int:
    """Pieces that run through a symbol or a label."""
    boxes = np.array([(b.left, b.top, b.right, b.bottom) for item in placed.values() for b in item.boxes])
    xs, ys = STEP * pieces[:, 0:3:2], STEP * pieces[:, 1:4:2]
    through = (xs.min(axis=1)[:, None] < boxes[:, 2] - 1) & (xs.max(axis=1)[:, None] > boxes[:, 0] + 1)
    through &= (ys.min(axis=1)[:, None] < boxes[:, 3] - 1) & (ys.max(axis=1)[:, None] > boxes[:, 1] + 1)
    return int(np.count_nonzero(through))
