"""What a snapshot says of the lines on the sheet: which way they flow, how much, how warm."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collaudo.drawing.items import Text
from collaudo.drawing.letters import text_width
from collaudo.drawing.nets import Net, Stretch
from collaudo.drawing.plane import Box, around

if TYPE_CHECKING:
    from collaudo.twin.snapshot import Snapshot

BOUNDS_DEGC = (30.0, 50.0, 70.0, 85.0, 100.0, 115.0)
"""Where one colour of the scale ends and the next begins: classes ``t0`` to ``t6`` of the style sheet."""
LEAST_G_PER_S = 0.02
"""What flows less stands still: seats that leak within their measure."""
LABEL_SIZE = 11.0
APART = 5.0
"""From a line to what is written at it."""

FARTHER = (0.0, 14.0, 28.0)
"""How much farther, where there is no room."""

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Flow:
    """What passes a stretch, positive along its points."""

    flow_g_per_s: float
    temperature_degC: float
    steam_share: float
    air_share: float = 0.0

    @property
    def still(self) -> bool:
        """Whether nothing to speak of passes."""
        return abs(self.flow_g_per_s) < LEAST_G_PER_S

    @property
    def css(self) -> str:
        """Its classes: still, or flows and its colour."""
        return "still" if self.still else f"flows t{colour(self.temperature_degC)}"

    @property
    def text(self) -> str:
        """As it is written at the line."""
        amount = abs(self.flow_g_per_s)
        what = " steam" if self.steam_share > 0.5 else " air" if self.air_share > 0.5 else ""
        return f"{amount:.{1 if amount >= 0.95 else 2}f} g/s{what} {self.temperature_degC:.0f} °C"


def colour(temperature_degC: float) -> int:
    """Place of a temperature on the scale, from 0."""
    return bisect_right(BOUNDS_DEGC, temperature_degC)


def flows_of(nets: Sequence[Net], snapshot: Snapshot) -> dict[int, Flow]:
    """The flow of every stretch of lines, by the stretch's `id`."""
    found = {}
    for net in nets:
        for stretch in net.stretches:
            if stretch.kind == "line":
                found[id(stretch)] = _flow(stretch, snapshot)
    return found


def _flow(stretch: Stretch, snapshot: Snapshot) -> Flow:
    """Flows of all joints that use a stretch, added with their sense; the largest says how warm."""
    parts = [(way, snapshot.lines[int(key.removeprefix("line-"))]) for key, way in stretch.ways.items()]
    largest = max((line for _, line in parts), key=lambda line: abs(line.flow_g_per_s))
    total = sum(way * line.flow_g_per_s for way, line in parts)
    return Flow(total, largest.temperature_degC, largest.steam_share, largest.air_share)


def arrow(points: Points, sense: float) -> str:
    """Path data of an arrow head in the middle of the longest piece; empty where there is no room."""
    (ax, ay), (bx, by) = _longest(points)
    if abs(bx - ax) + abs(by - ay) < 18.0:
        return ""
    x, y = (ax + bx) / 2, (ay + by) / 2
    ahead = 1 if (bx + by > ax + ay) == (sense > 0) else -1
    if ay == by:
        return f"M{x + 7 * ahead:g} {y:g}L{x - 5 * ahead:g} {y - 5:g}V{y + 5:g}Z"
    return f"M{x:g} {y + 7 * ahead:g}L{x - 5:g} {y - 5 * ahead:g}H{x + 5:g}Z"


def _longest(points: Points) -> tuple[tuple[float, float], tuple[float, float]]:
    pieces = list(itertools.pairwise(points))
    return max(pieces, key=lambda piece: abs(piece[0][0] - piece[1][0]) + abs(piece[0][1] - piece[1][1]))


def flow_labels(nets: Sequence[Net], flows: Mapping[int, Flow], taken: Sequence[Box]) -> list[Text]:
    """What is written at lines: longest first, each text once where it repeats along a run of parts, and
    nowhere it would cover anything."""
    stretches = [
        one for net in nets for one in net.stretches if one.kind == "line" and not flows[id(one)].still
    ]
    stretches.sort(key=lambda one: -_length(one.points))
    busy = [*taken, *(box for net in nets for one in net.stretches for box in line_boxes(one.points))]
    labels: list[Text] = []
    told: set[str] = set()
    for stretch in stretches:
        words = flows[id(stretch)].text
        if words in told:
            continue
        about = around(line_boxes(stretch.points)).grown(text_width(words, LABEL_SIZE) + 2 * max(FARTHER))
        near = [box for box in busy if box.overlaps(about)]
        for text in (spot for away in FARTHER for spot in spots(stretch.points, words, away)):
            room = text.box.grown(3.0)
            if not any(room.overlaps(box) for box in near):
                labels.append(text)
                busy.append(text.box)
                told.add(words)
                break
    return labels


def _length(points: Points) -> float:
    (ax, ay), (bx, by) = _longest(points)
    return abs(ax - bx) + abs(ay - by)


def line_boxes(points: Points) -> list[Box]:
    """A line as narrow boxes."""
    return [
        Box(min(ax, bx) - 1, min(ay, by) - 1, max(ax, bx) + 1, max(ay, by) + 1)
        for (ax, ay), (bx, by) in itertools.pairwise(points)
    ]


def spots(points: Points, words: str, away: float = 0.0) -> list[Text]:
    """Places for a text beside the pieces of a way, the best first; all so much ``away`` from the best."""
    spots = []
    for (ax, ay), (bx, by) in sorted(itertools.pairwise(points), key=lambda p: -_length(p)):
        for share in (0.5, 0.3, 0.7, 0.15, 0.85):
            x, y = ax + share * (bx - ax), ay + share * (by - ay)
            if ay == by:
                spots += [
                    Text(words, x, y + dy, "middle", "label flow", LABEL_SIZE)
                    for dy in (-APART - 3 - away, 14.0 + away)
                ]
            else:
                spots += [
                    Text(words, x + dx, y + 4, anchor, "label flow", LABEL_SIZE)
                    for dx, anchor in ((APART + 3 + away, "start"), (-APART - 3 - away, "end"))
                ]
    return spots
