"""Over-temperature cut-out with manual reset."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Contact, Device, Lag
from collaudo.parts.part import Part, quantity, reference


@dataclass(frozen=True)
class CutOut(Part):
    """Opens when what it touches grows too hot, and stays open until reset by hand. Never bridged."""

    kind = "cut_out"
    text = "cuts the element off when it grows too hot; never bridged, reset only once the reason is found"
    customer = "switches the heating off before anything overheats"
    fails = "has opened: the machine has current and stays cold until the reason is found"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    on: str = reference(
        "heating_element",
        (
            "heating_element",
            "cartridge_heater",
            "boiler",
            "brew_boiler",
            "flow_through_heater",
            "circulation_group",
            "bolted_group",
        ),
        "what it touches",
    )
    opens_degC: float = quantity(165.0, 60.0, 350.0, "temperature at which it opens")
    lag_s: float = quantity(6.0, 0.5, 60.0, "time constant of its bulb")

    def describe(self, circuit: Circuit) -> None:
        """A latch on the lagged temperature."""
        circuit.lags.append(Lag(self.name, "temperature", self.on, self.lag_s))
        circuit.devices.append(Device(self.name, "latch", "lag", self.name, high=self.si("opens_degC")))
        circuit.contacts.append(
            Contact(self.name, self.at("a"), self.at("b"), Command("device_off", self.name))
        )
