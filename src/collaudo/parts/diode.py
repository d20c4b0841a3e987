"""Diode in a vibration pump's lead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import ALWAYS, Circuit
from collaudo.parts.contacts import moved_contact
from collaudo.parts.half_wave import lose_diode
from collaudo.parts.part import Part, choice, reference


@dataclass(frozen=True)
class Diode(Part):
    """Lets one half of each wave through, so that the pump's plunger strikes once a wave.

    Shorted, both halves pass: the pump hums loudly, hardly pumps and grows hot.
    """

    kind = "diode"
    text = "gives the vibration pump half of each wave, so that its spring can throw the plunger back"
    customer = "makes the pump beat in time"
    fails = "shorts, and the pump hums, hardly pumps and grows hot; or opens, and it is dead"
    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    serves: str = reference("pump", ("vibration_pump",), "pump whose lead it lies in")
    state: str = choice("sound", ("sound", "shorted", "open"), "what is wrong with it")

    def describe(self, circuit: Circuit) -> None:
        """A closed way; what it does to the pump."""
        ends = self.at("a"), self.at("b")
        circuit.contacts.append(moved_contact(self.name, ends, ALWAYS, self.state))
        if self.state == "shorted":
            lose_diode(circuit, self.serves)
