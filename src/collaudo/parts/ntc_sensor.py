"""NTC temperature sensor."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.laws.ntc import ntc_resistance_ohm
from collaudo.parts.part import quantity
from collaudo.parts.sensing import Sensor


@dataclass(frozen=True)
class NtcSensor(Sensor):
    """A bead whose resistance falls with temperature, 3 to 4 % a degree; 10 to 50 kohm at 25 degC (common
    practice, no source).

    Open it is read as ice, shorted as glowing: its board knows neither for a temperature and stops heating.
    """

    kind = "ntc_sensor"
    text = "feels the temperature for the controller; its resistance falls with it"
    nominal_kohm: float = quantity(50.0, 1.0, 200.0, "resistance at 25 degC")
    beta_K: float = quantity(3977.0, 2500.0, 5000.0, "how steeply it falls, between 25 and 85 degC")

    def sound_ohm(self, temperature_K: float) -> float:
        """By the beta law."""
        return ntc_resistance_ohm(temperature_K, self.si("nominal_kohm"), self.beta_K)
