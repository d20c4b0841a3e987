"""Heat drawn as dotted arrows: along what joins two parts, or out of a part into the room.

What goes between a vessel and what it holds is drawn with the vessel (`vessel.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from collaudo.drawing.flows import LABEL_SIZE, arrow, line_boxes, spots
from collaudo.drawing.heat import ROOM, Ways
from collaudo.drawing.items import Joint, Text
from collaudo.drawing.layout import Sheet
from collaudo.drawing.plane import AWAY, STEP, Box, around
from collaudo.drawing.svg import number, path_of, text_svg
from collaudo.drawing.water import spoken

LENGTH = 28.0
"""Of an arrow into the room."""
CLEAR = 3.0
"""Kept free round it."""
HEAD = 7.0
NEAR = 20
"""Words farther from their part name it."""

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class HeatArrow:
    """One way of heat on the sheet: a line with its head, and how much; without a line only written."""

    giver: str
    taker: str
    points: tuple[tuple[float, float], ...]
    head: str
    """As path data."""
    text: Text

    @property
    def box(self) -> Box:
        """The room it takes."""
        if not self.points:
            return self.text.box
        xs, ys = zip(*self.points, strict=True)
        boxes = [Box(min(xs) - 6, min(ys) - 6, max(xs) + 6, max(ys) + 6)]
        return around([*boxes, self.text.box] if self.text.text else boxes)

    def svg(self) -> str:
        """As SVG."""
        line = f'<path class="heat" d="{path_of(self.points)}"/>' if self.points else ""
        head = f'<path class="heat-head" d="{self.head}"/>' if self.head else ""
        return f'<g class="heat-way">{line}{head}{text_svg(self.text) if self.text.text else ""}</g>'


def heat_arrows(sheet: Sheet, ways: Ways) -> tuple[list[HeatArrow], Ways]:
    """Arrows of all ways, or words, and the ways for which there is no room."""
    holder = {
        part: key for key, one in sheet.placed.items() for part in one.item.picture.shapes if key != ROOM
    }
    lines = [box for net in sheet.nets for one in net.stretches for box in line_boxes(one.points)]
    symbols = [one.boxes[0] for one in sheet.placed.values()]
    busy = [*symbols, *lines, *(text.box for text in sheet.texts())]
    found: list[HeatArrow] = []
    left: dict[tuple[str, str], str] = {}
    for (giver, taker), amount in ways.items():
        mine, other = holder.get(giver), holder.get(taker)
        if mine is None or (taker != ROOM and (other is None or other == mine)):
            continue  # not on this sheet, or drawn within the vessel
        drawn = (
            _into_room(giver, sheet.placed[mine].boxes[0], amount, busy)
            if taker == ROOM or other is None
            else _along(sheet, (giver, taker), (mine, other), amount, busy)
        )
        drawn = drawn or _written((giver, taker), sheet.placed[mine].boxes[0], amount, busy)
        if drawn is None:
            left[giver, taker] = amount
        else:
            found.append(drawn)
            busy.append(drawn.box if taker == ROOM else drawn.text.box)
    return found, left


def _along(
    sheet: Sheet, way: tuple[str, str], items: tuple[str, str], amount: str, busy: Sequence[Box]
) -> HeatArrow | None:
    """Along the link that joins two items."""
    for net in sheet.nets:
        for joint in net.joints:
            if joint.kind != "link" or not _joins(joint, *items):
                continue
            points = net.paths[joint.key]
            if joint.a.item != items[0]:
                points = points[::-1]
            head = arrow(points, 1.0)
            for text in spots(points, amount):
                if not amount or not any(text.box.grown(CLEAR).overlaps(box) for box in busy):
                    return HeatArrow(*way, points, head, text)
    return None


def _joins(joint: Joint, one: str, other: str) -> bool:
    return {joint.a.item, joint.b.item} == {one, other}


def _into_room(giver: str, box: Box, amount: str, busy: Sequence[Box]) -> HeatArrow | None:
    """A short arrow out of a box where nothing else stands."""
    for x, y, side in _edges(box):
        dx, dy = AWAY[side]
        tip = (x + LENGTH * dx, y + LENGTH * dy)
        anchor = {"E": "start", "W": "end"}.get(side, "middle")
        below = {"N": -5.0, "S": 13.0}.get(side, 4.0)
        text = Text(amount, tip[0] + 5 * dx, tip[1] + below, anchor, "label flow", LABEL_SIZE)
        start = (x + CLEAR * dx, y + CLEAR * dy)
        drawn = HeatArrow(
            giver, ROOM, (start, (tip[0] - HEAD * dx, tip[1] - HEAD * dy)), _head(tip, side), text
        )
        room = around([drawn.box.moved(CLEAR * dx, CLEAR * dy), Box(*tip, *tip)])
        if not any(room.overlaps(other) for other in busy if other is not box):
            return drawn
    return None


def _written(way: tuple[str, str], box: Box, amount: str, busy: Sequence[Box]) -> HeatArrow | None:
    """In words near a box where there is no room for an arrow, or nothing that one could follow."""
    for away in range(5, 140, 15):
        giver = f"{spoken(way[0])} " if away > NEAR else ""
        words = f"{giver}→ {spoken(way[1])} {amount}".rstrip()
        for x, y, side in _edges(box.grown(away)):
            anchor = {"E": "start", "W": "end"}.get(side, "middle")
            below = {"N": 0.0, "S": 9.0}.get(side, 4.0)
            text = Text(words, x, y + below, anchor, "label flow", LABEL_SIZE)
            if not any(text.box.grown(2.0).overlaps(other) for other in busy):
                return HeatArrow(*way, (), "", text)
    return None


def _head(tip: tuple[float, float], side: str) -> str:
    """A head with its tip at a place, pointing away from a side."""
    (x, y), (dx, dy) = tip, AWAY[side]
    a, b = ((x - 10 * dx + 4.5 * dy * s, y - 10 * dy + 4.5 * dx * s) for s in (1, -1))
    return f"M{number(x)} {number(y)}L{number(a[0])} {number(a[1])}L{number(b[0])} {number(b[1])}Z"


def _edges(box: Box) -> Iterator[tuple[float, float, str]]:
    """Places on the edges of a box, from the middle of each outward: right, below, above, left."""
    for side in "ESNW":
        length = box.height if side in "EW" else box.width
        for at in sorted(range(10, int(length) - 9, STEP // 2), key=lambda at: abs(at - length / 2)):
            if side in "EW":
                yield (box.right if side == "E" else box.left), box.top + at, side
            else:
                yield box.left + at, (box.top if side == "N" else box.bottom), side
