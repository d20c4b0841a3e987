"""All that stays the same from frame to frame of a stand: drawings, controls, and what each place of a frame
is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collaudo.bench.naming import part_in_words
from collaudo.bench.running.stand import SPEEDS, Stand
from collaudo.drawing.screen import ScreenDrawing


@dataclass(frozen=True)
class Drawn:
    """A diagram: its SVG, how many stretches are numbered in it, which vessels show their water."""

    svg: str
    runs: int
    vessels: list[str]


@dataclass(frozen=True)
class ControlPosition:
    """A position: the word on the key, and what to send to the socket as ``do``."""

    word: str
    do: dict[str, Any]


@dataclass(frozen=True)
class StandControl:
    """Something a hand can work; ``part`` is what is touched to work it, empty where it is no part."""

    id: str
    part: str
    title: str
    kind: str
    positions: list[ControlPosition]
    caution: str


@dataclass(frozen=True)
class StandGauge:
    """A gauge and the end of its scale [unit]."""

    part: str
    title: str
    unit: str
    low: float
    high: float


@dataclass(frozen=True)
class StandPart:
    """A part of the machine."""

    part: str
    title: str
    kind: str


@dataclass(frozen=True)
class StandValue:
    """A value that can be shown over time."""

    name: str
    title: str
    part: str
    unit: str


@dataclass(frozen=True)
class StandCause:
    """A cause that can be put in to teach."""

    cause: str
    title: str
    part: str
    why: str
    cold_only: bool
    """Whether only while the machine stands cold and no time has passed."""


@dataclass(frozen=True)
class Layout:
    """What a page of the running machine needs once; see `collaudo.bench.running.frame` for frames."""

    stand: str
    machine: str
    title: str
    of_one_own: bool
    drawings: dict[str, Drawn]
    controls: list[StandControl]
    gauges: list[StandGauge]
    loads: list[str]
    seats: list[str]
    parts: list[StandPart]
    values: list[StandValue]
    causes: list[StandCause]
    speeds: list[int]
    notices: list[str]


TEACHING = "A twin to teach and to try on. Nothing here goes to findings."
STEAM_SCALE_BAR, BREW_SCALE_BAR = 3.0, 16.0
"""Usual ends of scales (common practice, no source)."""


def layout_of(stand: Stand, name: str, *, of_one_own: bool) -> Layout:
    """The layout of a stand called ``name``."""
    model, framer = stand.machine.model, stand.framer
    return Layout(
        stand=name,
        machine=stand.machine.id,
        title=stand.machine.title,
        of_one_own=of_one_own,
        drawings={of: _drawn(getattr(stand.drawings, of)) for of in ("water", "current", "heat")},
        controls=[
            StandControl(
                one.id,
                one.part,
                one.title,
                one.kind,
                [ControlPosition(position.word, position.do) for position in one.positions],
                one.caution,
            )
            for one in stand.controls
        ],
        gauges=[_gauge(stand, part) for part in framer.gauges],
        loads=framer.glance.loads,
        seats=list(framer.glance.seats),
        parts=[StandPart(part.name, part_in_words(part.name), part.kind) for part in model.parts.values()],
        values=[
            StandValue(one.name, one.title, one.part, one.unit) for one in framer.glance.channels.values()
        ],
        causes=_causes(stand),
        speeds=list(SPEEDS),
        notices=[TEACHING],
    )


def _drawn(drawing: ScreenDrawing) -> Drawn:
    return Drawn(drawing.svg, len(drawing.runs), list(drawing.vessels))


def _gauge(stand: Stand, part: str) -> StandGauge:
    """A boiler's gauge goes beyond its safety valve, any other beyond pump and relief valve."""
    names = stand.live.run.assembly.names
    zone = names.ports[f"{part}.in"]
    boilers = [one.name for one in stand.machine.model.parts.values() if one.kind == "boiler"]
    steam = zone in {names.zones[boiler] for boiler in boilers}
    return StandGauge(part, part_in_words(part), "bar", 0.0, STEAM_SCALE_BAR if steam else BREW_SCALE_BAR)


def _causes(stand: Stand) -> list[StandCause]:
    live = stand.live
    return [
        StandCause(one.id, one.title, live.roles[one.part], one.why, live.cold_only(one.id))
        for one in live.listed_causes
        if one.effects or one.held
    ]
