"""NTC temperature sensor."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import ClassVar

from collaudo.laws.ntc import ntc_resistance_ohm
from collaudo.parts.circuit import Circuit, Lag
from collaudo.parts.part import Part, choice, quantity, reference
from collaudo.parts.sensing import FELT, PLACES, SHIFTS, add_sensor, place_of


@dataclass(frozen=True)
class NtcSensor(Part):
    """A bead whose resistance falls with temperature, 3 to 4 % a degree; 10 to 50 kohm at 25 degC (common
    practice, no source).

    Open it is read as ice, shorted as glowing: its board knows neither for a temperature and stops heating.
    """

    kind = "ntc_sensor"
    text = "feels the temperature for the controller; its resistance falls with it"
    customer = "tells the machine how hot the water is"
    fails = "drifts, and the coffee is too hot or too cold; or breaks, and heating stops"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    open_terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    feels: str = reference("brew_boiler", FELT, "part whose temperature it feels")
    at_place: str = choice("wall", PLACES, "on its metal, or in the lower or upper water of a boiler")
    nominal_kohm: float = quantity(50.0, 1.0, 200.0, "resistance at 25 degC")
    beta_K: float = quantity(3977.0, 2500.0, 5000.0, "how steeply it falls, between 25 and 85 degC")
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
        return ntc_resistance_ohm(temperature_K + self.offset_K, self.si("nominal_kohm"), self.beta_K)
