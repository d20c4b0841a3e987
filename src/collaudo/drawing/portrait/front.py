"""The front view, put together from what a machine has."""

from __future__ import annotations

from typing import NamedTuple
from xml.sax.saxutils import escape

from collaudo.drawing.portrait import shapes
from collaudo.drawing.portrait.features import Features, Group, Heated, features_of
from collaudo.drawing.portrait.words import told
from collaudo.drawing.svg import number
from collaudo.machine.model import Machine

HEIGHT = 160.0
TOP, FLOOR = 38.0, 94.0
"""Upper and lower edge of the casing that holds what is heated."""
TRAY = 135.0
"""Upper edge of the base, where the cups stand."""
EDGE = 6.0
BETWEEN = 8.0
"""Room between two vessels."""
PER_GROUP = 60.0


class Box(NamedTuple):
    """Left upper corner, width and height."""

    x: float
    y: float
    width: float
    height: float


def portrait(machine: Machine) -> str:
    """The portrait as SVG of about 160 by 160 units; its title says what is seen."""
    return drawn(features_of(machine), machine.title)


def drawn(features: Features, title: str) -> str:
    """The picture of what there is to see, whatever that is."""
    width = max(HEIGHT, 40.0 + PER_GROUP * len(features.groups))
    inner = "".join(
        [
            _case(width),
            _supply(features, width),
            *_middle(features, width),
            *_taps(features, width),
            _base(features, width),
        ]
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(HEIGHT)}" '
        f'width="{number(width)}" height="{number(HEIGHT)}" role="img">'
        f"<title>{escape(title)}</title><desc>{escape('; '.join(told(features)))}</desc>"
        f"<style>{shapes.style()}</style>{inner}</svg>\n"
    )


def _case(width: float) -> str:
    """Casing, back and base."""
    inside = number(width - 2 * EDGE)
    return (
        f'<path d="M{EDGE + 4} {FLOOR}V{TRAY}M{number(width - EDGE - 4)} {FLOOR}V{TRAY}"/>'
        f'<rect class="case" x="{EDGE}" y="{TOP}" width="{inside}" height="{FLOOR - TOP}" rx="8"/>'
        f'<rect class="case" x="{EDGE}" y="{TRAY}" width="{inside}" height="22" rx="3"/>'
    )


def _supply(features: Features, width: float) -> str:
    """Where the water comes from: a tank on top, a pipe from the wall, or both."""
    out = ""
    if features.water_line:
        out += shapes.placed("water_line", 32, 14)
    if features.tank:
        aside = 46.0 if any(group.way == "spring" for group in features.groups) else 0.0  # the lever's room
        out += shapes.tank(width - 64 - aside, 9, 48, TOP - 9)
    return out


def _middle(features: Features, width: float) -> list[str]:
    """Vessels with what runs through them, and the groups before them."""
    room = (EDGE + 6, width - EDGE - 6)
    springs = sum(group.way == "spring" for group in features.groups)
    if springs:
        room = (room[0], room[1] - 46.0 * springs)
    places = _vessel_places(features.heated, *room)
    middles = _group_places(features, places, width)
    out = [_vessel(one, places[one.name], [middles[group] for group in one.tubes]) for one in features.heated]
    return out + [_group(group, middles[group.name], width) for group in features.groups]


def _vessel_places(heated: tuple[Heated, ...], left: float, right: float) -> dict[str, Box]:
    """Where each stands, side by side, all smaller where there is no room."""
    sizes = [shapes.size_of(one) for one in heated]
    gaps = BETWEEN * (len(sizes) - 1)
    shrink = min(1.0, (right - left - gaps) / max(sum(width for width, _ in sizes), 1.0))
    x = left + (right - left - gaps - shrink * sum(width for width, _ in sizes)) / 2
    places = {}
    most = FLOOR - TOP - 12
    for one, (width, wanted) in zip(heated, sizes, strict=True):
        height = min(wanted, most)
        places[one.name] = Box(x, TOP + 4 + (most - height) / 2, width * shrink, height)
        x += width * shrink + BETWEEN
    return places


def _group_places(features: Features, places: dict[str, Box], width: float) -> dict[str, float]:
    """The middle of each group: below what it belongs to where it has that for itself, else evenly."""
    groups = features.groups
    sharing = [group.over for group in groups]
    middles = {}
    for n, group in enumerate(groups):
        at = places.get(group.over)
        if group.way == "spring":
            middles[group.name] = width - 38 - 44.0 * (len(groups) - 1 - n)
        elif at and sharing.count(group.over) == 1:
            middles[group.name] = at.x + at.width / 2
        else:
            middles[group.name] = width * (n + 0.5) / len(groups)
    return middles


def _vessel(one: Heated, place: Box, tubes: list[float]) -> str:
    if one.way == "block":
        return shapes.block(*place)
    loose = [place.x + place.width * (n + 0.5) / one.loose_tubes for n in range(one.loose_tubes)]
    runs = [shapes.tube(at, place.y + 6, FLOOR + 4) for at in (*tubes, *loose)]
    return shapes.vessel(one, *place) + "".join(runs)


def _group(group: Group, x: float, width: float) -> str:
    """Its body, what works it, the portafilter below it and a cup."""
    out = [shapes.placed(group.way, x, FLOOR)]
    if group.own_heat:
        out.append(shapes.placed("own_heat", x, FLOOR))
    if group.worked != "spring lever":
        beside = -27 if x > 0.6 * width else 27
        out.append(shapes.placed(group.worked, x + beside, FLOOR + 3, mirrored=beside < 0))
    out += [shapes.placed("portafilter", x, FLOOR + 18), shapes.placed("cup", x, TRAY - 11)]
    return "".join(out)


def _taps(features: Features, width: float) -> list[str]:
    """Wands: steam at the sides, hot water between or at the free side."""
    left, right, middle = (20.0, False), (width - 20.0, True), (width / 2, False)
    places = [left, right, middle][: features.steam_taps]
    out = [shapes.placed("steam_wand", x, FLOOR, mirrored=turned) for x, turned in places]
    free = [place for place in (right, middle, left) if place not in places]
    taken = free[: features.water_taps]
    return out + [shapes.placed("water_wand", x, FLOOR) for x, _ in taken]


def _base(features: Features, width: float) -> str:
    """Pump on the left, plug and volts on the right."""
    out = [shapes.placed(pump, 38 + 54 * n, TRAY + 1) for n, pump in enumerate(features.pumps)]
    if features.volts_V:
        three = features.phases == 3
        volts = f"{'3×' if three else ''}{features.volts_V:g} V"
        out.append(shapes.placed(f"plug_{features.phases}", width - (77 if three else 72), TRAY + 3))
        size = ' class="small"' if three else ""
        out.append(f'<text{size} x="{number(width - 12)}" y="{TRAY + 16}">{volts}</text>')
    return "".join(out)
