"""What switched during a run, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from collaudo.bench.naming import part_in_words
from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit, Device
from collaudo.quantities.units import from_si, unit_of

if TYPE_CHECKING:
    from collaudo.twin.run import Run

_SHORT = "short circuit"
_MET = "two conductors of the mains meet, the fuse before them blows"
_FILLING = {
    0: "water at the probe",
    1: "probe dry, waits",
    2: "filling",
    3: "filling, water at the probe",
    4: "stopped, filled too long",
}


@dataclass(frozen=True)
class Event:
    """A device changed its state."""

    time_s: float
    device: str
    state: str


def events_of(run: Run) -> list[Event]:
    """Events in order of time; the state says where the device stands after it."""
    words = states_in_words(run.machine)
    found = []
    for time_s, name, state in run.events:
        if name == _SHORT:
            found.append(Event(time_s, name, _MET))
            continue
        device = name.removesuffix(" chatters")
        known = words[device].get(int(state), f"state {state:g}")
        found.append(Event(time_s, device, known if device == name else f"chatters, is held {known}"))
    return found


def states_in_words(machine: Machine) -> dict[str, dict[int, str]]:
    """For each device of a machine what its states are called."""
    circuit = described(machine)
    return {device.part: _words(device, circuit) for device in circuit.devices}


@dataclass(frozen=True)
class ToldEvent:
    """What happened, as one would say it at the bench; ``value`` is what made it, where something did."""

    time_s: float
    part: str
    text: str
    """Whole, with the value."""
    value: float | None = None
    unit: str = ""

    @classmethod
    def at(cls, time_s: float, part: str, text: str, reached: tuple[float, str] | None) -> ToldEvent:
        """``text`` with what was reached after it: ``pressure switch opens at 1.15 bar``."""
        if reached is None:
            return cls(time_s, part, text)
        value, unit = reached
        digits = 0 if unit in ("degC", "g", "ml") else 2
        return cls(time_s, part, f"{text} at {value:.{digits}f} {unit_of(unit).text}", value, unit)


_BOARD = {
    0: "water at the probe: filling has ended",
    1: "probe stands dry: filling waits",
    2: "probe still dry: the {0} fills",
    3: "water at the probe: filling goes on for a moment",
    4: "the {0} has filled too long: filling stops",
}
_DOSE = {0: "{0}: the dose ends", 1: "{0}: the dose begins"}
_TRIPS = {"latch": "{0} opens and stays open", "residual": "{0} trips", "overcurrent": "{0} melts"}


class Teller:
    """Tells what switches in one machine as it stands."""

    def __init__(self, machine: Machine) -> None:
        self._circuit = described(machine)
        self._devices = {device.part: device for device in self._circuit.devices}
        self._states = states_in_words(machine)
        self._lags = {lag.part: lag.watch for lag in self._circuit.lags}

    def told(self, time_s: float, name: str, state: float) -> ToldEvent:
        """One event of a run."""
        if name == _SHORT:
            return ToldEvent(time_s, "", _MET)
        device = self._devices[name.removesuffix(" chatters")]
        part, said = device.part.partition(".")[0], part_in_words(device.part)
        if name != device.part:
            known = self._states[device.part].get(int(state), "")
            return ToldEvent(time_s, part, f"{said} chatters, is held {known}".rstrip())
        if device.kind == "fill_control":
            return ToldEvent(time_s, part, _BOARD[int(state)].format(part_in_words(device.of)))
        if device.kind == "dose":
            return ToldEvent(time_s, part, _DOSE[int(state)].format(said))
        if device.kind in _TRIPS and state == 1.0:
            text = _TRIPS[device.kind].format(said)
            return ToldEvent.at(time_s, part, text, self._reached(device, state))
        verb = {"open": "opens", "closed": "closes", "shut": "shuts"}[self._states[device.part][int(state)]]
        return ToldEvent.at(time_s, part, f"{said} {verb}", self._reached(device, state))

    def _reached(self, device: Device, state: float) -> tuple[float, str] | None:
        """The value at which a device acted, and its unit; None where it follows a hand or a coil."""
        threshold = device.high if state == 1.0 else device.low
        watch = self._lags.get(device.of, "") if device.watch == "lag" else device.watch
        if device.kind not in ("two_position", "latch") or watch not in _UNITS:
            return None
        unit = _UNITS[watch]
        return from_si(threshold, unit), unit


_UNITS = {"pressure": "bar", "temperature": "degC", "mass": "g"}


def _words(device: Device, circuit: Circuit) -> dict[int, str]:
    """A board fills; a contact is open or closed; a valve is open or shut."""
    if device.kind == "fill_control":
        return _FILLING
    contacts = [x.command.kind for x in circuit.contacts if x.command.name == device.part]
    throats = [member.command.kind for member in circuit.members if member.command.name == device.part]
    apart, joined = ("open", "closed") if contacts else ("shut", "open")
    if "device_off" in (contacts or throats):
        return {0: joined, 1: apart}
    return {0: apart, 1: joined}
