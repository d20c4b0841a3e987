"""A machine on the bench, running: operate it, let time pass, read it, save and branch it."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collaudo.errors import RunError, unknown_name
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Site
from collaudo.twin.assemble import Assembly, assemble
from collaudo.twin.kernel import advance as loop
from collaudo.twin.kernel import tables as k
from collaudo.twin.kernel.methods import METHODS
from collaudo.twin.layout import Line

Floats = NDArray[np.float64]
DEFAULT_RTOL = 1e-4
_FRAMES = 4096
_EVENTS = 512


def build(machine: Machine, site: Site | None = None, cell_factor: int = 1) -> Assembly:
    """Assemble a validated machine for a site."""
    lines = [Line(x.from_port, x.to_port, x.bore_mm * 1e-3, x.length_mm * 1e-3, x.fittings, x.line) for x in machine.lines]
    return assemble(list(machine.parts.values()), lines, list(machine.wires), site or Site(), cell_factor)


def _mode(tb: k.Tables, inputs: Floats) -> k.Mode:
    devices, loads = tb.device_kind.size, tb.load_a.size
    throats = int(tb.law_start[1]) + int(tb.law_start[6] - tb.law_start[5])
    return k.Mode(
        inputs=inputs.copy(),
        device=np.zeros(devices),
        forced=np.full(devices, -1.0),
        timer=np.full(devices, np.inf),
        since=np.zeros(devices),
        energised=np.zeros(loads),
        label=np.zeros(int(tb.terminal_count[0]), np.int64),
        throat_area=np.zeros(throats),
        throat_bed=np.zeros(throats),
        pump_on=np.zeros(tb.pump_load.size),
        heater_W=np.zeros(tb.heater_node.size),
        toggles=np.zeros((devices, 2)),
    )


def make_work(tb: k.Tables, stages: int) -> k.Work:
    """Scratch arrays for one thread."""
    n, total = int(tb.state_count[0]), int(tb.state_count[1])
    cells, zones, flows = tb.cell_zone.size, tb.zone_is_vessel.size, tb.zone_a.size
    walls = tb.wall_state.size + tb.fixed_temperature.size
    nodes = cells + walls
    sizes: dict[str, Any] = dict.fromkeys(
        ("rho", "drho", "energy", "heat", "p_by_cell", "mv_by_cell", "level_by_cell", "edge", "source", "income"), cells
    )
    sizes.update(
        dict.fromkeys(
            (
                "pressure",
                "gas_volume",
                "level",
                "vapour",
                "gas_density",
                "vapour_share",
                "top_mass",
                "shrink",
                "dshrink",
                "p_by_mass",
                "p_by_air",
                "mv_by_mass",
                "level_by_mass",
                "saturation",
                "dsaturation",
                "zone_gain",
                "zone_air_gain",
                "top_capacity",
            ),
            zones,
        )
    )
    sizes.update({name: flows for name in k.Work._fields if name.startswith("flow") or name == "rho_by_level"})
    sizes.update(dict.fromkeys(("liquid_share", "steam_share", "air_share", "liquid_by_level"), flows))
    sizes.update(temperature=nodes, wall_gain=walls, wall_by=(walls, n), jacobian=(total, n), system=(n, n))
    sizes.update(source_by=(cells, n), income_by=(cells, n), gain_by=(zones, n), air_by=(zones, n))
    sizes.update(dict.fromkeys(("dflow", "dlevel"), 2 * n + 2))
    sizes.update(dict.fromkeys(("stage_y", "rate", "trial", "error", "right", "dense_y", "old_rate"), total))
    sizes.update(stage=(stages, total), watched=tb.device_kind.size, watched_mid=tb.device_kind.size)
    arrays = {name: np.zeros(size) for name, size in sizes.items()}
    return k.Work(column=np.zeros(2 * n + 2, np.int64), **arrays)


@dataclass
class Moment:
    """A saved moment of a run: everything needed to go on from it."""

    y: Floats
    clock: Floats
    mode: tuple[NDArray[Any], ...]
    parameters: Floats


@dataclass
class Run:
    """A running machine. Times in s, everything else SI; gauge pressures are above the site's atmosphere."""

    machine: Machine
    assembly: Assembly
    rtol: float = DEFAULT_RTOL
    method: str = "rodas4"
    keep: bool = True
    frames: list[Floats] = field(default_factory=list)
    events: list[tuple[float, str, float]] = field(default_factory=list)
    wall_s: float = 0.0
    steps: int = 0
    rejected: int = 0

    def __post_init__(self) -> None:
        tb = self.assembly.tables
        self.tables = tb._replace()
        self.mode = _mode(tb, self.assembly.inputs)
        self._method = METHODS[self.method]()
        self.work = make_work(tb, self._method.m.size)
        self.y = self.assembly.start.copy()
        self.clock = np.array([0.0, 1e-3, 1.0])
        self._buffer: Floats | None = None
        self._event_buffer = np.zeros((_EVENTS, 3))
        self._start_y = self.y.copy()

    @classmethod
    def of(cls, machine: Machine, site: Site | None = None, cell_factor: int = 1, **options: Any) -> Run:
        """A cold machine on the bench."""
        return cls(machine, build(machine, site, cell_factor), **options)

    @property
    def time_s(self) -> float:
        """Time since the run began."""
        return float(self.clock[0])

    def set_input(self, name: str, value: float) -> None:
        """Move what a hand moves: ``power``, ``lever``, ``steam_tap`` … to a position 0..1."""
        inputs = self.assembly.names.inputs
        if name not in inputs:
            raise unknown_name("input", name, inputs)
        self.mode.inputs[inputs[name]] = value
        self.clock[2] = 1.0

    def force(self, device: str, on: bool | None) -> None:
        """Hold a device's state (a stuck contact, an outside schedule); None frees it."""
        devices = self.assembly.names.devices
        if device not in devices:
            raise unknown_name("device", device, devices)
        self.mode.forced[devices[device]] = -1.0 if on is None else float(on)
        self.clock[2] = 1.0

    def patch(self, parameters: Floats) -> None:
        """Replace the parameters by those of another draw or a fault of the same machine, in the middle of a run."""
        self.tables.parameters[:] = parameters
        self.clock[2] = 1.0

    def change(self, changes: Mapping[str, float | str]) -> None:
        """Change declared fields of parts now: ``{"portafilter.holds": "blind"}``."""
        self.machine = self.machine.with_fields(changes)
        self.patch(build(self.machine, self.assembly.site).tables.parameters)

    def advance(self, seconds: float) -> None:
        """Let time pass. Raises `RunError` naming state, part and time when the run cannot go on."""
        until = self.time_s + seconds
        while True:
            if self._buffer is None:
                self._buffer = np.empty((_FRAMES, int(loop.frame_width(self.y, self.mode, self.work))))
            counts = np.zeros(5)
            begin = time.perf_counter()
            code = loop.advance(
                self.y,
                self.clock,
                until,
                self.rtol,
                self._method,
                self.tables,
                self.mode,
                self.work,
                self._buffer,
                self._event_buffer,
                counts,
            )
            self.wall_s += time.perf_counter() - begin
            self.steps += int(counts[2])
            self.rejected += int(counts[3])
            if self.keep:
                self.frames.append(self._buffer[: int(counts[0])].copy())
            self._log(int(counts[1]))
            if code == loop.DONE:
                return
            if code in (loop.STEP_TOO_SMALL, loop.NOT_FINITE):
                self._stop(int(counts[4]))

    def _log(self, count: int) -> None:
        names = {number: name for name, number in self.assembly.names.devices.items()}
        for t, device, state in self._event_buffer[:count]:
            chatters = device >= loop.EVENT_CHATTER
            name = names[int(device) - (loop.EVENT_CHATTER if chatters else 0)]
            self.events.append((float(t), f"{name} chatters" if chatters else name, float(state)))

    def _stop(self, state: int) -> None:
        name = self.assembly.names.states[state]
        raise RunError(
            f"the run cannot go on at {self.time_s:.3f} s: the {name} changes faster than can be followed",
            state=name,
            part=name.rpartition(" in ")[2],
            time_s=self.time_s,
        )

    def save(self) -> Moment:
        """The whole moment."""
        return Moment(
            self.y.copy(), self.clock.copy(), tuple(a.copy() for a in self.mode), self.tables.parameters.copy()
        )

    def restore(self, moment: Moment) -> None:
        """Back to a saved moment."""
        self.y[:] = moment.y
        self.clock[:] = moment.clock
        for array, saved in zip(self.mode, moment.mode, strict=True):
            array[...] = saved
        self.tables.parameters[:] = moment.parameters
