"""The wiring diagram: elements of a ladder placed and joined by bars."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from collaudo.drawing.items import End, Item, Joint, Look, Picture, label_at
from collaudo.drawing.layout import Sheet
from collaudo.drawing.letters import LINE
from collaudo.drawing.nets import Net, Point, Tree, finish
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, UPRIGHT
from collaudo.drawing.rungs import Rung, Rungs, rungs_of
from collaudo.drawing.symbols import PortPlace, symbol, symbol_of
from collaudo.drawing.water import said, spoken
from collaudo.drawing.wiring import Element, wiring_of
from collaudo.machine.model import Machine

COLUMN, FREE = 5, 2
"""Steps that an element with its label takes, and that are free where a bar stands."""
ABOVE, PLAIN_ABOVE, BELOW = 26.0, 18.0, 24.0
"""What works a contact stands so far above its line, any other element less; a label begins so far below."""
APART = 6.0
"""From a label to what stands below it."""
LABEL = 88.0
"""Widest line of a label."""
LEFT, RIGHT = "left", "right"
BODY = "body"
"""Terminal of a part's metal body."""
_LEAD = {
    "source": "M30 20H40",
    "body": "M0 20H20M20 12V28M20 12L14 18M20 20L14 26M20 28L14 34",
    "capacitor": "M0 20H17M23 20H40M17 8V32M23 8V32",
}
"""IEC 60617: supply, frame connection, capacitor."""
_TERMINAL = '<circle class="paper" cx="{}" cy="20" r="4"/>'
_THROUGH = f'<path d="M0 20H40"/>{_TERMINAL.format(8)}{_TERMINAL.format(32)}'
"""Two terminals of a part that are always joined."""
_LETTERS = {"live": "L", "live_2": "L2", "live_3": "L3", "neutral": "N", "earth": "PE"}
_OPEN = {"make": "M0 20H12M28 20H40M12 20L28 10", "break": "M0 20H12M28 20H40M28 20V12M12 20L27 5"}
_SHUT = {"make": "M0 20H12M28 20H40M12 20H28", "break": "M0 20H12M28 20H40M28 20V12M12 20L31 11"}


def ladder(machine: Machine, closed: Mapping[tuple[str, str, str], bool] | None = None) -> Sheet:
    """The wiring diagram of a machine. ``closed``: contacts (part, terminal, terminal) as they stand; else
    as at rest."""
    found = rungs_of(wiring_of(machine))
    items = {key: _item(machine, found, rung, closed or {}) for key, rung in found.rungs.items()}
    plan = _plan(found, items)
    placed = {
        key: Placed(items[key], items[key].looks[0], plan.columns[rung.column] + 1, plan.rows[rung.row] - 1)
        for key, rung in found.rungs.items()
    }
    return Sheet(placed, _joined(machine, found, placed, plan))


@dataclass(frozen=True)
class _Plan:
    """Where rows lie, columns begin and bars stand, in steps."""

    rows: Sequence[int]
    columns: Mapping[int, int]
    at: Mapping[int, int]
    """Of each net."""
    returns: Mapping[str, int]
    """Of each load whose lead comes back: where it goes down."""


def _plan(found: Rungs, items: Mapping[str, Item]) -> _Plan:
    """Bars that overlap stand side by side before the column they serve; columns make room for them."""
    wanted, level = _bars(found)
    columns: dict[int, int] = {}
    at: dict[str, int] = {}
    x = 0
    for column in range(max(rung.column for rung in found.rungs.values()) + 2):
        lanes: list[int] = []
        for top, bottom, key in sorted(wanted.get(column, [])):
            lane = next((k for k, end in enumerate(lanes) if end < top), len(lanes))
            lanes[lane : lane + 1] = [bottom]
            at[key] = x + 1 + lane
        x += FREE + len(lanes) - 1 if lanes or not column else 0
        columns[column] = x
        at |= dict.fromkeys(level.get(column, []), x)
        x += COLUMN
    nets = {int(key.removeprefix("net ")): place for key, place in at.items() if key.startswith("net ")}
    returns = {key: place for key, place in at.items() if key in found.returns}
    return _Plan(_row_places(found, items), columns, nets, returns)


def _bars(found: Rungs) -> tuple[dict[int, list[tuple[int, int, str]]], dict[int, list[str]]]:
    """Of each column the bars before it (first row, last row, what they are), and nets that need none."""
    bars: dict[int, list[tuple[int, int, str]]] = {}
    level: dict[int, list[str]] = {}
    for net, (before, top, bottom) in _spans(found).items():
        if top == bottom:  # elements in series
            level.setdefault(before, []).append(f"net {net}")
        else:
            bars.setdefault(before, []).append((top, bottom, f"net {net}"))
    for key, row in found.returns.items():
        bars.setdefault(found.rungs[key].column + 1, []).append((found.rungs[key].row, row, key))
    return bars, level


def _ends(found: Rungs) -> dict[int, list[tuple[str, str, Rung]]]:
    """Of each net the ends of elements that lie on it: element, side, rung."""
    ends: dict[int, list[tuple[str, str, Rung]]] = {}
    for key, rung in found.rungs.items():
        for terminal, side in ((rung.element.a, LEFT), (rung.element.b, RIGHT)):
            if terminal:
                ends.setdefault(found.wiring.net[terminal], []).append((key, side, rung))
    return ends


def _spans(found: Rungs) -> dict[int, tuple[int, int, int]]:
    """Of each net the column its bar stands before, and its first and last row."""
    spans = {}
    for net, ends in _ends(found).items():
        coming = [rung.column for key, side, rung in ends if side == RIGHT and key not in found.returns]
        leaving = [rung.column for key, side, rung in ends if side == LEFT]
        before = max(coming) + 1 if coming else min(leaving, default=0)
        rows = [
            found.returns[key] if side == RIGHT and key in found.returns else rung.row
            for key, side, rung in ends
        ]
        spans[net] = before, min(rows), max(rows)
    return spans


def _row_places(found: Rungs, items: Mapping[str, Item]) -> list[int]:
    """The line of each row: no label touches the next row's line, nor what stands there in its column."""
    labels: dict[int, dict[int, float]] = {}
    tops: dict[int, dict[int, float]] = {}
    for key, rung in found.rungs.items():
        lines = len(items[key].looks[0].label)
        labels.setdefault(rung.row, {})[rung.column] = BELOW + LINE * lines if lines else PLAIN_ABOVE
        above = ABOVE if rung.element.kind in ("make", "break") else PLAIN_ABOVE
        tops.setdefault(rung.row, {})[rung.column] = above
    places = [2]
    for row in range(found.rows):
        below = tops.get(row + 1, {})
        room = [depth + APART + below.get(column, 0.0) for column, depth in labels.get(row, {}).items()]
        places.append(places[-1] + max(3, ceil(max(room, default=0.0) / STEP)))
    return places


def _item(machine: Machine, found: Rungs, rung: Rung, closed: Mapping[tuple[str, str, str], bool]) -> Item:
    one = rung.element
    picture = _picture(machine, one, closed)
    shown = symbol_of(machine.parts[one.part], "current")
    more = said(machine.parts[one.part], shown.says) if shown else ()
    name, more = _label(found, rung, spoken(one.part), more)
    look = Look(UPRIGHT, 40.0, 40.0, picture.ports, label_at("S", 40.0, 40.0, name, more, LABEL))
    return Item(one.key, one.part, picture, (look,), tuple(picture.ports))


def _label(found: Rungs, rung: Rung, name: str, more: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """What is written at an element: poles of one part that stand under one another share a name."""
    one = rung.element
    if one.kind == "source":
        return "", ()
    if one.kind == "body":
        terminal = (one.a or one.b).partition(".")[2]
        return f"body of {name}" if terminal == BODY else f"{name} {spoken(terminal)}", ()
    below = [
        other
        for other in found.rungs.values()
        if other.element.part == one.part and other.column == rung.column and other.row == rung.row + 1
    ]
    return ("", ()) if below and below[0].element.kind == one.kind else (name, more)


def _picture(machine: Machine, one: Element, closed: Mapping[tuple[str, str, str], bool]) -> Picture:
    """The symbol of an element, as it stands."""
    ports = {LEFT: PortPlace(0.0, 20.0, "W")} if one.a else {}
    ports |= {RIGHT: PortPlace(40.0, 20.0, "E")} if one.b else {}
    shown = symbol_of(machine.parts[one.part], "current") or symbol("box", "current")
    letters = shown.letters if shown else ()
    if one.kind == "source":
        shape = f'<path d="{_LEAD["source"]}"/><circle class="paper" cx="18" cy="20" r="12"/>'
        letters = ((_LETTERS.get(one.b.partition(".")[2], one.b.partition(".")[2]), 18.0, 20.0),)
    elif one.kind == "body":
        shape, letters = _bare_end(one), ()
    elif one.kind == "capacitor":
        shape, letters = f'<path d="{_LEAD["capacitor"]}"/>', ()
    elif one.kind == "load":
        shape = f'<g class="load">{shown.shape if shown else ""}</g>'
    elif one.kind == "plain":
        shape = shown.contact if shown and shown.plain else _THROUGH
    else:
        shape = _contact(one, shown.contact if shown else "", shown.plain if shown else False, closed)
    own = one.kind in ("load", "source") or not (shown and shown.letters_with_load)
    return Picture(40.0, 40.0, ports, {one.part: shape}, letters=letters if own else ())


def _bare_end(one: Element) -> str:
    """A metal body (IEC 60617: frame connection), or a terminal where a lead just ends (circle)."""
    if one.a.endswith(f".{BODY}"):
        return f'<path d="{_LEAD[BODY]}"/>'
    lead = "M0 20H16" if one.a else "M24 20H40"
    return f'<path d="{lead}"/><circle class="paper" cx="20" cy="20" r="4"/>'


def _contact(one: Element, over: str, plain: bool, closed: Mapping[tuple[str, str, str], bool]) -> str:
    """A contact as it stands, with what works it."""
    shut = closed.get((one.part, one.a, one.b), closed.get((one.part, one.b, one.a), one.kind == "break"))
    if plain:
        return over if shut else f'{over}<path class="gone" d="M12 32L28 8"/>'
    return f'<path d="{(_SHUT if shut else _OPEN)[one.kind]}"/>{over}'


def _joined(machine: Machine, found: Rungs, placed: Mapping[str, Placed], plan: _Plan) -> list[Net]:
    """Every wire as a way along its net's bar."""
    where: dict[str, End] = {}
    inner: list[tuple[int, Joint]] = []
    for key, rung in found.rungs.items():
        for terminal, side in ((rung.element.a, LEFT), (rung.element.b, RIGHT)):
            end = End(key, side)
            if terminal and where.setdefault(terminal, end) != end:
                joint = Joint(f"inner-{key}-{side}", where[terminal], end, "inner")
                inner.append((found.wiring.net[terminal], joint))
    trees: dict[int, Tree] = {}
    for number, ends in _ends(found).items():
        tree = trees[number] = Tree()
        bar = plan.at[number]
        rows: set[int] = set()
        for key, side, _ in ends:
            port = placed[key].port(side)
            start = (int(port.x), int(port.y))
            tree.ends[End(key, side)] = start
            way, row = _way(found, plan, key, side, start, bar)
            tree.add(way)
            rows.add(row)
        tree.add([(bar, y) for y in range(min(rows), max(rows) + 1)])
    nets: dict[int, Net] = {}
    for k, (a, b) in enumerate(machine.wires):
        net = nets.setdefault(found.wiring.net[a], Net(found.wiring.net[a], []))
        net.joints.append(Joint(f"wire-{k}", where[a], where[b], "wire"))
    for number, joint in inner:
        nets.setdefault(number, Net(number, [])).joints.append(joint)
    for number, net in nets.items():
        finish(net, trees[number])
    return list(nets.values())


def _way(found: Rungs, plan: _Plan, key: str, side: str, start: Point, bar: int) -> tuple[list[Point], int]:
    """From an element's end to the bar, a step at a time, and the row in which it meets the bar."""
    x, y = start
    way = [start]
    if side == RIGHT and key in found.returns:
        lane, row = plan.returns[key], plan.rows[found.returns[key]]
        way += [(at, y) for at in range(x + 1, lane + 1)]
        way += [(lane, at) for at in range(y + 1, row + 1)]
        x, y = lane, row
    step = 1 if bar > x else -1
    way += [(at, y) for at in range(x + step, bar + step, step)] if bar != x else []
    return way, y
