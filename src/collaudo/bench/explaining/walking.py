"""A path to be walked step by step: what is told at each part, and where that stands in the drawing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain

from collaudo.bench.explaining.paths import MATTERS, cautions_beside
from collaudo.bench.explaining.states import snapshot_of, states_of
from collaudo.diagnosis.cache import machine_bytes
from collaudo.drawing.draw import Diagram, diagram, groups_of, sheet_svg
from collaudo.drawing.plane import around
from collaudo.drawing.svg import number
from collaudo.drawing.water import hosts
from collaudo.errors import unknown_name
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.paths.path import path_in
from collaudo.paths.stepwise import ToldStep, stepwise
from collaudo.paths.telling import AUDIENCES
from collaudo.paths.view import part_of

MARGIN = 12.0
"""Round the drawing, in its units."""
MOST_HELD = 24
"""Paths kept, some 0.2 MB each."""
_QUANTITY = re.compile(r"(?<![\w.])(?:(\d+(?:\.\d+)?) to )?(\d+(?:\.\d+)?) (bar|°C|degC)(?!\w)")
_UNITS = {"bar": "bar", "°C": "degC", "degC": "degC"}


@dataclass(frozen=True)
class Piece:
    """A piece of a sentence; with a unit: a quantity (or from one to another), to be shown in any unit."""

    text: str
    values: tuple[float, ...] = ()
    unit: str = ""


@dataclass(frozen=True)
class WalkStep:
    """One stop on the way."""

    parts: tuple[str, ...]
    name: str
    sentence: tuple[Piece, ...]
    now: tuple[Piece, ...]
    fails: str
    here: tuple[str, ...]
    """Ids of the groups in the drawing that are its part."""
    reached_by: tuple[str, ...]
    """Ids of the groups of the lines or wires it was reached by."""


@dataclass(frozen=True)
class WalkPart:
    """Steps that belong together. ``kind``: way, branch, circulation, closed."""

    kind: str
    title: str
    why: tuple[Piece, ...]
    steps: tuple[WalkStep, ...]


@dataclass(frozen=True)
class Walking:
    """A path through a machine in a state, for one who reads it."""

    machine: str
    title: str
    state: str
    state_title: str
    state_text: str
    of: str
    audience: str
    summary: tuple[Piece, ...]
    walks: tuple[WalkPart, ...]
    cautions: tuple[tuple[Piece, ...], ...]
    drawing: str
    """SVG without styles of its own; classes as in all drawings."""


def walking(machine: str, state: str, of: str, audience: str) -> Walking:
    """The path of ``water``, ``heat`` or ``current`` in a state, for ``apprentice`` or ``customer``.

    Raises `InputError` for what cannot be used, `RunError` where the twin cannot go on.
    """
    if of not in MATTERS:
        raise unknown_name("matter", of[:60], MATTERS)
    if audience not in AUDIENCES:
        raise unknown_name("reader", audience[:60], AUDIENCES)
    return _walked(machine, machine_bytes(machine), state, of, audience)


@lru_cache(maxsize=MOST_HELD)
def _walked(machine: str, _text: bytes, state: str, of: str, audience: str) -> Walking:
    """Laid out once for a text of the machine: a drawing takes some tenths of a second."""
    built = find_machine(machine)
    snapshot = snapshot_of(built, state)
    summary = next(one for one in states_of(built) if one.state == state)
    path = path_in(snapshot, built, of, summary.title)
    shown = diagram(built, snapshot, of)
    marks = _Marks(built, shown)
    walks = tuple(
        WalkPart(walk.kind, walk.title, pieces(walk.why), tuple(marks.steps(walk.steps)))
        for walk in stepwise(path, audience)
    )
    looks = cautions_beside(of) if audience == "apprentice" else []
    return Walking(
        machine=built.id,
        title=built.title,
        state=state,
        state_title=summary.title,
        state_text=summary.text,
        of=of,
        audience=audience,
        summary=pieces(path.summary),
        walks=walks,
        cautions=tuple(map(pieces, looks)),
        drawing=_drawing(shown, "\n".join(sheet_svg(shown, snapshot))),
    )


def pieces(text: str) -> tuple[Piece, ...]:
    """A sentence in pieces, so that its pressures and temperatures can be shown in other units."""
    found: list[Piece] = []
    end = 0
    for match in _QUANTITY.finditer(text):
        low, high, unit = match.groups()
        if before := text[end : match.start()]:
            found.append(Piece(before))
        values = tuple(float(value) for value in (low, high) if value is not None)
        found.append(Piece(match[0].replace("degC", "°C"), values, _UNITS[unit]))
        end = match.end()
    return (*found, Piece(text[end:])) if text[end:] else tuple(found)


class _Marks:
    """Where steps stand in a drawing."""

    def __init__(self, machine: Machine, shown: Diagram) -> None:
        self.machine, self.groups = machine, groups_of(shown)
        self.drawn = {part for one in shown.sheet.placed.values() for part in one.item.picture.shapes}
        joined = {"current": machine.wires}.get(shown.of)
        ends = joined if joined is not None else [(line.from_port, line.to_port) for line in machine.lines]
        self.kind = "wire" if joined is not None else "line"
        self.between: dict[frozenset[str], list[int]] = {}
        for k, (a, b) in enumerate(ends):
            self.between.setdefault(frozenset((part_of(a), part_of(b))), []).append(k)

    def steps(self, told: tuple[ToldStep, ...]) -> Iterator[WalkStep]:
        """Each step with its marks."""
        before = ""
        for one in told:
            lines = set(chain.from_iterable(step.lines for step in one.steps))
            parts = tuple(dict.fromkeys(step.part for step in one.steps))
            if not lines:
                came = [before, *(part_of(step.enters) for step in one.steps)]
                pairs = [frozenset((giver, part)) for giver in came for part in parts if giver]
                lines = set(chain.from_iterable(self.between.get(pair, ()) for pair in pairs))
            keys = [f"{self.kind}-{n}" for n in sorted(lines)]
            yield WalkStep(
                parts,
                one.name,
                pieces(one.sentence),
                pieces(one.now),
                one.fails,
                tuple(dict.fromkeys(f"part-{one}" for part in parts for one in self._at(part))),
                tuple(dict.fromkeys(chain.from_iterable(self.groups.get(key, ()) for key in keys))),
            )
            before = parts[-1]

    def _at(self, part: str) -> list[str]:
        """Where a part stands: itself, else on what it sits or what it feels, as a cut-out on its pump, else
        at what reads it, as a sensor at its controller."""
        if part in self.drawn:
            return [part]
        sits = [other for _, other in hosts(self.machine.parts[part], self.drawn)]
        reads = [
            name for name, other in self.machine.parts.items() if name in self.drawn and hosts(other, [part])
        ]
        return (sits + reads)[:1]


def _drawing(shown: Diagram, content: str) -> str:
    box = around([shown.sheet.box, *(one.box for one in shown.heat), *(one.box for one in shown.flow_labels)])
    view = box.grown(MARGIN)
    corner = f"{number(view.left)} {number(view.top)} {number(view.width)} {number(view.height)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{corner}" class="drawing of-{shown.of}">'
        f"\n{content}\n</svg>"
    )
