"""Thermal cut-out of a vibration pump."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Device, Link
from collaudo.parts.contacts import moved_contact
from collaudo.parts.half_wave import add_half_wave_heater
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class PumpCutOut(Part):
    """A bimetal on the pump's coil: opens when the coil is hot, closes by itself when it has cooled.

    After 1 to 2 min of running on; it then takes 10 to 20 min; a shot of half a minute every two minutes it
    stands all day (common practice, no source). The coil is one mass with one loss to the room; what the
    water takes with it is not in ``coil_heat_W``.
    """

    kind = "pump_cut_out"
    text = "rests the pump when its coil has grown too hot"
    customer = "lets a pump that ran too long cool down"
    fails = "stays open, or opens too early: the pump stops after a short while and comes back later"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    on: str = reference("pump", ("vibration_pump",), "pump it sits on")
    opens_degC: float = quantity(110.0, 30.0, 180.0, "temperature at which it opens")
    closes_degC: float = quantity(36.0, 25.0, 170.0, "temperature at which it closes")
    coil_heat_W: float = quantity(42.0, 1.0, 200.0, "heat its coil keeps at rated voltage")
    coil_J_per_K: float = quantity(48.0, 5.0, 1000.0, "heat that warms the coil by one degree")
    coil_W_per_K: float = quantity(0.14, 0.005, 5.0, "loss of the coil to the room")
    state: str = choice("sound", ("sound", "open"), "what is wrong with its contact")

    def describe(self, circuit: Circuit) -> None:
        """The coil's metal heated by the pump's current; a two-position device on its temperature."""
        circuit.walls[self.name] = (self.coil_J_per_K, circuit.site.room_K)
        circuit.links.append(Link("fixed", self.name, "room", self.coil_W_per_K))
        ohm = circuit.rated_V * circuit.rated_V / self.coil_heat_W
        add_half_wave_heater(circuit, self.name, self.on, ohm)
        circuit.devices.append(
            Device(
                self.name,
                "two_position",
                "temperature",
                self.name,
                high=self.si("opens_degC"),
                low=min(self.si("closes_degC"), self.si("opens_degC") - 1.0),
            )
        )
        ends = self.at("a"), self.at("b")
        acts = Command("device_off", self.name)
        circuit.contacts.append(moved_contact(self.name, ends, acts, self.state))
