"""Platinum temperature sensor."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import ClassVar

from collaudo.laws.platinum import platinum_resistance_ohm
from collaudo.parts.circuit import Circuit, Lag
from collaudo.parts.part import Part, choice, quantity, reference
from collaudo.parts.sensing import FELT, PLACES, SHIFTS, add_sensor, place_of


@dataclass(frozen=True)
class PlatinumSensor(Part):
    """A film of platinum whose resistance rises with temperature: 1358 ohm at 93 degC, 3.8 ohm a degree.

    Open it measures as endless, shorted as 0 ohm; a controller that finds either out of range stops heating.
    """

    kind = "platinum_sensor"
    text = "feels the temperature for the controller; its resistance rises with it"
    customer = "tells the machine how hot the water is"
    fails = "drifts, and the coffee is too hot or too cold; or breaks, and heating stops"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    open_terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    feels: str = reference("brew_boiler", FELT, "part whose temperature it feels")
    at_place: str = choice("lower", PLACES, "on its metal, or in the lower or upper water of a boiler")
    nominal_ohm: float = quantity(1000.0, 100.0, 1000.0, "resistance at 0 degC")
    lag_s: float = quantity(4.0, 0.2, 120.0, "time constant in its pocket; longer when it sits loose or dry")
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
        return platinum_resistance_ohm(temperature_K + self.offset_K, self.nominal_ohm)
