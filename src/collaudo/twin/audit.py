"""Books of water, air and energy: nothing may appear or vanish in a run.

Residual over (what came in + what went out + largest change of a store); water and air balance to round-off
because
masses are states and every flow is booked twice, energy to the tolerance because temperatures are states.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from collaudo.fluid.air import CV_AIR
from collaudo.fluid.water import vapour_energy
from collaudo.twin.kernel.closure import close

if TYPE_CHECKING:
    from collaudo.twin.run import Run

Floats = NDArray[np.float64]


def stores(run: Run, y: Floats) -> dict[str, Floats]:
    """Water [kg], air [kg] and energy [J] in each store of a state; energy less what came in by wire."""
    tb, wk = run.tables, run.work
    close(y, False, tb, wk)
    water, air, energy = [], [], []
    for z in range(tb.zone.size):
        zone = tb.zone[z]
        if zone.is_vessel == 1:
            water.append(zone.mass_reference + y[zone.mass])
            air.append(y[zone.air] if zone.air >= 0 else 0.0)
            energy.append(_vessel_energy(run, z, float(air[-1])))
        else:
            water.append(y[zone.mass])
            energy.append(y[zone.energy])
    air.append(y[_shared_air(run)])
    energy += [float(w.capacity) * y[w.state] for w in tb.wall]
    total = int(tb.state_count[1])
    energy += [y[total - 2], -y[total - 1]]
    return {"water": np.array(water), "air": np.array(air), "energy": np.array(energy)}


def _shared_air(run: Run) -> int:
    return int(next(zone.air for zone in run.tables.zone if zone.is_vessel == 0))


def _vessel_energy(run: Run, z: int, air: float) -> float:
    tb, wk = run.tables, run.work
    first, top = int(tb.zone_first[z]), int(tb.zone_first[z + 1]) - 1
    work = wk.zone[z]
    total = 0.0
    for i in range(first, top):
        total += work.shrink * tb.cell[i].mass * wk.energy[i]
    T = wk.temperature[top]
    e = wk.energy[top]
    total += work.top_mass * e + work.vapour * (vapour_energy(T)[0] - e) + air * CV_AIR * (T - 273.15)
    return float(total + tb.zone[z].metal * T)


def balances(run: Run) -> dict[str, float]:
    """Relative residuals of water, air and energy since the run began (or since parts were last changed)."""
    now, then = stores(run, run.y), run.opening_books
    result = {}
    for name, amounts in now.items():
        change = amounts - then[name]
        moved = float(np.abs(change).sum()) + float(np.abs(change).max())
        result[name] = abs(float(change.sum())) / max(moved, 1e-12)
    return result
