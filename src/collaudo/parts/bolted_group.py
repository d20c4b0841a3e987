"""Group bolted to a boiler, or heated by cartridges of its own."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.laws.convection import room_loss_coefficients
from collaudo.parts.circuit import Circuit, Link
from collaudo.parts.metals import METALS, SPECIFIC_HEAT_J_PER_KG_K
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class BoltedGroup(Part):
    """A heavy body that no water circulates through: heat reaches it by conduction and with the water drawn.

    It idles well below its boiler (75 to 92 degC at 93 in the boiler, 60 to 80 on a small single boiler;
    common practice, no source).
    """

    kind = "bolted_group"
    text = "holds the portafilter and is kept warm by the boiler it is bolted to"
    customer = "holds the coffee and has to be warm before the first cup"
    fails = "stays cold where its heat cannot reach it, and the first cups come too cool and sour"
    bolted_to: str = reference(
        "",
        ("brew_boiler", "boiler", "flow_through_heater"),
        "what it is bolted to; empty: hangs on the frame",
    )
    conductance_W_per_K: float = quantity(
        4.0, 0.05, 60.0, "through flange and bolts from what it is bolted to"
    )
    body: str = choice("brass", METALS, "what the body is made of")
    body_kg: float = quantity(2.0, 0.2, 8.0, "mass of body and portafilter")
    surface_m2: float = quantity(0.08, 0.005, 0.5, "surface of body and portafilter")
    frame_W_per_K: float = quantity(0.3, 0.0, 20.0, "conduction to the frame")

    def describe(self, circuit: Circuit) -> None:
        """A heavy wall, its bolts, its losses to the room."""
        heat = SPECIFIC_HEAT_J_PER_KG_K[self.body]
        circuit.walls[self.name] = (self.body_kg * heat, circuit.site.room_K)
        if self.bolted_to:
            circuit.links.append(Link("fixed", self.bolted_to, self.name, self.conductance_W_per_K))
        circuit.links.append(Link("fixed", self.name, "room", self.frame_W_per_K))
        loss = room_loss_coefficients(self.surface_m2, 0.09, 0.3, "horizontal_cylinder")
        circuit.links.append(
            Link("room", self.name, "room", loss.convection_W_per_K_1_25, 0.3 * self.surface_m2)
        )
