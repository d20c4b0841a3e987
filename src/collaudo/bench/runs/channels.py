"""Everything a run keeps on record, by names with units: gauges, temperatures, flows, volts, what is on."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.quantities.units import split_suffix, unit_of
from collaudo.twin.results import Results
from collaudo.twin.run import Run

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Channel:
    """One quantity on record."""

    name: str
    """What it is of, and its unit: ``brew_gauge_bar``, ``pump_flow_g_per_s``."""
    title: str
    """In words."""
    part: str
    """Part of the machine it is of; empty where it is of none."""
    query: str
    """How `Results` calls it."""

    @property
    def unit(self) -> str:
        """Suffix of its unit."""
        return split_suffix(self.name)[1]

    @property
    def unit_text(self) -> str:
        """Its unit as printed; empty for shares."""
        return unit_of(self.unit).text


def channels_of(run: Run) -> dict[str, Channel]:
    """All channels of a run by name; first those of `collaudo.bench.runs.series`, under the same names."""
    found: dict[str, Channel] = {}
    for name, title, place, query in (*_of_bench(run), *_of_water(run), *_of_current(run)):
        part = place.partition(".")[0]
        found.setdefault(name, Channel(name, title, part if part in run.machine.parts else "", query))
    return found


_Row = tuple[str, str, str, str]
"""Name, title, place, query."""


def _of_bench(run: Run) -> Iterator[_Row]:
    names, kinds = run.assembly.names, {part.name: part.kind for part in run.machine.parts.values()}
    for part, kind in kinds.items():
        if kind == "gauge":
            yield f"{part}_bar", f"pressure at the {_said(part)}", part, f"pressure {part}.in"
    for wall in names.walls:
        yield f"{wall}_degC", f"temperature of the {_said(wall)}", wall, f"temperature {wall}"
    for part in names.zones:
        if part not in _vessels(run) and not _between(part):
            yield f"{_plain(part)}_g", f"water in the {_said(part)}", part, f"mass {part}"
    for load in names.loads:
        yield f"{_plain(load)}_share", f"{_said(load)} under current", load, f"load {load}"


def _of_water(run: Run) -> Iterator[_Row]:
    names, parts = run.assembly.names, run.machine.parts
    for part, kind in ((part.name, part.kind) for part in parts.values()):
        if kind == "gauge":
            yield f"{part}_shown_bar", f"what the {_said(part)} shows", part, f"gauge {part}"
    for zone in _vessels(run):
        yield f"{zone}_pressure_bar", f"pressure in the {_said(zone)}", zone, f"pressure {zone}"
        yield f"{zone}_level_share", f"level in the {_said(zone)}", zone, f"level {zone}"
    for port in names.ports:
        part, _, word = port.partition(".")
        known = part in parts and part not in _vessels(run)
        if known and parts[part].kind not in ("gauge", "receiver", "tank", "drip_tray"):
            yield f"{part}_{word}_bar", f"pressure at the {_said(part)}, {word}", port, f"pressure {port}"
    for cell in names.cells:
        place = cell.removesuffix(".water")
        if not _between(place):
            title = f"temperature of the water, {_said(place)}"
            yield f"{_plain(place)}_water_degC", title, place, f"temperature {cell}"
    for element in names.elements:
        if not _between(element):
            yield f"{_plain(element)}_flow_g_per_s", f"flow, {_said(element)}", element, f"flow {element}"
            if element in parts and parts[element].kind in ("tap", "portafilter", "safety_valve"):
                title = f"steam in the flow, {_said(element)}"
                yield f"{element}_steam_share", title, element, f"steam {element}"
    if run.tables.loop.size == 1:
        yield "circulation_flow_g_per_s", "flow round the group by circulation", "", "circulation"
    for meter in names.meters:
        yield f"{meter}_metered_ml", f"counted by the {_said(meter)}", meter, f"metered {meter}"


def _of_current(run: Run) -> Iterator[_Row]:
    names = run.assembly.names
    for heater in names.heaters:
        yield f"{heater}_power_W", f"power of the {_said(heater)}", heater, f"power {heater}"
    for regulator in names.regulators:
        title = f"share of the time the {_said(regulator)} calls for heat"
        yield f"{regulator}_duty_share", title, regulator, f"duty {regulator}"
    for load in names.loads:
        yield f"{_plain(load)}_V", f"voltage at the {_said(load)}", load, f"volts {load}"
        yield f"{_plain(load)}_A", f"current of the {_said(load)}", load, f"amps {load}"


def _vessels(run: Run) -> list[str]:
    names = run.assembly.names.zones
    return [zone for zone, n in names.items() if run.tables.zone[n].is_vessel == 1 and not _between(zone)]


def _between(place: str) -> bool:
    """Junctions of lines and pieces of pipes are no parts of a name's length."""
    return " " in place


def _plain(place: str) -> str:
    return place.replace(".", "_")


def _said(place: str) -> str:
    return place.replace(".", ", ").replace("_", " ")


def recorded(run: Run, channels: dict[str, Channel]) -> tuple[Floats, dict[str, Floats]]:
    """Times [s] of a run's steps, and the values of each channel at them."""
    results = Results(run)
    values = {name: np.array(results.series(channel.query).values) for name, channel in channels.items()}
    return np.array(results.time_s), values


def latest(run: Run, channel: Channel) -> float:
    """What a channel shows now; what hands have moved since the last step acts."""
    run.advance(0.0)
    one = copy.copy(run)
    one.frames = [next(frame for frame in reversed(run.frames) if len(frame))[-1:]]
    return float(Results(one).series(channel.query).values[-1])
