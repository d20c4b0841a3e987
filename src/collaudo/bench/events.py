"""What switched during a run, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit, Device

if TYPE_CHECKING:
    from collaudo.twin.run import Run

_SHORT = "short circuit"
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
            found.append(Event(time_s, name, "two conductors of the mains meet, the fuse before them blows"))
            continue
        device = name.removesuffix(" chatters")
        known = words[device].get(int(state), f"state {state:g}")
        found.append(Event(time_s, device, known if device == name else f"chatters, is held {known}"))
    return found


def states_in_words(machine: Machine) -> dict[str, dict[int, str]]:
    """For each device of a machine what its states are called."""
    circuit = described(machine)
    return {device.part: _words(device, circuit) for device in circuit.devices}


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
