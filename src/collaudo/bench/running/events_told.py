"""What happens in a running machine beside its switching: pumps start, lamps light, valves let go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.bench.naming import part_in_words
from collaudo.bench.running.glance import Glance
from collaudo.bench.runs.events import ToldEvent
from collaudo.twin.run import Run

Floats = NDArray[np.float64]
LOADS = {
    "vibration_pump": ("starts", "stops"),
    "pump_motor": ("starts", "stops"),
    "heating_element": ("heats", "stops heating"),
    "cartridge_heater": ("heats", "stops heating"),
    "flow_through_heater": ("heats", "stops heating"),
    "solenoid_valve": ("opens", "shuts"),
    "three_way_valve": ("opens to the group", "opens to the drain"),
    "lamp": ("lights", "goes out"),
}
"""Kinds of part that take current: what they do with it, and without."""
LETS_GO = ("relief_valve", "safety_valve")
FROM_KG_PER_S, TO_KG_PER_S = 1e-4, 2e-5
"""A valve lets go from the first flow on, and is shut again below the second."""


@dataclass
class _Watched:
    """Columns of the row that tell of one part, and how it stood last."""

    part: str
    columns: list[int]
    above: float
    below: float
    words: tuple[str, str]
    pressure: int = -1
    """Column of the pressure before it; -1: none is told."""
    on: bool | None = None


class Watcher:
    """Watches rows of one run go by. A class because it remembers how each part stood."""

    def __init__(self, run: Run, glance: Glance) -> None:
        self._atmosphere_Pa = run.assembly.site.atmosphere_Pa
        self._watched = [*_loads(run, glance), *_valves(run, glance)]

    def told(self, rows: Floats) -> list[ToldEvent]:
        """What began and ended in these rows, in order of time."""
        found: list[ToldEvent] = []
        for one in self._watched:
            most = rows[:, one.columns].max(axis=1)
            on, off = most > one.above, most <= one.below
            if one.on is not None and not (off.any() if one.on else on.any()):
                continue
            for n in np.flatnonzero(on | off).tolist():
                now = bool(on[n])
                if now != one.on:
                    if one.on is not None:
                        found.append(self._event(one, rows[n], now))
                    one.on = now
        return sorted(found, key=lambda event: event.time_s)

    def _event(self, one: _Watched, row: Floats, now: bool) -> ToldEvent:
        reached = None
        if one.pressure >= 0:
            reached = float((row[one.pressure] - self._atmosphere_Pa) * 1e-5), "bar"
        text = f"{part_in_words(one.part)} {one.words[0 if now else 1]}"
        return ToldEvent.at(float(row[0]), one.part, text, reached)


def _loads(run: Run, glance: Glance) -> list[_Watched]:
    found: dict[str, _Watched] = {}
    for load, n in run.assembly.names.loads.items():
        part = load.partition(".")[0]
        words = LOADS.get(run.machine.parts[part].kind) if part in run.machine.parts else None
        if words:
            one = found.setdefault(part, _Watched(part, [], 0.5, 0.5, words))
            one.columns.append(glance.start["load"] + n)
    return list(found.values())


def _valves(run: Run, glance: Glance) -> list[_Watched]:
    names, found = run.assembly.names, []
    for part in run.machine.parts.values():
        if part.kind in LETS_GO and part.name in names.elements and part.at("in") in names.ports:
            flow = glance.start["element"] + 3 * names.elements[part.name]
            pressure = glance.start["zone"] + 2 * names.ports[part.at("in")]
            words = "begins to let go", "shuts again"
            found.append(_Watched(part.name, [flow], FROM_KG_PER_S, TO_KG_PER_S, words, pressure))
    return found
