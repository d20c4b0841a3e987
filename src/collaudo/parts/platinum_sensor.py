"""Platinum temperature sensor."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.laws.platinum import platinum_resistance_ohm
from collaudo.parts.part import choice, quantity
from collaudo.parts.sensing import PLACES, Sensor


@dataclass(frozen=True)
class PlatinumSensor(Sensor):
    """A film of platinum whose resistance rises with temperature: 1358 ohm at 93 degC, 3.8 ohm a degree.

    Open it measures as endless, shorted as 0 ohm; a controller that finds either out of range stops heating.
    """

    kind = "platinum_sensor"
    text = "feels the temperature for the controller; its resistance rises with it"
    at_place: str = choice("lower", PLACES, "on its metal, or in the lower or upper water of a boiler")
    nominal_ohm: float = quantity(1000.0, 100.0, 1000.0, "resistance at 0 degC")
    lag_s: float = quantity(4.0, 0.2, 120.0, "time constant in its pocket; longer when it sits loose or dry")

    def sound_ohm(self, temperature_K: float) -> float:
        """By the Callendar-Van Dusen equation of IEC 60751."""
        return platinum_resistance_ohm(temperature_K, self.nominal_ohm)
