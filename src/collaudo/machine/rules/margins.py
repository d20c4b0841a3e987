"""Rules on margins: working temperature and pressure, the limit above them, the safety valve above all."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.fluid.boiling_point import boiling_point_K
from collaudo.machine.rules.guards import controls_of, heaters_of, supplied
from collaudo.machine.rules.job import Job
from collaudo.parts.circuit import Device
from collaudo.parts.cut_out import CutOut
from collaudo.parts.pressure_switch import PressureSwitch
from collaudo.parts.safety_valve import SafetyValve
from collaudo.quantities.units import from_si

# Working pressure over the pressure at which the safety valve lifts: common practice, no source.
SAFE_SHARE, LARGEST_SHARE = 0.80, 0.85
# A limit stands so far above what it must let pass: common practice, no source.
LIMIT_ABOVE_K = 5.0
# Thresholds beyond belong to a part that is broken, not to a setting.
HIGHEST_K = 700.0


@dataclass(frozen=True)
class Working:
    """At what temperature a control stops heating what it feels."""

    control: str
    temperature_K: float
    by_pressure: bool


def safety_margin(job: Job) -> None:
    """A safety valve must lift well above the pressure its boiler works at."""
    for switch in (p for p in job.machine.parts.values() if isinstance(p, PressureSwitch)):
        for valve in _safety_valves(job, switch.in_boiler):
            if switch.opens_bar > LARGEST_SHARE * valve.set_bar:
                job.add(
                    f"{switch.name} opens at {switch.opens_bar:g} bar, too near the {valve.set_bar:g} bar at "
                    f"which {valve.name} lifts",
                    f"{switch.name}.opens_bar",
                    f"set it to {SAFE_SHARE * valve.set_bar:.2f} bar or less",
                )


def steam_margin(job: Job) -> None:
    """The same of a boiler that is held at a temperature."""
    for vessel in job.circuit.vessels:
        working = _holds(job, vessel)
        if working is None or working.by_pressure:
            continue
        for valve in _safety_valves(job, vessel):
            if working.temperature_K > _boils_K(job, LARGEST_SHARE * valve.set_bar):
                safe = from_si(_boils_K(job, SAFE_SHARE * valve.set_bar), "degC")
                job.add(
                    f"{working.control} holds {vessel} at {_degC(working)} degC, where steam is too near the "
                    f"{valve.set_bar:g} bar at which {valve.name} lifts",
                    working.control,
                    f"let it hold {safe:.0f} degC or less",
                )


def limit_margin(job: Job) -> None:
    """A limit that is reset by hand stands above all that switches by itself."""
    for guard in (part for part in job.machine.parts.values() if isinstance(part, CutOut)):
        for working in _controls_felt(job, _vessel(job, guard.on)):
            if guard.si("opens_degC") < working.temperature_K + LIMIT_ABOVE_K:
                job.add(
                    f"{guard.name} opens at {guard.opens_degC:g} degC, and {working.control} switches at "
                    f"{_degC(working)} degC",
                    f"{guard.name}.opens_degC",
                    f"take one of {from_si(working.temperature_K + LIMIT_ABOVE_K, 'degC'):.0f} degC or more",
                )
                break


def _safety_valves(job: Job, vessel: str) -> list[SafetyValve]:
    names = sorted(job.relieving(vessel, "safety_valve")) if vessel in job.machine.parts else []
    return [valve for valve in map(job.machine.parts.__getitem__, names) if isinstance(valve, SafetyValve)]


def _holds(job: Job, vessel: str) -> Working | None:
    """The control that keeps a vessel from growing hotter: the coolest that alone switches its heaters off.

    Where none does alone (brewing and steam chosen by a selector), the hottest of them.
    """
    working = sorted(_controls_felt(job, vessel), key=lambda found: found.temperature_K)
    heaters = set(heaters_of(job, vessel))
    for found in working:
        if not heaters & supplied(job, {found.control}):
            return found
    return working[-1] if working else None


def _controls_felt(job: Job, vessel: str) -> list[Working]:
    """What switches by the temperature or pressure of a vessel or of a heater in it."""
    circuit, found = job.circuit, []
    lags = {lag.part: lag for lag in circuit.lags}
    acting = controls_of(job)
    for device in circuit.devices:
        lag = lags.get(device.of)
        if device.part not in acting or device.watch != "lag" or not lag or _vessel(job, lag.of) != vessel:
            continue
        found.append(_working(job, device, by_pressure=lag.watch == "pressure"))
    for regulator in circuit.regulators:
        if regulator.lag in lags and _vessel(job, lags[regulator.lag].of) == vessel:
            found.append(Working(regulator.part, regulator.set_K, by_pressure=False))
    return [each for each in found if each.temperature_K < HIGHEST_K]


def _working(job: Job, device: Device, *, by_pressure: bool) -> Working:
    if not by_pressure:
        return Working(device.part, device.high, by_pressure=False)
    return Working(device.part, _boils_K(job, from_si(device.high, "bar")), by_pressure=True)


def _vessel(job: Job, felt: str) -> str:
    """The vessel a place belongs to: itself, or what a heater felt there sits in."""
    name = felt.partition(".")[0]
    part = job.machine.parts.get(name)
    return str(getattr(part, "in_boiler", name)) if name not in job.circuit.vessels else name


def _boils_K(job: Job, gauge_bar: float) -> float:
    return boiling_point_K(1e5 * gauge_bar + job.circuit.site.atmosphere_Pa)


def _degC(working: Working) -> str:
    return f"{from_si(working.temperature_K, 'degC'):.0f}"
