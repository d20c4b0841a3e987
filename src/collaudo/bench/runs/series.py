"""Series of a run in the units of the bench: gauges, temperatures, what ran out, what is switched on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from collaudo.quantities.units import from_si

if TYPE_CHECKING:
    from collaudo.twin.run import Run

Floats = NDArray[np.float64]


def series_of(run: Run) -> dict[str, Floats]:
    """Series by name, all as long as ``time_s``.

    ``<gauge>_bar`` above the room, ``<wall>_degC``, ``<tank or receiver>_g`` of water, ``<load>_share``:
    1 while a load is energised, else 0. A jump stands as two rows of the same time, before and after.
    """
    from collaudo.twin.results import Results

    rows: Floats = np.concatenate(run.frames)
    names, tables = run.assembly.names, run.tables
    states = rows[:, 1 : 1 + run.y.size]
    zones = rows[:, 1 + run.y.size :]
    results = Results(run)
    found: dict[str, Floats] = {"time_s": rows[:, 0]}
    for part in _parts(run, "gauge"):
        # Of each zone pressure and level are kept.
        gauge_Pa = zones[:, 2 * names.ports[f"{part}.in"]] - run.assembly.site.atmosphere_Pa
        found[f"{part}_bar"] = from_si(gauge_Pa, "bar")
    for wall, number in names.walls.items():
        found[f"{wall}_degC"] = from_si(states[:, int(tables.wall["state"][number])], "degC")
    for part in (*_parts(run, "tank"), *_parts(run, "receiver")):
        found[f"{part}_g"] = from_si(states[:, int(tables.zone["mass"][names.zones[part]])], "g")
    for load in names.loads:
        found[f"{load}_share"] = results.series(f"load {load}").values
    return found


def _parts(run: Run, kind: str) -> list[str]:
    return [part.name for part in run.machine.parts.values() if part.kind == kind]
