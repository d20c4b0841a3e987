"""What is put on the sheet: pictures with ports and labels (items), and what joins them (joints)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from collaudo.drawing.letters import ABOVE, BELOW, LINE, SIZE, text_width, wrapped
from collaudo.drawing.plane import UPRIGHT, Box, Stance, around
from collaudo.drawing.symbols import PortPlace

LABEL_WIDTH, SIDE_WIDTH = 64.0, 72.0
"""Widest line of a label above or below a symbol, and at its left or right."""
_AGAINST = {"E": 0, "S": 1, "N": 3, "W": 3}
"""Water is read from left to right and downward: what another way out costs."""
CLOSE = 4.0
"""From a symbol to its label."""


@dataclass(frozen=True)
class Text:
    """One line of text: its foot's place, where that lies in the line (start, middle, end), its class."""

    text: str
    x: float
    y: float
    anchor: str = "start"
    css: str = "label"
    size: float = SIZE

    @property
    def box(self) -> Box:
        """The room it takes."""
        width = text_width(self.text, self.size, bold="name" in self.css or "head" in self.css)
        left = self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return Box(left, self.y - ABOVE * self.size, left + width, self.y + BELOW * self.size)

    def moved(self, x: float, y: float) -> Text:
        """The same text elsewhere."""
        return Text(self.text, self.x + x, self.y + y, self.anchor, self.css, self.size)


@dataclass(frozen=True)
class Picture:
    """A symbol, or a vessel with what it holds: size, ports, and for each part the shapes that show it."""

    width: float
    height: float
    ports: Mapping[str, PortPlace]
    shapes: Mapping[str, str]
    """Part to SVG elements, in the picture's own coordinates."""
    texts: Mapping[str, tuple[Text, ...]] = field(default_factory=dict)
    """Labels that stand within."""
    letters: tuple[tuple[str, float, float], ...] = ()
    """Letters in the symbol, which stay upright however it stands: text, and the middle of it."""
    stances: Sequence[Stance] = (UPRIGHT,)
    basins: Mapping[str, Box] = field(default_factory=dict)
    """Of parts that stand partly filled, where their water can stand; their first shape is the wall."""


@dataclass(frozen=True)
class Look:
    """One way an item can stand: a stance, the ports it gives, a place for its label."""

    stance: Stance
    width: float
    height: float
    ports: Mapping[str, PortPlace]
    label: tuple[Text, ...]
    dislike: int = 0
    """What it costs beside a look that reads better, in steps of line."""

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """What must be kept free: the symbol, and its label."""
        symbol = Box(0.0, 0.0, self.width, self.height)
        return (symbol, around([text.box for text in self.label])) if self.label else (symbol,)


@dataclass(frozen=True)
class Item:
    """Something to be placed, and the ways it can stand."""

    key: str
    part: str
    picture: Picture
    looks: tuple[Look, ...]
    used: tuple[str, ...] = ()
    """Ports that something is joined to."""
    anchor: bool = False
    """Placed first, for the rest hangs on it: a vessel."""
    pull: tuple[int, int] = (0, 0)
    """Where it would rather be: rightward, downward; each step gains so much."""


@dataclass(frozen=True)
class End:
    """One end of a joint: an item and a port of its picture."""

    item: str
    port: str


@dataclass(frozen=True)
class Joint:
    """A line, wire or link between two ends; joints that share an end form one net."""

    key: str
    a: End
    b: End
    kind: str = "line"
    """line, wire, link (what feels or moves something), heat."""


def looks_of(
    picture: Picture, name: str, more: Sequence[str] = (), used: Sequence[str] = ()
) -> tuple[Look, ...]:
    """Every way a picture can stand with its label on a side that no used port needs."""
    found = []
    for turn, stance in enumerate(picture.stances):
        width, height = stance.size(picture.width, picture.height)
        ports = {
            key: PortPlace(
                *stance.point(place.x, place.y, picture.width, picture.height), stance.side(place.side)
            )
            for key, place in picture.ports.items()
        }
        busy = {ports[key].side for key in used if key in ports}
        sides = [side for side in "SNEW" if side not in busy][:2] or ["S"]
        for order, side in enumerate(sides):
            label = label_at(side, width, height, name, more)
            dislike = order + (turn > 0) + (_AGAINST[ports["out"].side] if "out" in ports else 0)
            found.append(Look(stance, width, height, ports, label, dislike))
    return tuple(found)


def label_at(
    side: str, width: float, height: float, name: str, more: Sequence[str] = (), widest: float = 0.0
) -> tuple[Text, ...]:
    """The lines of a label on one side of a box: the name, then what else is said."""
    if not name:
        return ()
    lines = wrapped(name, widest or (LABEL_WIDTH if side in "NS" else SIDE_WIDTH), bold=True)
    words = [(line, "label name") for line in lines] + [(line, "label") for line in more]
    tall = LINE * (len(words) - 1)
    x, y, anchor = {
        "S": (width / 2, height + CLOSE + ABOVE * SIZE, "middle"),
        "N": (width / 2, -CLOSE - BELOW * SIZE - tall, "middle"),
        "E": (width + CLOSE, (height - tall) / 2 + 0.35 * SIZE, "start"),
        "W": (-CLOSE, (height - tall) / 2 + 0.35 * SIZE, "end"),
    }[side]
    return tuple(Text(text, x, y + LINE * k, anchor, css) for k, (text, css) in enumerate(words))
