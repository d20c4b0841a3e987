"""An item that has its place on the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from collaudo.drawing.items import Item, Look
from collaudo.drawing.plane import AWAY, STEP, Box
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
        return self._ports[key]

    @cached_property
    def _ports(self) -> dict[str, PortPlace]:
        return {
            key: PortPlace(self.x + round(place.x / STEP), self.y + round(place.y / STEP), place.side)
            for key, place in self.look.ports.items()
        }

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """What it covers, in units: the symbol first, then its label."""
        return tuple(box.moved(self.x * STEP, self.y * STEP) for box in self.look.boxes)

    @cached_property
    def edges(self) -> list[tuple[float, float, float, float]]:
        """The same as left, top, right and bottom."""
        return [(box.left, box.top, box.right, box.bottom) for box in self.boxes]

    @cached_property
    def leads(self) -> dict[tuple[int, int], str]:
        """The lattice points one step out of its ports, where their lines begin."""
        found = {}
        for key in self.item.used:
            place = self.port(key)
            dx, dy = AWAY[place.side]
            found[int(place.x) + dx, int(place.y) + dy] = key
        return found
