"""What is kept of each moment of a run."""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.tables import Floats, Mode, Work


@inlined
def record_frame(t: float, y: Floats, md: Mode, wk: Work, frames: Floats, count: int) -> None:
    """Row ``count`` of ``frames``: time, states, (pressure, level) of zones, (flow, steam, liquid share) of
    elements, temperatures of nodes, edge flows of cells, phases of devices, volts across loads, which act,
    power of heaters, duty of controllers."""
    row = frames[count]
    row[0] = t
    at = 1
    for k in range(y.size):
        row[at + k] = y[k]
    at += y.size
    for z in range(wk.zone.size):
        row[at] = wk.zone[z].pressure
        row[at + 1] = wk.zone[z].level
        at += 2
    for e in range(wk.element.size):
        row[at] = wk.element[e].flow
        row[at + 1] = wk.element[e].steam_share
        row[at + 2] = wk.element[e].liquid_share
        at += 3
    for i in range(wk.temperature.size):
        row[at + i] = wk.temperature[i]
    at += wk.temperature.size
    for i in range(wk.cell.size):
        row[at + i] = wk.cell[i].edge
    at += wk.cell.size
    for d in range(md.device.size):
        row[at + d] = md.device[d].phase
    at += md.device.size
    for k in range(md.load_V.size):
        row[at + k] = md.load_V[k]
    at += md.load_V.size
    for k in range(md.energised.size):
        row[at + k] = md.energised[k]
    at += md.energised.size
    for k in range(wk.power.size):
        row[at + k] = wk.power[k]
    at += wk.power.size
    for r in range(wk.regulator.size):
        row[at + r] = wk.regulator[r].duty


@compiled
def frame_width(y: Floats, md: Mode, wk: Work) -> int:
    """Columns of a frame."""
    return (
        1
        + y.size
        + 2 * wk.zone.size
        + 3 * wk.element.size
        + wk.temperature.size
        + wk.cell.size
        + md.device.size
        + md.load_V.size
        + md.energised.size
        + wk.power.size
        + wk.regulator.size
    )
