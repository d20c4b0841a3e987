"""Pressure switch of the boiler."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Contact, Device, Lag
from collaudo.parts.part import Part, quantity, reference


@dataclass(frozen=True)
class PressureSwitch(Part):
    """Opens at its setting and closes a differential below; acts on pressure above the room."""

    kind = "pressure_switch"
    text = "holds the boiler's pressure"
    customer = "keeps the boiler at its pressure"
    fails = "burns its contact: no heat, or heat without end until the safety valve blows; or it drifts"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    in_boiler: str = reference("boiler", ("boiler",), "boiler it feels")
    opens_bar: float = quantity(1.16, 0.2, 3.0, "pressure at which it opens")
    differential_bar: float = quantity(0.14, 0.01, 1.0, "fall before it closes")
    lag_s: float = quantity(0.8, 0.05, 30.0, "time constant of its capillary")
    contact_ohm: float = quantity(0.05, 0.0, 1e6, "resistance of the closed contact")

    def describe(self, circuit: Circuit) -> None:
        """A two-position device on the lagged pressure; its contact opens when it acts."""
        circuit.lags.append(Lag(self.name, "pressure", self.in_boiler, self.lag_s))
        circuit.devices.append(
            Device(
                self.name,
                "two_position",
                "lag",
                self.name,
                high=self.si("opens_bar"),
                low=self.si("opens_bar") - self.si("differential_bar"),
            )
        )
        circuit.contacts.append(
            Contact(self.name, self.at("a"), self.at("b"), Command("device_off", self.name), self.contact_ohm)
        )
