"""Switch that feels whether the tank is empty or missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Command, Contact, Device
from collaudo.parts.part import Part, choice, quantity, reference

# Thresholds [kg] no tank reaches, for a switch that no longer moves.
NEVER_KG, ALWAYS_KG = 1.0e6, -1.0


@dataclass(frozen=True)
class TankSwitch(Part):
    """A float, or a spring under the tank; its contact is closed while there is water and opens when low."""

    kind = "tank_switch"
    text = "stops pump and heating when the tank is low or not seated"
    customer = "notices when the tank is empty"
    fails = "sticks or does not feel the tank: dead with a full tank, or a pump that runs dry"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    tank: str = reference("tank", ("tank",), "tank it feels")
    low_l: float = quantity(0.25, 0.01, 10.0, "water at which it opens")
    differential_l: float = quantity(0.15, 0.01, 5.0, "water more before it closes again")
    delay_s: float = quantity(0.0, 0.0, 30.0, "how long it waits")
    state: str = choice("sound", ("sound", "stuck_open", "stuck_closed"), "whether it still moves")
    contact_ohm: float = quantity(0.05, 0.0, 1e6, "resistance of the closed contact")

    def describe(self, circuit: Circuit) -> None:
        """A two-position device on the mass of water; its contact is closed above."""
        low_kg = self.low_l
        high_kg = self.low_l + self.differential_l
        if self.state != "sound":
            low_kg = high_kg = NEVER_KG if self.state == "stuck_open" else ALWAYS_KG
        circuit.devices.append(
            Device(
                self.name,
                "two_position",
                "mass",
                self.tank,
                high=high_kg,
                low=low_kg,
                on_delay_s=self.delay_s,
                off_delay_s=self.delay_s,
            )
        )
        circuit.contacts.append(
            Contact(self.name, self.at("a"), self.at("b"), Command("device", self.name), self.contact_ohm)
        )
