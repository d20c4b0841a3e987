"""Small circuits written by hand: a few vessels, walls, contacts, without parts or machine file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from collaudo.machine.model import Machine
from collaudo.parts.circuit import (
    Cell,
    Circuit,
    Device,
    Load,
    Member,
    Meter,
    Reservoir,
    Site,
    Source,
    Vessel,
    VesselPort,
)
from collaudo.parts.part import Part
from collaudo.twin.assemble import assemble
from collaudo.twin.kernel.rates import rates
from collaudo.twin.layout import Line
from collaudo.twin.results import Results
from collaudo.twin.run import Run

Say = Callable[[Circuit], None]
COLD_K = 295.15


@dataclass(frozen=True)
class Bench(Part):
    """Says to the circuit whatever a test wants said."""

    says: tuple[Say, ...] = field(default=())

    def describe(self, circuit: Circuit) -> None:
        """A supply of two poles, a room, and what is said besides."""
        circuit.sources += [Source("live", 1.0), Source("neutral")]
        reservoir(circuit, "room")
        for say in self.says:
            say(circuit)


def bench(
    *says: Say, wires: tuple[tuple[str, str], ...] = (), lines: tuple[Line, ...] = (), **options: Any
) -> Run:
    """A run of what is said; ``options`` are the site's, ``rtol`` the run's."""
    rtol = options.pop("rtol", 1e-3)
    site = Site(**{"room_K": COLD_K, **options})
    part = Bench("bench", tuple(says))
    assembly = assemble([part], list(lines), list(wires), site)
    return Run(Machine("bench", "bench", {"bench": part}, (), ()), assembly, rtol=rtol)


def reservoir(
    circuit: Circuit, name: str, gauge_Pa: float = 0.0, level: float = 0.0, K: float = COLD_K
) -> None:
    """A space of given pressure with ports ``in`` and ``out``."""
    pressure = circuit.site.atmosphere_Pa + gauge_Pa
    circuit.reservoirs[name] = Reservoir(name, pressure, K, level)
    for port in ("in", "out"):
        circuit.reservoir_ports[f"{name}.{port}"] = (name, 0.0)


def chamber(circuit: Circuit, name: str, volume_m3: float, compliance: float, **more: Any) -> None:
    """A vessel of one cell, a port ``in`` and a port ``out`` at its foot."""
    circuit.vessels[name] = Vessel(name, [Cell("water", volume_m3)], [], compliance, **more)
    for port in ("in", "out"):
        circuit.ports[f"{name}.{port}"] = VesselPort(name, 0, 0.0)


def throat(circuit: Circuit, name: str, inlet: str, outlet: str, bore_mm: float, **more: Any) -> None:
    """A jet or valve with a coefficient of 0.7."""
    area = 0.7 * 0.25 * np.pi * (bore_mm * 1e-3) ** 2
    circuit.members.append(Member(name, inlet, outlet, area, **more))


def dosed(
    circuit: Circuit,
    dose_ml: float,
    counted_share: float = 1.0,
    time_out_s: float = 60.0,
    supply: bool = False,
) -> None:
    """A button ``brew``, a dose control, its meter on the part ``wheel``."""
    circuit.inputs["brew"] = 0.0
    circuit.meters.append(Meter("meter", "wheel", counted_share))
    load = ""
    if supply:
        circuit.loads.append(Load("board", "board.live", "neutral", 1e4))
        load = "board"
    circuit.devices.append(
        Device(
            "dose",
            "dose",
            "meter",
            "meter",
            load=load,
            input="brew",
            high=dose_ml * 1e-6,
            time_out_s=time_out_s,
        )
    )


def values(run: Run, name: str) -> Any:
    """Values of a series."""
    return Results(run).series(name).values


def at(run: Run, name: str, time_s: float) -> float:
    """A series at a time."""
    return Results(run).series(name).at(time_s)


def happened(run: Run, device: str) -> list[tuple[float, float]]:
    """Times and phases of a device's changes."""
    return [(t, phase) for t, name, phase in run.events if name == device]


def worst_slope(
    run: Run, skip: Callable[[str, str], bool] = lambda _row, _column: False
) -> tuple[float, str]:
    """Largest error of the Jacobian at this moment, quadratures included, each entry over the largest of its
    row; compared with one-sided differences of four sizes."""
    n, total = (int(count) for count in run.tables.state_count)
    run.advance(0.0)
    state = run.tables.state
    scale = state.scale_absolute[:n] + np.abs(run.y[:n]) * state.scale_relative[:n]
    here, there = np.zeros(total), np.zeros(total)
    rates(run.y, here, True, run.tables, run.mode, run.work)
    own = run.work.jacobian.copy() * scale
    low, high = np.full((total, n), np.inf), np.full((total, n), -np.inf)
    for k in range(n):
        for step in (1e-5, 1e-6, 1e-7, 1e-8):
            for side in (-1.0, 1.0):
                y = run.y.copy()
                y[k] += side * step * scale[k]
                rates(y, there, False, run.tables, run.mode, run.work)
                slope = (there - here) / (y[k] - run.y[k]) * scale[k]
                low[:, k], high[:, k] = np.minimum(low[:, k], slope), np.maximum(high[:, k], slope)
    off = np.maximum(np.maximum(low - own, own - high), 0.0)
    largest = np.maximum(np.abs(low), np.abs(high)).max(axis=1, keepdims=True)
    # a row that moves by less than a millionth of its unit of tolerance a second is at rest
    at_rest = 1e-6 * np.concatenate([scale, np.full(total - n, 1e-3)])
    share = off / (largest + at_rest[:, None])
    air = [z.air for z in run.tables.zone if z.is_vessel == 1 and run.y[z.air] < 1e-12]
    # air there is none of has no slope to speak of
    share[:, air] = 0.0
    names = [*run.assembly.names.states, *(f"quadrature {r}" for r in range(total - n))]
    worst, where = 0.0, ""
    for i in range(total):
        for j in range(n):
            if share[i, j] > worst and not skip(names[i], names[j]):
                worst, where = float(share[i, j]), f"{names[i]} by {names[j]}"
    return worst, where
