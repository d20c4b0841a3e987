"""From items and joints to a sheet: everything placed, every line routed, nothing on top of anything."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collaudo.drawing.cost import BEND, CROSSING
from collaudo.drawing.items import Item, Joint, Text
from collaudo.drawing.nets import Net, nets_of
from collaudo.drawing.place import mend, place
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, Box, around
from collaudo.drawing.routing import route_all
from collaudo.drawing.tidy import put_tidily, wandering

ROOM = 6
"""Steps kept free round everything before lines are routed."""
GAPS = (2, 3, 4)
"""Steps between symbols: wider where lines find no way."""
MENDS = 3
"""Times that what a line runs through is moved before gaps are widened."""
TIDIES = 4
"""Items at most that are put elsewhere because their lines wander."""
LOST = 10
"""How much worse a joint without a way is than a line through a symbol."""
CELL = 5
"""Steps from one column or row of a machine file's ``drawing`` to the next."""


@dataclass(frozen=True)
class Sheet:
    """What is drawn, in units, the upper left corner near (0, 0)."""

    placed: Mapping[str, Placed]
    nets: Sequence[Net]

    @property
    def box(self) -> Box:
        """Everything on it."""
        boxes = [box for one in self.placed.values() for box in one.boxes]
        boxes += [text.box for text in self.texts()]
        for net in self.nets:
            for stretch in net.stretches:
                xs, ys = zip(*stretch.points, strict=True)
                boxes.append(Box(min(xs), min(ys), max(xs), max(ys)))
        return around(boxes)

    def texts(self) -> list[Text]:
        """Every label, where it stands."""
        return [text for one in self.placed.values() for texts in texts_of(one).values() for text in texts]

    def symbols(self) -> dict[str, Box]:
        """The box of every symbol by item."""
        return {key: one.boxes[0] for key, one in self.placed.items()}


def texts_of(one: Placed) -> dict[str, list[Text]]:
    """Labels of a placed item by part: beside it, and within."""
    found = {part: list(texts) for part, texts in one.item.picture.texts.items()}
    found.setdefault(one.item.part, []).extend(one.look.label)
    return {part: [text.moved(one.x * STEP, one.y * STEP) for text in texts] for part, texts in found.items()}


def lay_out(
    items: Sequence[Item], joints: Sequence[Joint], places: Mapping[str, tuple[float, float]] | None = None
) -> Sheet:
    """Place and route; what a line runs through is moved, and gaps are widened where that does not help.

    ``places``: column and row of items whose place a machine file gives.
    """
    fixed = {item.key: _at_cell(item, *places[item.key]) for item in items if places and item.key in places}
    found: list[tuple[int, int, Sheet]] = []
    for gap in GAPS:
        sheet = _routed(place(items, joints, fixed, gap), joints)
        clean = not covered(sheet) and not lost(sheet)
        sheet = sheet if clean else _mended(sheet, joints, fixed, gap)
        found.append((*_rank(sheet), sheet))
        if not found[-1][0]:
            break
    return _tidied(min(found, key=lambda one: one[:2])[2], joints, fixed, gap)


def _tidied(sheet: Sheet, joints: Sequence[Joint], fixed: Mapping[str, tuple[int, int]], gap: int) -> Sheet:
    """The sheet with items whose lines wander put elsewhere, as far as that gains."""
    tried: set[str] = set()
    while len(tried) < TIDIES and not lost(sheet):
        keys = [key for key in wandering(sheet.nets, fixed) if key not in tried]
        if not keys:
            break
        tried.add(keys[0])
        moved = put_tidily(keys[0], sheet.nets, sheet.placed, joints, gap)
        if moved == sheet.placed:
            continue
        fresh = _mended(_routed(moved, joints), joints, fixed, gap)
        if _rank(fresh) < _rank(sheet):
            sheet = fresh
    return sheet


def _rank(sheet: Sheet) -> tuple[int, int]:
    """Faults, then untidiness: the lesser the better."""
    return len(covered(sheet)) + LOST * len(lost(sheet)), _untidiness(sheet)


def _mended(sheet: Sheet, joints: Sequence[Joint], fixed: Mapping[str, tuple[int, int]], gap: int) -> Sheet:
    """The sheet with what lines run through moved out of their way, as far as that goes."""
    for _ in range(MENDS):
        keys = [key for key in covered(sheet) if key not in fixed]
        if not keys:
            break
        lines = [line for net in sheet.nets for line in _pieces(net)]
        sheet = _routed(mend(sheet.placed, joints, keys, lines, gap), joints)
    return sheet


def _untidiness(sheet: Sheet) -> int:
    """Length of all lines in steps, with bends and crossings."""
    pieces = [(net.number, piece) for net in sheet.nets for piece in _pieces(net)]
    length = sum(max(piece.width, piece.height) for _, piece in pieces) / STEP
    crossings = sum(a.overlaps(b) for one, a in pieces for other, b in pieces if one < other)
    return int(length) + BEND * len(pieces) + CROSSING * crossings


def _at_cell(item: Item, column: float, row: float) -> tuple[int, int]:
    """Where an item begins whose middle a machine file puts at a column and row."""
    across, down = item.picture.width / STEP / 2, item.picture.height / STEP / 2
    return round(CELL * column - across), round(CELL * row - down)


def _routed(placed: Mapping[str, Placed], joints: Sequence[Joint]) -> Sheet:
    box = around([box for one in placed.values() for box in one.boxes])
    right, down = ROOM - int(box.left // STEP), ROOM - int(box.top // STEP)
    moved = {key: replace(one, x=one.x + right, y=one.y + down) for key, one in placed.items()}
    nets = nets_of(joints)
    route_all(nets, moved)
    return Sheet(moved, nets)


def covered(sheet: Sheet) -> list[str]:
    """Items that a line runs through, or through whose label."""
    boxes = [(key, box.grown(-1.0)) for key, one in sheet.placed.items() for box in one.boxes]
    lines = [line for net in sheet.nets for line in _pieces(net)]
    return list(dict.fromkeys(key for key, box in boxes if any(line.overlaps(box) for line in lines)))


def lost(sheet: Sheet) -> list[str]:
    """Joints for which no way was found."""
    return [key for net in sheet.nets for key, way in net.paths.items() if len(way) < 2]


def _pieces(net: Net) -> list[Box]:
    """The lines of a net as narrow boxes."""
    return [
        Box(min(ax, bx) - 0.5, min(ay, by) - 0.5, max(ax, bx) + 0.5, max(ay, by) + 0.5)
        for stretch in net.stretches
        for (ax, ay), (bx, by) in zip(stretch.points, stretch.points[1:], strict=False)
    ]
