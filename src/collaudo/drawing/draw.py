"""A machine's diagram: `draw` gives the SVG, `diagram` the geometry it is made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from collaudo.drawing.items import Text
from collaudo.drawing.layout import Sheet, lay_out, texts_of
from collaudo.drawing.nets import Net
from collaudo.drawing.page import Page, frame_svg, page_for, title_texts
from collaudo.drawing.svg import crossings, group, number, path_of, symbol_svg, text_svg
from collaudo.drawing.water import spoken, water_items
from collaudo.errors import unknown_name
from collaudo.machine.model import Machine

if TYPE_CHECKING:
    from collaudo.twin.snapshot import Snapshot

KINDS = {"water": "water diagram", "heat": "heat diagram", "current": "wiring diagram"}
"""What can be drawn, and what the sheet is called."""


@dataclass(frozen=True)
class Diagram:
    """A sheet on its page, with every label, for whoever checks or uses the geometry."""

    machine: Machine
    of: str
    sheet: Sheet
    page: Page
    title: tuple[Text, ...]


def draw(machine: Machine, snapshot: Snapshot | None = None, of: str = "water") -> str:
    """The diagram of a machine as SVG; with a snapshot, what flows and how warm it is.

    ``of``: water, heat or current; `UnknownNameError` for anything else.
    """
    return svg_of(diagram(machine, snapshot, of), snapshot)


def diagram(machine: Machine, snapshot: Snapshot | None = None, of: str = "water") -> Diagram:
    """The geometry of a diagram."""
    if of not in KINDS:
        raise unknown_name("kind of drawing", of, KINDS)
    items, joints = water_items(machine)
    sheet = lay_out(items, joints, machine.drawing)
    page = page_for(sheet.box)
    return Diagram(machine, of, sheet, page, tuple(title_texts(page, machine.title, _rows(machine, snapshot, of))))


def _rows(machine: Machine, snapshot: Snapshot | None, of: str) -> list[tuple[str, str]]:
    state = snapshot.state.replace("-", " ") if snapshot else "at rest"
    rows = [("machine", machine.id), ("drawing", KINDS[of]), ("state", state)]
    if snapshot:
        rows.append(("site", _site(snapshot.site)))
    return rows


def _site(site: Mapping[str, float]) -> str:
    return f"{site.get('mains_V', 0):g} V, {site.get('room_K', 273.15) - 273.15:.0f} °C"


@cache
def _style() -> str:
    return resources.files("collaudo.drawing").joinpath("style.css").read_text(encoding="utf-8")


def svg_of(shown: Diagram, snapshot: Snapshot | None = None) -> str:
    """A diagram as SVG text."""
    page, machine = shown.page, shown.machine
    name = f"{machine.title}: {KINDS[shown.of]}"
    said = f"{name}, {'at rest' if snapshot is None else snapshot.state}. {len(shown.sheet.placed)} symbols."
    width, height = number(page.width), number(page.height)
    where = f"translate({number(page.x)} {number(page.y)}) scale({page.scale:.4f})"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{page.width / 4:g}mm" '
            f'height="{page.height / 4:g}mm" role="img" aria-labelledby="drawing-title drawing-desc" '
            f'class="drawing of-{shown.of}">',
            f'<title id="drawing-title">{escape(name)}</title>',
            f'<desc id="drawing-desc">{escape(said)}</desc>',
            f"<style>{_style()}</style>",
            f'<rect class="ground" width="{width}" height="{height}"/>',
            frame_svg(page, list(shown.title)),
            f'<g class="sheet" transform="{where}">',
            *_lines(shown.sheet),
            *_parts(shown),
            "</g>",
            "</svg>",
            "",
        ]
    )


def _lines(sheet: Sheet) -> list[str]:
    """A group for each joint, with the stretches only it uses; a group for each stretch that several share."""
    hops = crossings([stretch.points for net in sheet.nets for stretch in net.stretches])
    found = []
    for net in sheet.nets:
        for joint in net.joints:
            own = [stretch for stretch in net.stretches if list(stretch.ways) == [joint.key]]
            runs = [f'<path class="run" d="{path_of(stretch.points, hops)}"/>' for stretch in own]
            title = f"{joint.a.port} to {joint.b.port}" if joint.kind != "link" else ""
            found.append(group(joint.key, joint.kind, runs, title))
        found += _shared(net, hops)
    return found


def _shared(net: Net, hops: list[tuple[float, float]]) -> list[str]:
    shared = [stretch for stretch in net.stretches if len(stretch.ways) > 1]
    kind = net.joints[0].kind
    runs = [
        group(f"trunk-{net.number}-{k}", f"{kind} trunk", [f'<path class="run" d="{path_of(one.points, hops)}"/>'])
        for k, one in enumerate(shared)
    ]
    dots = [f'<circle class="dot" cx="{number(x)}" cy="{number(y)}" r="3.4"/>' for x, y in net.dots]
    return runs + ([f'<g class="{kind} dots">{"".join(dots)}</g>'] if dots else [])


def _parts(shown: Diagram) -> list[str]:
    """A group for each part, with every place it is drawn at."""
    content: dict[str, list[str]] = {}
    for one in shown.sheet.placed.values():
        for part, shapes in symbol_svg(one).items():
            content.setdefault(part.removesuffix(".feeler"), []).append(shapes)
        for text in texts_of(one):
            content.setdefault(one.item.part, []).append(text_svg(text))
    return [
        group(f"part-{part}", f"part kind-{shown.machine.parts[part].kind}", pieces, _told(shown.machine, part))
        for part, pieces in content.items()
    ]


def _told(machine: Machine, part: str) -> str:
    text = machine.parts[part].text
    return f"{spoken(part)}: {text}" if text else spoken(part)
