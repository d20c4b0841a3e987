"""Sensors of temperature, and what reads them.

Sensor and controller are two parts, described in any order: whichever speaks second finds the other. What the
sensor is read as beyond the truth moves the controller's thresholds the other way, so a drifted or broken
sensor changes numbers and never the structure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from collaudo.parts.circuit import Circuit, Device, Lag, Regulator

FELT = (
    "boiler",
    "brew_boiler",
    "flow_through_heater",
    "circulation_group",
    "bolted_group",
    "spring_piston_group",
)
"""Kinds of part whose temperature can be felt."""

PLACES = ("wall", "lower", "upper")
"""Where: on the metal, or in the lower or upper water of a boiler."""

BROKEN_K = 1.0e4
"""A controller that finds its sensor out of range stops heating: the sensor is as good as far too hot."""

SHIFTS: Mapping[str, float] = {"sound": 0.0, "open": BROKEN_K, "shorted": BROKEN_K}


def place_of(part: str, at: str) -> str:
    """Thermal node of a place at a part."""
    return part if at == "wall" else f"{part}.{at}"


def add_sensor(circuit: Circuit, lag: Lag) -> None:
    """A sensor speaks: those that read it and have spoken are moved."""
    circuit.lags.append(lag)
    for n, device in enumerate(circuit.devices):
        if device.watch == "lag" and device.of == lag.part:
            circuit.devices[n] = _moved(device, lag.shift_K)
    for n, regulator in enumerate(circuit.regulators):
        if regulator.lag == lag.part:
            circuit.regulators[n] = replace(regulator, set_K=regulator.set_K - lag.shift_K)


def add_reader(circuit: Circuit, reader: Device | Regulator) -> None:
    """What reads a sensor speaks: its thresholds are moved if the sensor has spoken."""
    if isinstance(reader, Device):
        circuit.devices.append(_moved(reader, _shift(circuit, reader.of)))
    else:
        moved = replace(reader, set_K=reader.set_K - _shift(circuit, reader.lag))
        circuit.regulators.append(moved)


def _moved(device: Device, shift_K: float) -> Device:
    return replace(device, high=device.high - shift_K, low=device.low - shift_K)


def _shift(circuit: Circuit, sensor: str) -> float:
    return next((lag.shift_K for lag in circuit.lags if lag.part == sensor), 0.0)
