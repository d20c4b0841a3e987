"""A machine's diagram: `draw` gives the SVG, `diagram` the geometry it is made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from collaudo.drawing.flows import Flow, arrow, colour, flow_labels, flows_of
from collaudo.drawing.heat import heat_notes, heat_ways, temperatures
from collaudo.drawing.heat_arrows import HeatArrow, heat_arrows
from collaudo.drawing.items import Text
from collaudo.drawing.ladder import ladder
from collaudo.drawing.layout import Sheet, lay_out, texts_of
from collaudo.drawing.legend import legend_svg, legend_texts
from collaudo.drawing.nets import Net, Stretch
from collaudo.drawing.page import Page, frame_svg, page_for, title_texts
from collaudo.drawing.plane import around
from collaudo.drawing.svg import crossings, group, number, path_of, symbol_svg, text_svg
from collaudo.drawing.water import spoken, water_items
from collaudo.drawing.wiring import wire_states
from collaudo.errors import unknown_name
from collaudo.machine.model import Machine
from collaudo.parts.part import Part

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
    legend: tuple[Text, ...]
    flows: Mapping[int, Flow]
    """Of stretches, by `id`."""
    flow_labels: tuple[Text, ...]
    heat: tuple[HeatArrow, ...] = ()

    def texts(self) -> list[tuple[Text, bool]]:
        """Every text, and whether it stands on the sheet (else on the page)."""
        on_sheet = [*self.sheet.texts(), *self.flow_labels, *(one.text for one in self.heat)]
        return [(text, True) for text in on_sheet] + [(text, False) for text in (*self.title, *self.legend)]


def draw(machine: Machine, snapshot: Snapshot | None = None, of: str = "water") -> str:
    """The diagram of a machine as SVG; with a snapshot, what flows and how warm it is.

    ``of``: water, heat or current; `UnknownNameError` for anything else.
    """
    return svg_of(diagram(machine, snapshot, of), snapshot)


def diagram(
    machine: Machine, snapshot: Snapshot | None = None, of: str = "water", *, wide: bool = False
) -> Diagram:
    """The geometry of a diagram. ``wide``: for a screen, which is wider than a sheet and has larger words."""
    if of not in KINDS:
        raise unknown_name("kind of drawing", of, KINDS)
    heat: list[HeatArrow] = []
    if of == "current":
        sheet = ladder(machine, _closed(snapshot))
    elif of == "heat":
        sheet, heat = _heat(machine, snapshot, wide=wide)
    else:
        sheet = lay_out(*water_items(machine, wide=wide), machine.drawing)
    page = page_for(around([sheet.box, *(one.box for one in heat)]))
    flows: dict[int, Flow] = {}
    labels: list[Text] = []
    if snapshot is not None and of != "current":
        flows = flows_of(sheet.nets, snapshot)
        taken = [box for one in sheet.placed.values() for box in one.boxes]
        taken += [*(text.box for text in sheet.texts()), *(one.box for one in heat)]
        labels = flow_labels(sheet.nets, flows, taken)
    title = title_texts(page, machine.title, _rows(machine, snapshot, of))
    legend = legend_texts(page, of, running=snapshot is not None)
    return Diagram(machine, of, sheet, page, tuple(title), tuple(legend), flows, tuple(labels), tuple(heat))


def _heat(machine: Machine, snapshot: Snapshot | None, *, wide: bool) -> tuple[Sheet, list[HeatArrow]]:
    """Sheet and arrows of heat; what finds no room for its arrow is written beside its part."""
    ways = heat_ways(machine, snapshot)
    notes = heat_notes(snapshot, {})
    sheet = lay_out(*water_items(machine, notes, ways, wide=wide), machine.drawing)
    arrows, left = heat_arrows(sheet, ways)
    if left:
        notes = heat_notes(snapshot, left)
        sheet = lay_out(*water_items(machine, notes, ways, wide=wide), machine.drawing)
        arrows, _ = heat_arrows(sheet, {way: amount for way, amount in ways.items() if way not in left})
    return sheet, arrows


def _closed(snapshot: Snapshot | None) -> dict[tuple[str, str, str], bool] | None:
    if snapshot is None:
        return None
    return {(contact.part, contact.a, contact.b): contact.closed for contact in snapshot.contacts}


def _rows(machine: Machine, snapshot: Snapshot | None, of: str) -> list[tuple[str, str]]:
    state = snapshot.state.replace("-", " ") if snapshot else "at rest"
    rows = [("machine", machine.id), ("drawing", KINDS[of]), ("state", state)]
    if snapshot:
        rows.append(("site", _site(snapshot.site)))
    return rows


def _site(site: Mapping[str, float]) -> str:
    return f"{site.get('mains_V', 0):g} V, {site.get('room_K', 273.15) - 273.15:.0f} °C"


def _opening(shown: Diagram) -> str:
    page = shown.page
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(page.width)} {number(page.height)}" '
        f'width="{page.width / 4:g}mm" height="{page.height / 4:g}mm" role="img" '
        f'aria-labelledby="drawing-title drawing-desc" class="drawing of-{shown.of}">'
    )


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
            _opening(shown),
            f'<title id="drawing-title">{escape(name)}</title>',
            f'<desc id="drawing-desc">{escape(said)}</desc>',
            f"<style>{_style()}</style>",
            f'<rect class="ground" width="{width}" height="{height}"/>',
            frame_svg(page, list(shown.title)),
            f'<g class="sheet" transform="{where}">',
            *sheet_svg(shown, snapshot),
            "</g>",
            legend_svg(page, shown.of, list(shown.legend), running=snapshot is not None),
            "</svg>",
            "",
        ]
    )


def sheet_svg(shown: Diagram, snapshot: Snapshot | None = None) -> list[str]:
    """What stands on the sheet, without its page: groups in the sheet's own coordinates."""
    return [
        *_lines(shown, snapshot),
        *_parts(shown, snapshot),
        *(one.svg() for one in shown.heat),
        *map(text_svg, shown.flow_labels),
    ]


def groups_of(shown: Diagram) -> dict[str, list[str]]:
    """Ids of the groups that together draw each line or wire, by its own id."""
    found: dict[str, list[str]] = {}
    for net in shown.sheet.nets:
        for joint in net.joints:
            found.setdefault(joint.key, []).append(joint.key)
        shared = [stretch for stretch in net.stretches if len(stretch.ways) > 1]
        for k, one in enumerate(shared):
            for key in one.ways:
                found.setdefault(key, []).append(_trunk(net, k))
    return found


def _trunk(net: Net, k: int) -> str:
    return f"trunk-{net.number}-{net.joints[0].kind}-{k}"


def _lines(shown: Diagram, snapshot: Snapshot | None) -> list[str]:
    """A group for each joint, with the stretches it alone uses, and for each stretch that several share."""
    nets = shown.sheet.nets
    hops = crossings([stretch.points for net in nets for stretch in net.stretches])
    states = _wire_states(shown, snapshot)
    found = []
    for net in nets:
        css = next((f" {states[joint.key]}" for joint in net.joints if joint.key in states), "")
        for joint in net.joints:
            own = [
                _run(stretch, shown, hops) for stretch in net.stretches if list(stretch.ways) == [joint.key]
            ]
            title = f"{spoken(joint.a.port)} to {spoken(joint.b.port)}" if joint.kind == "line" else ""
            found.append(group(joint.key, joint.kind + css, own, title))
        shared = [stretch for stretch in net.stretches if len(stretch.ways) > 1]
        found += [
            group(
                _trunk(net, k),
                f"{one.kind}{css} trunk",
                [_run(one, shown, hops)],
            )
            for k, one in enumerate(shared)
        ]
        dots = [f'<circle class="dot" cx="{number(x)}" cy="{number(y)}" r="3.4"/>' for x, y in net.dots]
        found += [f'<g class="{net.joints[0].kind} dots">{"".join(dots)}</g>'] if dots else []
    return found


def _wire_states(shown: Diagram, snapshot: Snapshot | None) -> dict[str, str]:
    if shown.of != "current" or snapshot is None:
        return {}
    return wire_states(shown.machine, ((one.a, one.b, one.closed) for one in snapshot.contacts))


def _run(stretch: Stretch, shown: Diagram, hops: list[tuple[float, float]]) -> str:
    """A stretch of line, with an arrow where something flows."""
    flow = shown.flows.get(id(stretch))
    css = f"run {flow.css}" if flow else "run"
    path = f'<path class="{css}" d="{path_of(stretch.points, hops)}"/>'
    head = arrow(stretch.points, flow.flow_g_per_s) if flow and not flow.still else ""
    return path + (
        f'<path class="arrow {flow.css.removeprefix("flows ")}" d="{head}"/>' if flow and head else ""
    )


def _parts(shown: Diagram, snapshot: Snapshot | None) -> list[str]:
    """A group for each part, with every place it is drawn at."""
    content: dict[str, list[str]] = {}
    for one in shown.sheet.placed.values():
        for part, shapes in symbol_svg(one).items():
            content.setdefault(part.removesuffix(".feeler"), []).append(shapes)
        for part, texts in texts_of(one).items():
            content.setdefault(part, []).extend(map(text_svg, texts))
    states = _states(shown, snapshot) if snapshot else {}
    parts = shown.machine.parts
    return [
        group(
            f"part-{part}", f"part kind-{parts[part].kind}{states.get(part, '')}", pieces, _told(parts[part])
        )
        for part, pieces in content.items()
    ]


def _states(shown: Diagram, snapshot: Snapshot) -> dict[str, str]:
    """Classes that say how parts stand now: on, or how warm."""
    if shown.of == "heat":
        return {part: f" warm t{colour(degC)}" for part, degC in temperatures(snapshot).items()}
    return {load.name.partition(".")[0]: " on" for load in snapshot.loads if load.on}


def _told(part: Part) -> str:
    return f"{spoken(part.name)}: {part.text}" if part.text else spoken(part.name)
