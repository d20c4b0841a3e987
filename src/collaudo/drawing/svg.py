"""A sheet as SVG text: one group for each part and line, classes instead of inline styles."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from collaudo.drawing.items import Text
from collaudo.drawing.letters import SIZE
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP

HOP = 6.0
"""Radius of the arc with which a level line passes over an upright one."""


def number(value: float) -> str:
    """A coordinate, to a hundredth of a unit."""
    return f"{round(value, 2):g}"


def text_svg(text: Text) -> str:
    """A line of text."""
    css = text.css if text.anchor == "start" else f"{text.css} {text.anchor}"
    size = "" if text.size == SIZE else f' font-size="{number(text.size)}"'
    return f'<text class="{css}" x="{number(text.x)}" y="{number(text.y)}"{size}>{escape(text.text)}</text>'


def group(key: str, css: str, content: Iterable[str], title: str = "") -> str:
    """A group with an id, classes and what a pointer or a screen reader is told of it."""
    head = f"<title>{escape(title)}</title>" if title else ""
    return f"<g id={quoteattr(key)} class={quoteattr(css)}>{head}{''.join(content)}</g>"


def symbol_svg(one: Placed) -> dict[str, str]:
    """The shapes of a placed item by part, with its letters."""
    picture, stance = one.item.picture, one.look.stance
    where = stance.transform(one.x * STEP, one.y * STEP, picture.width, picture.height)
    shown = {
        part: f'<g transform="{where}">{" ".join(shape.split())}</g>'
        for part, shape in picture.shapes.items()
    }
    for letters, x, y in picture.letters:
        at_x, at_y = stance.point(x, y, picture.width, picture.height)
        at_x, at_y = at_x + one.x * STEP, at_y + one.y * STEP + 4.5
        shown[one.item.part] += (
            f'<text class="letter" x="{number(at_x)}" y="{number(at_y)}">{escape(letters)}</text>'
        )
    return shown


def path_of(points: Sequence[tuple[float, float]], hops: Sequence[tuple[float, float]] = ()) -> str:
    """Path data through the points; level pieces hop over the places in ``hops``."""
    words = [f"M{number(points[0][0])} {number(points[0][1])}"]
    for (ax, ay), (bx, by) in itertools.pairwise(points):
        if ay == by:
            ahead = 1 if bx > ax else -1
            over = sorted(
                (x for x, y in hops if y == ay and min(ax, bx) < x < max(ax, bx)), reverse=ahead < 0
            )
            for x in over:
                sweep = 1 if ahead > 0 else 0
                words.append(
                    f"H{number(x - ahead * HOP)}a{HOP:g} {HOP:g} 0 0 {sweep} {number(2 * ahead * HOP)} 0"
                )
            words.append(f"H{number(bx)}")
        else:
            words.append(f"V{number(by)}")
    return "".join(words)


def crossings(ways: Sequence[Sequence[tuple[float, float]]]) -> list[tuple[float, float]]:
    """Where a level piece of one way passes over an upright piece of another."""
    pieces = [(a, b) for way in ways for a, b in itertools.pairwise(way)]
    level = [(a, b) for a, b in pieces if a[1] == b[1]]
    upright = [(a, b) for a, b in pieces if a[0] == b[0]]
    return [
        (c[0], a[1])
        for a, b in level
        for c, d in upright
        if min(a[0], b[0]) < c[0] < max(a[0], b[0]) and min(c[1], d[1]) < a[1] < max(c[1], d[1])
    ]
