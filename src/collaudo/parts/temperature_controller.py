"""Electronic temperature controller."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.errors import QuantityError
from collaudo.parts.circuit import ALWAYS, Circuit, Command, Contact, Device, Load, Regulator
from collaudo.parts.contacts import moved_contact
from collaudo.parts.part import Part, choice, quantity, reference
from collaudo.parts.sensing import BROKEN_K, add_reader

# A small board draws about 2 W.
BOARD_OHM = 25_000.0


@dataclass(frozen=True)
class TemperatureController(Part):
    """A board that reads a sensor and switches its output, at two positions or by shares of the time.

    ``set_degC`` is what is wanted at the coffee; the sensor sits in hotter water or metal, by ``offset_K``.
    By shares of the time (proportional, integral, derivative) it drives a relay that stands the switching:
    the twin reckons with the share, not with its pulses.
    """

    kind = "temperature_controller"
    text = "compares sensor and setting and calls for heat"
    customer = "decides when to heat"
    fails = "burns its output relay or loses its supply, and heating stops or never ends"
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral", "out")
    sensor: str = reference("sensor", ("platinum_sensor", "ntc_sensor"), "sensor it reads")
    set_degC: float = quantity(93.0, 20.0, 160.0, "temperature it is set to")
    offset_K: float = quantity(0.0, -20.0, 40.0, "how much hotter than its setting it keeps the sensor")
    way: str = choice("two_position", ("two_position", "pid"), "how it holds the temperature")
    differential_K: float = quantity(1.0, 0.05, 20.0, "fall before it heats again; two positions")
    band_K: float = quantity(6.0, 0.2, 60.0, "error at which it heats all the time; by shares")
    reset_s: float = quantity(120.0, 5.0, 1e5, "time in which a lasting error is worked off; by shares")
    rate_s: float = quantity(2.0, 0.0, 200.0, "how far it looks ahead; by shares")
    drives: str = reference(
        "", ("solid_state_relay", "contactor"), "relay whose share of the time it sets; by shares"
    )
    output: str = choice("sound", ("sound", "welded", "open"), "what is wrong with its output")

    def describe(self, circuit: Circuit) -> None:
        """A board with supply, a contact that closes while it is supplied, and what it does with it."""
        live, out, switched = self.at("live"), self.at("out"), self.at("switched")
        circuit.loads.append(
            Load(self.name, live, self.at("neutral"), BOARD_OHM, works_from_V=0.7 * circuit.rated_V)
        )
        supply = f"{self.name}.supply"
        circuit.devices.append(Device(supply, "relay", load=self.name))
        circuit.contacts.append(Contact(self.name, live, switched, Command("device", supply)))
        acts = Command("device_off", self.name) if self.way == "two_position" else ALWAYS
        circuit.contacts.append(moved_contact(self.name, (switched, out), acts, self.output))
        add_reader(circuit, self._two_position() if self.way == "two_position" else self._shares())

    def _two_position(self) -> Device:
        high = self.si("set_degC") + self.offset_K
        return Device(
            self.name, "two_position", "lag", self.sensor, high=high, low=high - self.differential_K
        )

    def _shares(self) -> Regulator:
        if not self.drives:
            raise QuantityError(f"{self.name} works by shares of the time and drives nothing -- name a relay")
        # Its driver welded, the relay has its command all the time.
        always = BROKEN_K if self.output == "welded" else 0.0
        return Regulator(
            self.name,
            self.sensor,
            self.si("set_degC") + self.offset_K + always,
            self.band_K,
            self.reset_s,
            self.rate_s,
            self.name,
            self.drives,
        )
