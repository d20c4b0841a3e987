"""How much room text takes, so that no label covers another."""

from __future__ import annotations

from functools import cache
from importlib import resources

import yaml

SIZE = 12.0
"""Type size of labels in units: 3 mm, capitals 2.2 mm high (ISO 3098-1 knows 2.5 mm letters for A4 to A2)."""
LINE = 14.0
"""From one line of a label to the next."""
ABOVE, BELOW = 0.76, 0.24
"""How far letters rise above and hang below their foot, as shares of the type size."""


@cache
def _widths(face: str) -> dict[str, int]:
    text = resources.files("collaudo.drawing").joinpath("letters.yaml").read_text(encoding="utf-8")
    return {letter: width for width, letters in yaml.safe_load(text)[face].items() for letter in letters}


def text_width(text: str, size: float = SIZE, *, bold: bool = False) -> float:
    """Width of a line of text in units; a letter the table lacks counts as wide as the type size."""
    widths = _widths("bold" if bold else "regular")
    return sum(widths.get(letter, 1000) for letter in text) * size / 1000.0


def wrapped(text: str, width: float, size: float = SIZE, *, bold: bool = False) -> list[str]:
    """The text in lines no wider than ``width``, or than its longest word."""
    width = max([width, *(text_width(word, size, bold=bold) for word in text.split())])
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size, bold=bold) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
