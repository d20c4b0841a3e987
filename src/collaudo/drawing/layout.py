"""From items and joints to a sheet: everything placed, every line routed, nothing on top of anything."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collaudo.drawing.items import Item, Joint, Text
from collaudo.drawing.nets import Net, nets_of, route_all
from collaudo.drawing.place import place
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, Box, around

ROOM = 6
"""Steps kept free round everything before lines are routed."""
GAPS = (2, 3, 4)
"""Steps between symbols: wider where lines find no way."""
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
        return [text for one in self.placed.values() for text in texts_of(one)]

    def symbols(self) -> dict[str, Box]:
        """The box of every symbol by item."""
        return {key: one.boxes[0] for key, one in self.placed.items()}


def texts_of(one: Placed) -> list[Text]:
    """Labels of a placed item: beside it, and within."""
    within = [text for texts in one.item.picture.texts.values() for text in texts]
    return [text.moved(one.x * STEP, one.y * STEP) for text in (*one.look.label, *within)]


def lay_out(
    items: Sequence[Item], joints: Sequence[Joint], places: Mapping[str, tuple[float, float]] | None = None
) -> Sheet:
    """Place and route; with wider gaps where a line would run through a symbol or label.

    ``places``: column and row of items whose place a machine file gives.
    """
    fixed = {
        item.key: _at_cell(item, *places[item.key]) for item in items if places and item.key in places
    }
    best: tuple[int, Sheet] | None = None
    for gap in GAPS:
        sheet = _routed(place(items, joints, fixed, gap), joints)
        faults = covered(sheet)
        if best is None or faults < best[0]:
            best = faults, sheet
        if not faults:
            break
    if best is None:  # never: there is at least one gap
        raise AssertionError
    return best[1]


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


def covered(sheet: Sheet) -> int:
    """How many pieces of line run through a symbol or a label."""
    boxes = list(sheet.symbols().values()) + [text.box for one in sheet.placed.values() for text in one.look.label]
    count = 0
    for net in sheet.nets:
        for stretch in net.stretches:
            for (ax, ay), (bx, by) in zip(stretch.points, stretch.points[1:], strict=False):
                piece = Box(min(ax, bx) - 0.5, min(ay, by) - 0.5, max(ax, bx) + 0.5, max(ay, by) + 0.5)
                count += sum(piece.overlaps(box.grown(-1.0)) for box in boxes)
    return count
