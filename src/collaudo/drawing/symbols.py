"""Graphic symbols: one data file each in the folder ``symbols``, read when first drawn.

A file says for each kind of drawing (``water``, ``current``) the symbol's size in units, its ports
(place and side), its shapes as SVG elements in five classes of line (none, ``thin``, ``solid``, ``paper``,
``dash``), how it may stand and what is written beside it. `docs/decisions/0008-drawing-layout.md` explains.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

import yaml

from collaudo.drawing.plane import Box, Stance
from collaudo.parts.part import Part

PLAIN = "box"
"""Symbol of a kind of part that has none of its own: a labelled box."""

_STANDS = {
    "upright": [Stance()],
    "mirrored": [Stance(), Stance(0, True)],
    "turned": [Stance(quarters) for quarters in range(4)],
    "any": [Stance(quarters, mirrored) for mirrored in (False, True) for quarters in range(4)],
}


@dataclass(frozen=True)
class PortPlace:
    """Where a port lies on the upright symbol, and on which side."""

    x: float
    y: float
    side: str


@dataclass(frozen=True)
class Symbol:
    """One symbol of one kind of drawing."""

    name: str
    width: float
    height: float
    ports: Mapping[str, PortPlace]
    shape: str
    stances: tuple[Stance, ...]
    says: tuple[str, ...] = ()
    """Fields whose value is written below the name."""
    sides: Mapping[str, str] = field(default_factory=dict)
    """Of a vessel: on which side a port lies."""
    role: str = "part"
    """part; vessel: as large as what it holds; mouth: once for each port joined; inside: in a vessel."""
    letters: tuple[tuple[str, float, float], ...] = ()
    """Letters in it, which stay upright: text, and the middle of it."""
    pull: tuple[int, int] = (0, 0)
    """Where it is looked for first: rightward, downward."""
    level: bool = False
    """Of a vessel: it stands partly filled."""
    basin: Box | None = None
    """Of what is open: where its water can stand. Its first shape is the wall."""
    contact: str = ""
    """Of the current: what works the part's contacts, as shapes."""
    plain: bool = False
    """Of the current: ``contact`` is the whole element, not what works a blade."""
    letters_with_load: bool = False
    """Of the current: the letters belong to the load, not to the contacts."""


@cache
def _file(name: str) -> dict[str, Any]:
    folder = resources.files("collaudo.drawing") / "symbols"
    path = folder / f"{name}.yaml"
    if not path.is_file():
        return {}
    found: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return found


@cache
def symbol(name: str, of: str) -> Symbol | None:
    """The symbol called ``name`` for drawings ``of`` water or current; None where there is none."""
    data = _file(name).get(of)
    if data is None:
        return None
    width, height = data.get("size", (40, 40))
    ports = {port: PortPlace(*place) for port, place in data.get("ports", {}).items()}
    says = data.get("says", ())
    return Symbol(
        name,
        width,
        height,
        ports,
        data.get("shape", data.get("load", "")),
        tuple(_STANDS[data.get("stands", "upright")]),
        (says,) if isinstance(says, str) else tuple(says),
        data.get("sides", {}),
        data.get("role", "part"),
        tuple((str(text), x, y) for text, x, y in data.get("letters", ())),
        tuple(data.get("pull", (0, 0))),
        data.get("level", False),
        Box(*data["basin"]) if "basin" in data else None,
        data.get("contact", ""),
        data.get("plain", False),
        "load" in data,
    )


def symbol_of(part: Part, of: str) -> Symbol | None:
    """The symbol of a part: the one its kind names, else the one called like its kind."""
    return symbol(part.kind if part.symbol == PLAIN else part.symbol, of)


def water_symbol(part: Part) -> Symbol:
    """The symbol of a part that carries water; the plain box where it has none."""
    return symbol_of(part, "water") or symbol(PLAIN, "water") or _BARE


_BARE = Symbol(PLAIN, 40, 40, {}, "", (Stance(),))
