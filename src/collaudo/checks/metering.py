"""What a hand meter and a look inside tell at the end of a check: ohms, continuity, what is printed.

Resistances are those of parts unplugged from what surrounds them, as the steps of a check say. A hand meter
shows no more than `ENDLESS_OHM`.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import nan
from typing import Protocol

import numpy as np

from collaudo.errors import CatalogueError, Problem
from collaudo.machine.described import described
from collaudo.parts.ntc_sensor import NtcSensor
from collaudo.parts.part import declared_fields
from collaudo.parts.platinum_sensor import PlatinumSensor
from collaudo.parts.sensing import place_of as place_felt
from collaudo.quantities.units import to_si
from collaudo.twin.results import Results
from collaudo.twin.run import Run

ENDLESS_OHM = 2.0e7
"""Last range of an ordinary hand meter; beyond it is "open"."""
LEAST_OHM = 0.1
"""Its leads' own."""
FIRST_LEG = ".leg_1"


class Bench(Protocol):
    """A run with the readings taken on it."""

    @property
    def run(self) -> Run:
        """The machine."""

    @property
    def marks(self) -> Mapping[str, float]:
        """Named moments."""

    @property
    def results(self) -> Results:
        """Series."""

    def name(self, place: str) -> str:
        """A place in the machine's own names."""


def ohm(bench: Bench, place: str) -> float:
    """Resistance [ohm] of an element (all its legs side by side), of one of its legs (``element.leg_2``), of
    a motor or coil, of a bond, or of a sensor at the temperature it has at the end of the check."""
    name, names, tables = bench.name(place), bench.run.assembly.names, bench.run.tables
    if name in names.heaters:
        return _shown(float(1.0 / np.sum(1.0 / tables.heater.ohm[names.heaters[name]])))
    load = name.removesuffix(FIRST_LEG)
    if load in names.loads:
        return _shown(float(tables.load[names.loads[load]].ohm))
    part = bench.run.machine.parts.get(name)
    if isinstance(part, PlatinumSensor | NtcSensor):
        return _shown(part.resistance_ohm(to_si(_felt(bench, part), "degC")))
    bonds = [x.ohm for x in described(bench.run.machine).resistors if x.part == name]
    if len(bonds) == 1:
        return _shown(bonds[0])
    raise CatalogueError(Problem(f"{place} ({name}) has no resistance of its own", "name what has one"))


def felt_degC(bench: Bench, place: str) -> float:
    """Temperature [degC] a sensor's ohms stand for by its table; NaN where it is open or shorted."""
    part = bench.run.machine.part(bench.name(place))
    if not isinstance(part, PlatinumSensor | NtcSensor) or part.state != "sound":
        return nan
    return _felt(bench, part) + part.offset_K


def _felt(bench: Bench, part: PlatinumSensor | NtcSensor) -> float:
    felt = bench.results.series(f"temperature {place_felt(part.feels, part.at_place)}")
    return felt.at(bench.marks["end"])


def insulation_Mohm(bench: Bench) -> float:
    """Least insulation [Mohm] of all that heats, measured cold; hot, a damp one leads far better."""
    found = (getattr(part, "insulation_Mohm", None) for part in bench.run.machine.parts.values())
    return min((float(x) for x in found if x is not None), default=ENDLESS_OHM * 1e-6)


def _shown(value_ohm: float) -> float:
    return min(max(value_ohm, LEAST_OHM), ENDLESS_OHM)


def way(bench: Bench, terminal: str) -> float:
    """Resistance [ohm] across the contact that begins at a terminal (``cut_out.a``), as it stands at the end
    of the check."""
    name, run = bench.name(terminal), bench.run
    for number, contact in enumerate(described(run.machine).contacts):
        if contact.a == name:
            row = run.tables.contact[number]
            opened = float(row.open_ohm) or ENDLESS_OHM
            return min(float(row.ohm) if run.mode.closed[number] > 0.0 else opened, ENDLESS_OHM)
    raise CatalogueError(Problem(f"no contact begins at {terminal} ({name})", "name its first terminal"))


def sound(bench: Bench, place: str) -> float:
    """1 where the word in a field of a part is that of a sound part, 0 where it is another."""
    name, _, key = bench.name(place).partition(".")
    part = bench.run.machine.part(name)
    return float(getattr(part, key) == declared_fields(type(part))[key]["default"])


def figure(bench: Bench, place: str) -> float:
    """A number that follows from what a part declares (``drain_hose.carries_g_per_s``)."""
    name, _, key = bench.name(place).partition(".")
    return float(getattr(bench.run.machine.part(name), key))
