"""Named series of a run: what a gauge, a scale, a thermometer or a meter would have shown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.errors import unknown_name
from collaudo.twin.kernel.potentials import impedance
from collaudo.twin.run import Run

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Series:
    """One quantity over time. ``time_s`` and ``values`` have the same shape; ``unit`` is that of
    ``values``."""

    name: str
    unit: str
    time_s: Floats
    values: Floats

    def at(self, time_s: float) -> float:
        """Value at a time, linear between the run's own steps."""
        return float(np.interp(time_s, self.time_s, self.values))

    def between(self, start_s: float, end_s: float) -> Floats:
        """Values of the steps in a span."""
        return self.values[(self.time_s >= start_s) & (self.time_s <= end_s)]


class Results:
    """Looks series up by name: ``pressure boiler`` [bar above the room], ``temperature group`` [degC],
    ``mass cup`` [g], ``level boiler`` [share], ``flow pump`` [g/s], ``circulation`` [g/s], ``power
    heating_element`` [W], ``duty controller`` [share], ``metered flow_meter`` [ml] as it counts,
    ``device pressure_switch``, ``load pump`` [0 or 1], ``volts pump``, ``amps pump``, ``gauge brew_gauge``
    [bar], as the needle shows it.
    """

    def __init__(self, run: Run) -> None:
        self.run = run
        self.rows = np.concatenate(run.frames) if run.frames else np.empty((0, 1))
        tb, wk = run.tables, run.work
        counts = [
            ("time", 1),
            ("state", run.y.size),
            ("zone", 2 * tb.zone.size),
            ("element", 3 * tb.element.size),
            ("node", wk.temperature.size),
            ("edge", tb.cell.size),
            ("device", tb.device.size),
            ("volt", tb.load.size),
            ("load", tb.load.size),
            ("power", tb.heater.size),
            ("duty", tb.regulator.size),
        ]
        self.start: dict[str, int] = {}
        at = 0
        for word, count in counts:
            self.start[word] = at
            at += count

    @property
    def time_s(self) -> Floats:
        """Times of the run's own steps."""
        times: Floats = self.rows[:, 0]
        return times

    def series(self, name: str) -> Series:
        """The series called ``name``; `UnknownNameError` naming near misses otherwise."""
        word, _, of = name.partition(" ")
        makers = {
            "pressure": self._pressure,
            "level": self._level,
            "mass": self._mass,
            "temperature": self._temperature,
            "flow": self._flow,
            "steam": self._steam,
            "power": self._power,
            "duty": self._duty,
            "metered": self._metered,
            "device": self._device,
            "load": self._load,
            "volts": self._volts,
            "amps": self._amps,
            "circulation": self._circulation,
            "gauge": self._gauge,
        }
        if word not in makers:
            raise unknown_name("series", word, makers)
        unit, values = makers[word](of)
        return Series(name, unit, self.time_s, values)

    def _column(self, word: str, offset: int) -> Floats:
        column: Floats = self.rows[:, self.start[word] + offset]
        return column

    def _zone(self, of: str) -> int:
        names = self.run.assembly.names
        known = {**names.ports, **names.zones}
        if of not in known:
            raise unknown_name("place of pressure", of, known)
        return known[of]

    def _pressure(self, of: str) -> tuple[str, Floats]:
        atmosphere = self.run.assembly.site.atmosphere_Pa
        return "bar", (self._column("zone", 2 * self._zone(of)) - atmosphere) * 1e-5

    def _gauge(self, of: str) -> tuple[str, Floats]:
        """What a gauge shows: its needle rests on the pin at zero."""
        offset_bar = float(self.run.machine.value(f"{of}.offset_bar"))
        return "bar", np.maximum(self._pressure(f"{of}.in")[1] + offset_bar, 0.0)

    def _level(self, of: str) -> tuple[str, Floats]:
        return "share", self._column("zone", 2 * self._zone(of) + 1)

    def _mass(self, of: str) -> tuple[str, Floats]:
        zone = self.run.tables.zone[self._zone(of)]
        return "g", (self._column("state", int(zone.mass)) + zone.mass_reference) * 1e3

    def _temperature(self, of: str) -> tuple[str, Floats]:
        names = self.run.assembly.names
        cells = self.run.tables.cell.size
        known = {**names.cells, **{wall: cells + n for wall, n in names.walls.items()}}
        if of not in known:
            raise unknown_name("place of temperature", of, known)
        return "degC", self._column("node", known[of]) - 273.15

    def _element(self, of: str) -> int:
        names = self.run.assembly.names.elements
        if of not in names:
            raise unknown_name("part with a flow", of, names)
        return names[of]

    def _flow(self, of: str) -> tuple[str, Floats]:
        return "g/s", self._column("element", 3 * self._element(of)) * 1e3

    def _steam(self, of: str) -> tuple[str, Floats]:
        return "share", self._column("element", 3 * self._element(of) + 1)

    def _power(self, of: str) -> tuple[str, Floats]:
        heaters = self.run.assembly.names.heaters
        if of not in heaters:
            raise unknown_name("heater", of, heaters)
        return "W", self._column("power", heaters[of])

    def _duty(self, of: str) -> tuple[str, Floats]:
        regulators = self.run.assembly.names.regulators
        if of not in regulators:
            raise unknown_name("temperature controller", of, regulators)
        return "share", self._column("duty", regulators[of])

    def _metered(self, of: str) -> tuple[str, Floats]:
        meters = self.run.assembly.names.meters
        if of not in meters:
            raise unknown_name("flow meter", of, meters)
        return "ml", self._column("state", int(self.run.tables.meter[meters[of]].state)) * 1e6

    def _device(self, of: str) -> tuple[str, Floats]:
        devices = self.run.assembly.names.devices
        if of not in devices:
            raise unknown_name("device", of, devices)
        return "phase", self._column("device", devices[of])

    def _load_number(self, of: str) -> int:
        loads = self.run.assembly.names.loads
        if of not in loads:
            raise unknown_name("load", of, loads)
        return loads[of]

    def _load(self, of: str) -> tuple[str, Floats]:
        return "on", self._column("load", self._load_number(of))

    def _volts(self, of: str) -> tuple[str, Floats]:
        return "V", self._column("volt", self._load_number(of))

    def _amps(self, of: str) -> tuple[str, Floats]:
        tb, n = self.run.tables, self._load_number(of)
        load = tb.load[n]
        ohm = abs(impedance(float(load.ohm), float(load.henry), float(load.farad), float(tb.site[2])))
        return "A", self._column("volt", n) / ohm

    def _circulation(self, of: str) -> tuple[str, Floats]:
        del of
        return "g/s", self._column("state", int(self.run.tables.loop[0].state)) * 1e3
