"""A diagram for the screen: it moves with a running machine, so every stretch of line has its number.

Unlike a sheet of paper it has no frame, title block, legend or style of its own, and its ids begin with what
it is of, so that several can stand in one page. What has a basin shows its water as ``rect.water-fill``:
``data-bottom`` is where it ends below, ``data-height`` how high it stands when full. A contact of the wiring
diagram is drawn twice in ``g.contact``, as ``g.open`` and ``g.shut``; ``data-contact`` is its place among the
machine's contacts, and the way it does not stand in at rest has ``display="none"``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from collaudo.drawing.draw import KINDS, diagram
from collaudo.drawing.ladder import ladder
from collaudo.drawing.layout import Sheet, texts_of
from collaudo.drawing.nets import Net, Stretch
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import Box, around
from collaudo.drawing.svg import crossings, group, number, path_of, symbol_svg, text_svg
from collaudo.drawing.water import spoken
from collaudo.machine.described import described
from collaudo.machine.model import Machine

MARGIN = 12.0
HIDDEN = ' display="none"'
_AT_REST = re.compile(r'<path class="[^"]*water-level[^"]*"[^>]*/>')
"""Marks of the level a vessel stands at on paper."""


@dataclass(frozen=True)
class ScreenDrawing:
    """A drawing for the screen, and what its numbers mean."""

    svg: str
    runs: tuple[Mapping[str, int], ...]
    """Of each ``data-run`` the lines (``line-3``), wires (``wire-3``) or inner joints of the wiring diagram
    that it is a stretch of: 1 along them, -1 against them."""
    vessels: tuple[str, ...]
    """Parts with a ``water-fill``."""


def screen_drawing(machine: Machine, of: str) -> ScreenDrawing:
    """The diagram of a machine for the screen; ``of``: water, heat or current."""
    shown = diagram(machine, None, of, wide=True)
    runs = _Runs(of, [])
    lines = _lines(shown.sheet, runs)
    vessels: list[str] = []
    parts = _parts(shown.sheet, machine, of, vessels)
    box = around([shown.sheet.box, *(one.box for one in shown.heat)]).grown(MARGIN)
    view = " ".join(number(x) for x in (box.left, box.top, box.width, box.height))
    name = f"{machine.title}: {KINDS[of]}"
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="group" '
        f'aria-labelledby="{of}-title" class="drawing of-{of}">'
    )
    svg = [
        opening,
        f'<title id="{of}-title">{escape(name)}</title>',
        *lines,
        *parts,
        *(one.svg() for one in shown.heat),
        "</svg>",
    ]
    return ScreenDrawing("\n".join(svg), tuple(runs.found), tuple(vessels))


@dataclass
class _Runs:
    """Numbers the stretches in the order they are drawn."""

    of: str
    found: list[Mapping[str, int]]

    def svg(self, stretch: Stretch, hops: list[tuple[float, float]]) -> str:
        """A stretch; what only links things has no number, for nothing runs in it."""
        path = path_of(stretch.points, hops)
        if stretch.kind not in ("line", "wire", "inner"):
            return f'<path class="run" d="{path}"/>'
        self.found.append(dict(stretch.ways))
        return f'<path class="run" data-run="{len(self.found) - 1}" d="{path}"/>'


def _lines(sheet: Sheet, runs: _Runs) -> list[str]:
    """A group for each line with what it alone uses, and for each stretch that several share."""
    hops = crossings([stretch.points for net in sheet.nets for stretch in net.stretches])
    found: list[str] = []
    for net in sheet.nets:
        for joint in net.joints:
            own = [runs.svg(one, hops) for one in net.stretches if list(one.ways) == [joint.key]]
            title = f"{spoken(joint.a.port)} to {spoken(joint.b.port)}" if joint.kind == "line" else ""
            found.append(group(f"{runs.of}-{joint.key}", joint.kind, own, title))
        shared = [one for one in net.stretches if len(one.ways) > 1]
        found += [
            group(f"{runs.of}-trunk-{net.number}-{k}", f"{one.kind} trunk", [runs.svg(one, hops)])
            for k, one in enumerate(shared)
        ]
        found += _dots(net)
    return found


def _dots(net: Net) -> list[str]:
    dots = [f'<circle class="dot" cx="{number(x)}" cy="{number(y)}" r="3.4"/>' for x, y in net.dots]
    return [f'<g class="{net.joints[0].kind} dots">{"".join(dots)}</g>'] if dots else []


def _parts(sheet: Sheet, machine: Machine, of: str, vessels: list[str]) -> list[str]:
    """A group for each part, with every place it is drawn at; fills ``vessels``."""
    content: dict[str, list[str]] = {}
    contacts = _contacts(sheet, machine) if of == "current" else {}
    for one in sheet.placed.values():
        basins = one.item.picture.basins if of != "current" else {}
        for key, shapes in symbol_svg(one).items():
            part = key.removesuffix(".feeler")
            shown = contacts.get(one.item.key, shapes)
            if key in basins:
                shown = _with_water(shapes, part, basins[part])
            content.setdefault(part, []).append(shown)
        vessels += basins
        for part, texts in texts_of(one).items():
            content.setdefault(part, []).extend(map(text_svg, texts))
    return [
        _part(of, part, machine.parts[part].kind, pieces, _told(machine, part), _place(sheet, part))
        for part, pieces in content.items()
    ]


def _contacts(sheet: Sheet, machine: Machine) -> dict[str, str]:
    """Of each contact of the wiring diagram both ways it can stand."""
    ends = [(x.part, x.a, x.b) for x in described(machine).contacts]
    opened, shut = (ladder(machine, dict.fromkeys(ends, closed)).placed for closed in (False, True))
    found = {}
    for key, one in sheet.placed.items():
        name, _, number = key.partition("-")
        if name != "contact":
            continue
        rest, two = symbol_svg(one), (symbol_svg(opened[key]), symbol_svg(shut[key]))
        part = one.item.part
        ways = "".join(
            f'<g class="{word}"{"" if way[part] == rest[part] else HIDDEN}>{way[part]}</g>'
            for word, way in zip(("open", "shut"), two, strict=True)
        )
        if two[0] != two[1]:
            found[key] = f'<g class="contact" data-contact="{number}">{ways}</g>'
    return found


def _part(of: str, part: str, kind: str, pieces: list[str], title: str, middle: str) -> str:
    """A part's group. ``data-middle``: where its symbol is, ``x y``."""
    return (
        f'<g id={quoteattr(f"{of}-part-{part}")} class="part kind-{kind}" data-part={quoteattr(part)}'
        f"{middle}><title>{escape(title)}</title>{''.join(pieces)}</g>"
    )


def _place(sheet: Sheet, part: str) -> str:
    box = next((one.boxes[0] for one in sheet.placed.values() if _shows(one, part)), None)
    if box is None:
        return ""
    return f' data-middle="{number((box.left + box.right) / 2)} {number((box.top + box.bottom) / 2)}"'


def _shows(one: Placed, part: str) -> bool:
    return one.item.part == part


def _with_water(shapes: str, part: str, basin: Box) -> str:
    """The wall, the water in it, then the rest without the level it stands at on paper."""
    wall, end, rest = _AT_REST.sub("", shapes).partition("/>")
    corner = 18 if basin.height > 100 else 0
    water = (
        f'<rect class="water-fill" data-vessel={quoteattr(part)} data-bottom="{number(basin.bottom)}" '
        f'data-height="{number(basin.height)}" x="{number(basin.left)}" y="{number(basin.bottom)}" '
        f'width="{number(basin.width)}" height="0" rx="{corner}"/>'
    )
    return wall + end + water + rest


def _told(machine: Machine, part: str) -> str:
    text = machine.parts[part].text
    return f"{spoken(part)}: {text}" if text else spoken(part)
