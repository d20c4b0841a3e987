"""Sensors of temperature, and what reads them.

Sensor and controller are two parts, described in any order: whichever speaks second finds the other. What the
sensor is read as beyond the truth moves the controller's thresholds the other way, so a drifted or broken
sensor changes numbers and never the structure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import inf
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Device, Lag, Regulator
from collaudo.parts.part import Part, choice, quantity, reference

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


@dataclass(frozen=True)
class Sensor(Part):
    """What every sensor of temperature has: a place it feels, a lag, an error, two terminals."""

    customer = "tells the machine how hot the water is"
    fails = "drifts, and the coffee is too hot or too cold; or breaks, and heating stops"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    open_terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    feels: str = reference("brew_boiler", FELT, "part whose temperature it feels")
    at_place: str = choice("wall", PLACES, "on its metal, or in the lower or upper water of a boiler")
    lag_s: float = quantity(5.0, 0.2, 120.0, "time constant in its pocket; longer when it sits loose or dry")
    offset_K: float = quantity(0.0, -40.0, 40.0, "what it reads above the truth")
    state: str = choice("sound", ("sound", "open", "shorted"), "what is wrong with it or its lead")

    def describe(self, circuit: Circuit) -> None:
        """A lag; what it reads beyond the truth moves the thresholds of its controller."""
        shift = SHIFTS[self.state] + self.offset_K
        place = place_of(self.feels, self.at_place)
        add_sensor(circuit, Lag(self.name, "temperature", place, self.lag_s, shift))

    def resistance_ohm(self, temperature_K: float) -> float:
        """What an ohmmeter reads at its terminals, unplugged from its controller, at a temperature [K]."""
        if self.state != "sound":
            return inf if self.state == "open" else 0.0
        return self.sound_ohm(temperature_K + self.offset_K)

    def sound_ohm(self, temperature_K: float) -> float:
        """Resistance of a sound one at a temperature [K], by its own law."""
        raise NotImplementedError
