"""The sheet as a plane: boxes, sides, and the eight ways a symbol can stand.

One unit is a quarter of a millimetre on paper. Symbols, ports and lines lie on a lattice of `STEP` units.
"""

from __future__ import annotations

from dataclasses import dataclass

STEP = 20
"""Units between two lines of the lattice: 5 mm on paper."""

SIDES = "NESW"
"""Sides of a box, clockwise: a quarter turn moves each to the next."""

AWAY = {"N": (0, -1), "E": (1, 0), "S": (0, 1), "W": (-1, 0)}
"""One step away from each side; y grows downward."""


@dataclass(frozen=True)
class Box:
    """A rectangle in units."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    def moved(self, x: float, y: float) -> Box:
        """The same box elsewhere."""
        return Box(self.left + x, self.top + y, self.right + x, self.bottom + y)

    def grown(self, by: float) -> Box:
        """The box with a margin all round."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def overlaps(self, other: Box) -> bool:
        """Whether the two share an area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: Box) -> bool:
        """Whether the other lies wholly in it."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )


def around(boxes: list[Box]) -> Box:
    """The least box that holds all of ``boxes``."""
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )


@dataclass(frozen=True)
class Stance:
    """How a symbol stands: mirrored left to right or not, then turned clockwise by quarters."""

    quarters: int = 0
    mirrored: bool = False

    def size(self, width: float, height: float) -> tuple[float, float]:
        """Size of what stood as ``width`` by ``height``."""
        return (height, width) if self.quarters % 2 else (width, height)

    def point(self, x: float, y: float, width: float, height: float) -> tuple[float, float]:
        """Where a point of the upright symbol lies."""
        if self.mirrored:
            x = width - x
        return ((x, y), (height - y, x), (width - x, height - y), (y, width - x))[self.quarters]

    def side(self, side: str) -> str:
        """Which side a side of the upright symbol has become."""
        if self.mirrored and side in "EW":
            side = "W" if side == "E" else "E"
        return SIDES[(SIDES.index(side) + self.quarters) % 4]

    def transform(self, x: float, y: float, width: float, height: float) -> str:
        """The SVG transform that puts the symbol so that its box begins at (x, y)."""
        shift_x = x + (height, width)[self.quarters - 1] if self.quarters in (1, 2) else x
        shift_y = y + (height, width)[self.quarters - 2] if self.quarters in (2, 3) else y
        words = [f"translate({shift_x:g} {shift_y:g})"]
        if self.quarters:
            words.append(f"rotate({90 * self.quarters})")
        if self.mirrored:
            words.append(f"translate({width:g} 0) scale(-1 1)")
        return " ".join(words)


UPRIGHT = Stance()
