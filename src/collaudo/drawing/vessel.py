"""A vessel as a draughtsman draws it: as large as what it holds, level, tubes and elements inside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from collaudo.drawing.items import Picture, Text
from collaudo.drawing.letters import text_width
from collaudo.drawing.plane import STEP, Box
from collaudo.drawing.symbols import PortPlace

APART, FAR_APART = 5 * STEP, 6 * STEP
"""Between two ports on the top or the bottom; on a screen there is more room across, and larger words."""
EDGE = 2 * STEP
"""From a corner to the first port."""
TUBE, ELEMENT = 4 * STEP, 2 * STEP
"""Height that a tube through the vessel takes, and an element."""
NARROWEST = 13 * STEP
HEAT_ARROW, HEAT_SIZE = 20.0, 11.0
"""Length of an arrow of heat, and size of what is written at it."""
ELEMENT_END = 98.0
"""Where what is written at an element begins."""


@dataclass(frozen=True)
class Held:
    """Something in a vessel or at its wall: its ports by side, how it is drawn, what is written at it."""

    part: str
    way: str
    """tube: from wall to wall; element: from the left wall inward; standing: a tube that stands in it;
    feeler: from the top into the water; wall, top: touches it there."""
    ports: Mapping[str, str]
    label: tuple[str, ...] = ()
    heat: tuple[str, str] | None = None
    """Which way heat goes, out of it or in, and how much."""


def vessel_picture(
    part: str,
    label: Sequence[str],
    sides: Mapping[str, str],
    held: Sequence[Held],
    *,
    level: bool,
    apart: int = APART,
) -> Picture:
    """The picture of a vessel: ``sides`` gives for each joined port of its own the side it lies on,
    ``apart`` how far ports on the top or the bottom stand from one another, in units."""
    plan = _Plan(part, list(label), dict(sides), list(held), level, apart)
    return plan.picture()


class _Plan:
    """The rows of one vessel from top to bottom, filled one after another."""

    def __init__(
        self, part: str, label: list[str], sides: dict[str, str], held: list[Held], level: bool, apart: int
    ) -> None:
        self.part, self.label, self.sides, self.held, self.filled = part, label, sides, held, level
        self.apart = apart
        self.top = [f"{part}.{port}" for port, side in sides.items() if side == "N"]
        feelers = [key for thing in held for key, side in thing.ports.items() if side == "N"]
        self.top[:0] = feelers
        self.bottom = [f"{part}.{port}" for port, side in sides.items() if side == "S"]
        self.bottom += [key for thing in held for key, side in thing.ports.items() if side == "S"]
        most = max(len(self.top), len(self.bottom), 1)
        widest = max([text_width(", ".join(thing.label), bold=True) for thing in held], default=0.0)
        head = EDGE + apart * len(self.top) + text_width(", ".join(label[2:]))
        self.width = max(
            NARROWEST, 2 * EDGE + apart * (most - 1), ceil((ELEMENT_END + widest) / STEP + 1) * STEP
        )
        if head > self.width:
            self.width = ceil(head / STEP + 1) * STEP
        self.ports: dict[str, PortPlace] = {}
        self.shapes: dict[str, str] = {}
        self.texts: dict[str, tuple[Text, ...]] = {}

    def picture(self) -> Picture:
        """Lay the rows, then the shell round them."""
        for row, key in enumerate(self.top):
            self.ports[key] = PortPlace(EDGE + self.apart * row, 0.0, "N")
        rods = sum(thing.way == "feeler" for thing in self.held)
        x = EDGE + self.apart * rods - 16.0
        rows = [("label name", ", ".join(self.label[:2])), ("label", ", ".join(self.label[2:]))]
        self.texts[self.part] = tuple(
            Text(text, x, 20.0 + 16.0 * k, css=css) for k, (css, text) in enumerate(rows) if text
        )
        y = 3.0 * STEP
        level = y - 8.0
        for thing in self.held:
            if thing.way == "tube":
                y = self._tube(thing, y + STEP)
        y = self._own_sides(y)
        for thing in self.held:
            if thing.way in ("element", "wall", "standing"):
                y = self._at_wall(thing, y)
        height = y + STEP
        for thing in self.held:
            if thing.way == "feeler":
                self._feeler(thing, level)
        for row, key in enumerate(self.bottom):
            self.ports[key] = PortPlace(EDGE + self.apart * row, height, "S")
        self.shapes = {self.part: self._shell(height, level)} | self.shapes
        basin = Box(2.0, 2.0, self.width - 2.0, height - 2.0)
        return Picture(self.width, height, self.ports, self.shapes, self.texts, basins={self.part: basin})

    def _own_sides(self, y: float) -> float:
        """The vessel's own ports at left and right, lowest in the water."""
        left = [port for port, side in self.sides.items() if side == "W"]
        right = [port for port, side in self.sides.items() if side == "E"]
        for side, ports, x in (("W", left, 0.0), ("E", right, self.width)):
            for row, port in enumerate(ports):
                self.ports[f"{self.part}.{port}"] = PortPlace(x, y + EDGE * row, side)
        return y + EDGE * max(len(left), len(right), 1)

    def _tube(self, thing: Held, y: float) -> float:
        """A tube from wall to wall; two ports on one side lie at its upper and lower edge."""
        pieces = []
        for side, x, inner in (("W", 0.0, STEP), ("E", self.width, self.width - STEP)):
            keys = [key for key, where in thing.ports.items() if where == side]
            places = [y + EDGE / 2] if len(keys) == 1 else [y + EDGE * row for row in range(len(keys))]
            for key, place in zip(keys, places, strict=True):
                self.ports[key] = PortPlace(x, place, side)
                pieces.append(f'<path d="M{x:g} {place:g}H{inner:g}"/>')
        wide = self.width - 2 * STEP
        pieces.append(f'<rect class="paper" x="{STEP}" y="{y - 8:g}" width="{wide:g}" height="56" rx="14"/>')
        pieces.append(self._heat(thing, 3 * STEP, y + 48))
        self.shapes[thing.part] = "".join(pieces)
        self._write(thing, self.width / 2, y + STEP + 4, "middle")
        return y + TUBE

    def _at_wall(self, thing: Held, y: float) -> float:
        """An element through the left wall, a tube that stands inside, or what only touches a wall."""
        for key, side in thing.ports.items():
            self.ports[key] = PortPlace(0.0 if side == "W" else self.width, y, side)
        if thing.way == "element":
            strokes = "".join(f"M{x} {y - 7:g}v14" for x in (34, 48, 62, 76))
            self.shapes[thing.part] = (
                f'<path d="M0 {y:g}H20"/><rect class="paper" x="20" y="{y - 7:g}" width="70" height="14"/>'
                f'<path class="thin" d="{strokes}"/>{self._heat(thing, 41.0, y + 7)}'
            )
        elif thing.way == "standing":
            self.shapes[thing.part] = f'<path d="M50 {y + 14:g}V{y - 14:g}M60 {y + 14:g}V{y - 14:g}"/>'
        self._write(thing, ELEMENT_END, y + 4.0, "start")
        return y + ELEMENT

    def _feeler(self, thing: Held, level: float) -> None:
        """A rod from the top down to the water."""
        for key in (key for key, side in thing.ports.items() if side == "N"):
            x, tip = f"{self.ports[key].x:g}", f"{level + 6:g}"
            rod = f'<path d="M{x} 0V{tip}"/><circle class="solid" cx="{x}" cy="{tip}" r="2.5"/>'
            self.shapes[thing.part] = rod

    def _write(self, thing: Held, x: float, y: float, anchor: str) -> None:
        if thing.label:
            first = Text(", ".join(thing.label), x, y, anchor, "label name")
            self.texts[thing.part] = (first, *self.texts.get(thing.part, ()))

    def _heat(self, thing: Held, x: float, y: float) -> str:
        """A short arrow between the lower edge of a thing and the water, with how much goes."""
        if thing.heat is None:
            return ""
        way, amount = thing.heat
        if amount:
            self.texts[thing.part] = (Text(amount, x + 9, y + 15, css="label flow", size=HEAT_SIZE),)
        tip, ahead = (y + HEAT_ARROW, 1) if way == "out" else (y + 1, -1)
        foot = y + 1 if way == "out" else y + HEAT_ARROW
        return (
            f'<path class="heat" d="M{x:g} {foot:g}V{tip - 7 * ahead:g}"/>'
            f'<path class="heat-head" d="M{x:g} {tip:g}l-4.5 {-9 * ahead:g}h9Z"/>'
        )

    def _shell(self, height: float, level: float) -> str:
        shell = f'<rect class="paper heavy" width="{self.width:g}" height="{height:g}" rx="20"/>'
        if not self.filled:
            return shell
        x = self.width - 3 * STEP
        return (
            f'{shell}<path class="thin water-level" d="M2 {level:g}H{self.width - 2:g}'
            f'M{x - 7:g} {level + 5:g}h14M{x - 4:g} {level + 9:g}h8"/>'
            f'<path class="solid water-level" d="M{x - 6:g} {level - 9:g}h12l-6 9Z"/>'
        )
