"""A machine on the bench, running: operate it, let time pass, read it, save and branch it."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collaudo.compiled import compiled_by_one
from collaudo.errors import RunError, unknown_name
from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.machine.site import home_site
from collaudo.parts.circuit import Site
from collaudo.twin.assemble import Assembly, assemble
from collaudo.twin.audit import stores
from collaudo.twin.kernel import advance as loop
from collaudo.twin.kernel import tables as k
from collaudo.twin.kernel.methods import METHODS
from collaudo.twin.layout import Line

Floats = NDArray[np.float64]
DEFAULT_RTOL = 1e-3
# Few enough to stay in the processor's cache.
_FRAMES = 256
_EVENTS = 512
_CHANGES_KEPT = 64
"""Tables of changed machines that are kept; checks change to and fro between far fewer."""
SHORT_CIRCUIT = "short circuit"
"""Name of the event: two conductors of the mains meet, the fuse before the machine blows."""


def build(machine: Machine, site: Site | None = None, cell_factor: int = 1) -> Assembly:
    """Assemble a validated machine for a site (the mains its plate names when None)."""
    lines = [
        Line(x.from_port, x.to_port, x.bore_mm * 1e-3, x.length_mm * 1e-3, x.fittings, x.line)
        for x in machine.lines
    ]
    parts, wires = list(machine.parts.values()), list(machine.wires)
    return assemble(parts, lines, wires, site or home_site(machine), cell_factor)


def _mode(tb: k.Tables, inputs: Floats) -> k.Mode:
    device = k.records(tb.device.size, k.DEVICE_MODE)
    device["forced"], device["timer"] = -1.0, np.inf
    throats = int(tb.law_start[1]) + int(tb.law_start[6] - tb.law_start[5])
    nets = int(tb.supply[1])
    return k.Mode(
        inputs=inputs.copy(),
        device=device,
        energised=np.zeros(tb.load.size),
        load_V=np.zeros(tb.load.size),
        closed=np.zeros(tb.contact.size),
        supply=np.zeros(2),
        net=np.zeros(nets, np.int64),
        row=np.zeros(nets, np.int64),
        volt=np.zeros(nets, np.complex128),
        earth_share=np.zeros(nets),
        matrix=np.zeros((nets, nets), np.complex128),
        right=np.zeros(nets, np.complex128),
        throat=k.records(throats, k.THROAT_MODE),
        pump_on=np.zeros(tb.pump.size),
        heater_W=np.zeros(tb.heater.size),
    )


def make_work(tb: k.Tables, stages: int) -> k.Work:
    """Scratch arrays for one thread."""
    n, total = int(tb.state_count[0]), int(tb.state_count[1])
    cells, zones = tb.cell.size, tb.zone.size
    walls = tb.wall.size + tb.fixed_temperature.size
    nodes = cells + walls
    columns = int(tb.zone_column_start[-1])
    sizes: dict[str, Any] = {"temperature": nodes, "income": nodes}
    sizes.update(dict.fromkeys(("rho", "per_rho", "drho", "energy", "heat"), cells))
    sizes.update(dict.fromkeys(("p_by", "level_by", "gas_by", "share_by", "vapour_by"), columns))
    block = int(tb.tail[1])
    sizes.update(jacobian=(total, n), source_by=(cells, n), system=(n, n), pivot=n)
    sizes.update(lower=tb.lower_row.size, upper=tb.upper_column.size)
    sizes.update(block=(block, block), block_row=block, block_column=block)
    sizes.update(dict.fromkeys(("stage_y", "rate", "trial", "right", "dense_y", "old_rate"), total))
    sizes.update(stage=(stages, n), stage_quadrature=(stages, total - n))
    sizes.update(scale=n, error=total + stages, watched=tb.device.size, power=tb.heater.size)
    return k.Work(
        zone=k.records(zones, k.ZONE_WORK),
        cell=k.records(cells, k.CELL_WORK),
        element=k.records(tb.element.size, k.ELEMENT_WORK),
        liquid=k.records(tb.element.size, k.PHASE_WORK),
        gas=k.records(tb.element.size, k.PHASE_WORK),
        regulator=k.records(tb.regulator.size, k.REGULATOR_WORK),
        column=np.zeros(n, np.int64),
        **{name: np.zeros(size) for name, size in sizes.items()},
    )


@dataclass
class Moment:
    """A saved moment of a run: everything needed to go on from it."""

    y: Floats
    clock: Floats
    mode: tuple[NDArray[Any], ...]
    tables: tuple[NDArray[Any], ...]
    rate: Floats
    books: dict[str, Floats]
    frames: int
    events: int
    machine: Machine


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
        self.tables = k.Tables._make(array.copy() for array in tb)
        self.mode = _mode(tb, self.assembly.inputs)
        self._method = METHODS[self.method]()
        self.work = make_work(tb, self._method.m.size)
        self.y = self.assembly.start.copy()
        self.clock = np.array([0.0, 1e-3, 1.0, 0.0, 1.0])
        self._buffer: Floats | None = None
        self.row: Floats = np.zeros(0)
        """The latest moment as frames keep it, `collaudo.twin.kernel.frames`; the next `advance` overwrites
        it."""
        self._forgotten = [0, 0]
        """Frames and events that were kept once."""
        self._event_buffer = np.zeros((_EVENTS, 3))
        self.opening_books = stores(self, self.y)
        self._changed: dict[
            tuple[int, frozenset[tuple[str, float | str]]], tuple[Machine, Machine, k.Tables]
        ] = {}

    @classmethod
    def of(cls, machine: Machine, site: Site | None = None, cell_factor: int = 1, **options: Any) -> Run:
        """A cold machine on the bench."""
        return cls(machine, build(machine, site, cell_factor), **options)

    @property
    def stages(self) -> int:
        """Stages of each step."""
        return int(self._method.m.size)

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
        self.mode.device[devices[device]].forced = -1.0 if on is None else float(on)
        self.clock[2] = 1.0

    def reset(self, device: str) -> None:
        """Press the button of a cut-out, or put in a breaker or a new fuse, after the reason has been found;
        ``short circuit``: renew the fuse before the machine."""
        latched = (k.DEVICE_LATCH, k.DEVICE_RESIDUAL, k.DEVICE_OVERCURRENT)
        devices = self.assembly.names.devices
        if device == SHORT_CIRCUIT:
            self.mode.supply[:] = 0.0
        elif device not in devices:
            raise unknown_name("device", device, devices)
        elif self.tables.device[devices[device]].kind in latched:
            self.mode.device[devices[device]].phase = 0.0
        self.clock[2] = 1.0

    def patch(self, tables: k.Tables) -> None:
        """Take over the numbers of another draw or a fault of the same machine, also in the middle of a
        run."""
        for own, other in zip(self.tables, tables, strict=True):
            own[...] = other
        self.clock[2] = 1.0

    def change(self, changes: Mapping[str, float | str]) -> None:
        """Change declared fields of parts now: ``{"portafilter.holds": "blind"}``."""
        self.machine, tables = self._changed_tables(changes)
        before = stores(self, self.y)
        self._take_over(tables)
        after = stores(self, self.y)
        for name in self.opening_books:
            self.opening_books[name] += after[name] - before[name]

    def _changed_tables(self, changes: Mapping[str, float | str]) -> tuple[Machine, k.Tables]:
        """The machine with changes and its tables; kept, for checks make the same changes again and again."""
        key = (id(self.machine), frozenset(changes.items()))
        if key not in self._changed:
            machine = self.machine.with_fields(changes)
            tables = build(machine, self.assembly.site, self.assembly.cell_factor).tables
            while len(self._changed) >= _CHANGES_KEPT:
                del self._changed[next(iter(self._changed))]
            # The machine before is kept too, or another could come to have its id.
            self._changed[key] = (self.machine, machine, tables)
        return self._changed[key][1:]

    def fill_up(self, tank: str) -> None:
        """Pour water into a tank, as warm as what is in it, up to what its part declares."""
        zone = self.tables.zone[self.assembly.names.zones[tank]]
        declared_kg = 1e-3 * float(self.machine.value(f"{tank}.water_l")) * 998.0
        held_kg = self.y[zone.mass] + zone.mass_reference
        if held_kg < declared_kg:
            # As warm as what is in it; an empty tank is filled with water as warm as the room.
            room_J = zone.heat * (self.assembly.site.room_K - 273.15)
            warm_J = self.y[zone.energy] / held_kg if held_kg > 1e-3 else room_J
            self._put_into(tank, declared_kg, warm_J * declared_kg)

    def pour_out(self, receiver: str) -> None:
        """Empty a cup, a tray, a tank or any other open thing by hand; a jug for milk is then filled anew."""
        zones = self.assembly.names.zones
        open_ones = [name for name, z in zones.items() if self.tables.zone[z].heat > 0.0]
        if receiver not in open_ones:
            raise unknown_name("thing to pour out", receiver[:60], open_ones)
        anew = described(self.machine, self.assembly.site).reservoirs[receiver]
        jug = getattr(self.machine.parts[receiver], "contents", "nothing") == "milk"
        water_kg = anew.water_kg if jug else 0.0
        heat = float(self.tables.zone[zones[receiver]].heat)
        self._put_into(receiver, water_kg, heat * (anew.temperature_K - 273.15) * water_kg)

    def _put_into(self, reservoir: str, water_kg: float, energy_J: float) -> None:
        """A hand leaves so much in a tank or receiver; the books are opened anew with it."""
        zone = self.tables.zone[self.assembly.names.zones[reservoir]]
        before = stores(self, self.y)
        self.y[zone.mass] = water_kg - zone.mass_reference
        self.y[zone.energy] = energy_J
        after = stores(self, self.y)
        for name in self.opening_books:
            self.opening_books[name] += after[name] - before[name]
        self.clock[2] = 1.0

    def forget(self) -> None:
        """Forget frames and events kept up to now, as a run that goes on for hours must; `restore` still
        goes back to moments saved before."""
        self._forgotten[0] += len(self.frames)
        self._forgotten[1] += len(self.events)
        self.frames.clear()
        self.events.clear()

    def _take_over(self, tables: k.Tables) -> None:
        masses = self.tables.zone.mass_reference.copy()
        self.patch(tables)
        for z in range(self.tables.zone.size):
            if self.tables.zone[z].is_vessel == 1:
                self.y[self.tables.zone[z].mass] += masses[z] - self.tables.zone[z].mass_reference

    def advance(self, seconds: float) -> None:
        """Let time pass. Raises `RunError` naming state, part and time when the run cannot go on."""
        until = self.time_s + seconds
        while True:
            if self._buffer is None:
                self._buffer = np.empty((_FRAMES, int(loop.frame_width(self.y, self.mode, self.work))))
            counts = np.zeros(5)
            begin = time.perf_counter()
            with compiled_by_one("advance"):
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
            self.row = self._buffer[int(counts[0]) - 1]
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
            if device == loop.EVENT_SHORT:
                self.events.append((float(t), SHORT_CIRCUIT, float(state)))
                continue
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
            self.y.copy(),
            self.clock.copy(),
            tuple(a.copy() for a in self.mode),
            tuple(a.copy() for a in self.tables),
            self.work.rate.copy(),
            {name: books.copy() for name, books in self.opening_books.items()},
            self._forgotten[0] + len(self.frames),
            self._forgotten[1] + len(self.events),
            self.machine,
        )

    def restore(self, moment: Moment) -> None:
        """Back to a saved moment; what was recorded since is forgotten."""
        del self.frames[max(moment.frames - self._forgotten[0], 0) :]
        del self.events[max(moment.events - self._forgotten[1], 0) :]
        self.machine = moment.machine
        self.work.rate[:] = moment.rate
        self.opening_books = {name: books.copy() for name, books in moment.books.items()}
        self.y[:] = moment.y
        self.clock[:] = moment.clock
        for array, saved in zip(self.mode, moment.mode, strict=True):
            array[...] = saved
        for array, saved in zip(self.tables, moment.tables, strict=True):
            array[...] = saved
