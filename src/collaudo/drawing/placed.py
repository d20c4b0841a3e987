"""An item that has its place on the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from collaudo.drawing.items import Item, Look
from collaudo.drawing.plane import STEP, Box
from collaudo.drawing.symbols import PortPlace


@dataclass(frozen=True)
class Placed:
    """An item on the sheet: where its box begins, in steps, and how it stands."""

    item: Item
    look: Look
    x: int
    y: int

    def port(self, key: str) -> PortPlace:
        """Where a port lies on the sheet, in steps."""
        place = self.look.ports[key]
        return PortPlace(self.x + round(place.x / STEP), self.y + round(place.y / STEP), place.side)

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """What it covers, in units: the symbol first, then its label."""
        return tuple(box.moved(self.x * STEP, self.y * STEP) for box in self.look.boxes)
