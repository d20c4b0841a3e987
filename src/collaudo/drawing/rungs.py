"""Rows and columns of a wiring diagram drawn as a ladder.

Supply at the top left, live at the left, neutral at the right, one rung a row; elements in series share a
row, every branch has its own.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from collaudo.drawing.wiring import Element, Wiring

_RANK = {"live": 0, "loose": 1, "earth": 2, "neutral": 3}
"""From left to right."""


@dataclass(frozen=True)
class Rung:
    """Where an element lies: its row and column."""

    element: Element
    row: int
    column: int


@dataclass
class Rungs:
    """Rows and columns of all elements."""

    wiring: Wiring
    rungs: dict[str, Rung] = field(default_factory=dict)
    returns: dict[str, int] = field(default_factory=dict)
    """Of loads whose far end is no neutral: the row in which the lead comes back."""
    rows: int = 0
    loads: int = 0
    """The column of the loads."""
    bus: int = -1
    """The neutral net that loads hang on."""

    def column(self, one: Element) -> int:
        """The column of an element: from the left for what brings current, then loads, then to the right."""
        wiring = self.wiring
        if one.kind == "source":
            return 0
        if one.consumes:
            return self.loads
        if one.key not in wiring.column:
            return 1 + wiring.depth[wiring.net[one.a]]
        if self.behind_loads(one):
            return self.loads + 1 + max(wiring.column.values()) - wiring.column[one.key]
        return 1 + wiring.column[one.key]

    def behind_loads(self, one: Element) -> bool:
        """Whether a contact lies between loads and the neutral they all hang on."""
        nets = [self.wiring.net[end] for end in (one.a, one.b) if end]
        if self.bus < 0 or len(nets) < 2 or any(self.wiring.side[net] != "neutral" for net in nets):
            return False
        return min(self.wiring.depth[net] for net in nets) >= self.wiring.depth[self.bus]


def rungs_of(wiring: Wiring) -> Rungs:
    """Give every element its row and column: series in one row, every branch in a row of its own."""
    loads = [one for one in wiring.elements if one.consumes]
    neutral = [
        wiring.net[end]
        for one in loads
        for end in (one.a, one.b)
        if wiring.side[wiring.net[end]] == "neutral"
    ]
    found = Rungs(wiring, rows=len(wiring.supplies))
    found.loads = 2 + max(wiring.column.values(), default=0)
    found.bus = min(neutral, key=lambda net: wiring.depth[net], default=-1)
    seen: set[int] = set()
    for row, net in enumerate(wiring.supplies):
        _visit(found, net, row, 0, seen)
    for one in wiring.elements:
        if one.key not in found.rungs:
            _put(found, one, _next(found))
    return found


def _next(found: Rungs) -> int:
    found.rows += 1
    return found.rows - 1


def _visit(found: Rungs, net: int, row: int, column: int, seen: set[int]) -> None:
    """Give a row to each element that hangs on a net, and go on to the nets behind them.

    The first element beyond ``column``, where the net was come to, goes on in the same row.
    """
    seen.add(net)
    wiring, first = found.wiring, True
    for one in wiring.elements:
        ends = [wiring.net[end] for end in (one.a, one.b) if end]
        if net not in ends or one.key in found.rungs or (len(ends) == 2 and ends[0] == ends[1]):
            continue
        if one.consumes and wiring.side[net] != "live":
            continue
        if one.kind == "source":
            _put(found, one, row)
            continue
        onward = first and found.column(one) > column and not _at_right(wiring, one)
        at = row if onward else _next(found)
        first = first and not onward
        far = next((end for end in ends if end != net), net)
        _put(found, one, at)
        if one.consumes:
            if wiring.side[far] != "neutral":
                found.returns[one.key] = _next(found)
        elif far not in seen:
            _visit(found, far, at, found.column(one), seen)


def _at_right(wiring: Wiring, one: Element) -> bool:
    """Whether a bare end hangs on a neutral: it lies among the loads."""
    return one.kind == "body" and wiring.side[wiring.net[one.a]] == "neutral"


def _put(found: Rungs, one: Element, row: int) -> None:
    """Turn an element so that its left end comes first, and note its place."""
    wiring = found.wiring
    if one.kind == "source":
        found.rungs[one.key] = Rung(replace(one, a="", b=one.a), row, 0)
        return
    if _at_right(wiring, one):
        found.rungs[one.key] = Rung(replace(one, a="", b=one.a), row, found.loads)
        return
    nets = [wiring.net[end] for end in (one.a, one.b) if end]
    depths = [wiring.depth[net] for net in nets]
    if one.consumes:
        swap = _RANK[wiring.side[nets[1]]] < _RANK[wiring.side[nets[0]]]
    elif found.behind_loads(one):
        swap = depths[0] < depths[1]
    else:
        swap = len(nets) == 2 and depths[1] < depths[0]
    turned = replace(one, a=one.b, b=one.a) if swap else one
    found.rungs[one.key] = Rung(turned, row, found.column(one))
