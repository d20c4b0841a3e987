"""Rules on what keeps a heater in bounds: a control, a limit besides it, and a cut-out that really cuts."""

from __future__ import annotations

from collections.abc import Collection

from collaudo.machine.rules.job import Job
from collaudo.machine.rules.paths import paths
from collaudo.parts.cut_out import CutOut
from collaudo.parts.part import declared_fields


def cut_outs(job: Job) -> None:
    """A cut-out must take the current from what it guards."""
    for guard in (part for part in job.machine.parts.values() if isinstance(part, CutOut)):
        for heater in heaters_of(job, guard.on):
            if heater in supplied(job, {guard.name}):
                name = heater.partition(".")[0]
                remedy = f"wire {guard.name} in series with {name}"
                job.add(f"{name} has current even when {guard.name} is open", guard.name, remedy)
                break


def controls(job: Job) -> None:
    """Something that feels pressure or temperature must be able to switch every heater off."""
    acting = controls_of(job)
    left_on = supplied(job, acting)
    for name in _names(job, left_on):
        remedy = "wire a pressure switch, a thermostat or a temperature controller into its path"
        job.add(f"nothing that feels pressure or temperature switches {name} off", name, remedy)


def limits(job: Job) -> None:
    """Besides its control every heater needs a limit: a cut-out, or a thermostat of its own."""
    parts = job.machine.parts
    latches = {device.part for device in job.circuit.devices if device.kind == "latch"}
    left_on = set(supplied(job, latches))
    acting = controls_of(job)
    for thermostat in sorted(name for name in acting if parts[name].kind == "thermostat"):
        if not left_on:
            return
        others_cut = _heaters(job) - supplied(job, acting - {thermostat})
        left_on -= others_cut - supplied(job, {thermostat})
    for name in _names(job, left_on):
        job.add(f"{name} has no cut-out in its path", name, f"wire a cut-out in series with {name}")


def controls_of(job: Job) -> set[str]:
    """Parts that switch by a pressure or temperature they feel, and what they drive."""
    circuit = job.circuit
    found = {d.part for d in circuit.devices if d.kind == "two_position" and d.watch == "lag"}
    return found | {regulator.part for regulator in circuit.regulators}


def _heaters(job: Job) -> set[str]:
    """Loads that heat water or metal on purpose; a pump's own warmth is none."""
    pumps = {pump.load for pump in job.circuit.pumps}
    return {load for _, load, _ in job.circuit.heaters if load not in pumps}


def heaters_of(job: Job, part: str) -> list[str]:
    """Heaters that are a part, or sit in it or on it."""
    found = []
    for load in sorted(_heaters(job)):
        heater = job.machine.parts[load.partition(".")[0]]
        fields = declared_fields(type(heater))
        names = [getattr(heater, key) for key, declared in fields.items() if "names" in declared]
        if part in (heater.name, *names):
            found.append(load)
    return found


def supplied(job: Job, opened: Collection[str]) -> set[str]:
    """Heaters that can have current with the contacts of some parts open."""
    return _heaters(job) & paths(job.circuit, job.machine.wires, opened).supplied


def _names(job: Job, heaters: Collection[str]) -> list[str]:
    """Parts the heaters belong to, in the order of the file."""
    owners = {heater.partition(".")[0] for heater in heaters}
    return [name for name in job.machine.parts if name in owners]
