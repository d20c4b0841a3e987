"""Group whose lever squeezes a spring that then presses the water through the coffee."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.laws.convection import room_loss_coefficients
from collaudo.laws.spring_piston import piston_pressure_Pa, spring_force_N
from collaudo.parts.circuit import Cell, Circuit, Command, Link, Member, Piston, Reservoir, Vessel, VesselPort
from collaudo.parts.metals import METALS, SPECIFIC_HEAT_J_PER_KG_K
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class SpringPistonGroup(Part):
    """A cylinder under a piston. The lever draws the piston up against its spring; near the top it uncovers
    the hole that lets boiler water in; let go, the spring presses.

    8 to 10 bar at the top fall to 4 to 6 at the end of 40 to 65 ml (common practice, no source). What passes
    the piston's seals runs out above it.
    """

    kind = "spring_piston_group"
    text = "draws hot water in under its piston and presses it through the coffee with its spring"
    customer = "presses the water through your coffee with a spring instead of a pump"
    fails = "loses its seals or its spring's strength: water beside the piston, weak pressure, short cups"
    ports: ClassVar[tuple[str, ...]] = ("in", "screen")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    lever: str = reference("lever", ("lever",), "lever that draws the piston up")
    bolted_to: str = reference("boiler", ("boiler", "brew_boiler"), "boiler it is bolted to")
    flange_W_per_K: float = quantity(2.0, 0.01, 60.0, "through its flange from the boiler's shell")
    piston_mm: float = quantity(50.0, 20.0, 90.0, "bore of the cylinder")
    stroke_mm: float = quantity(25.0, 5.0, 80.0, "way of the piston")
    spring_N_per_mm: float = quantity(32.0, 2.0, 200.0, "rate of the spring")
    squeezed_mm: float = quantity(31.0, 0.0, 200.0, "how far the spring is squeezed with the piston down")
    sagged_mm: float = quantity(0.0, 0.0, 100.0, "how much of its length a tired spring has lost")
    friction_N: float = quantity(60.0, 0.0, 1000.0, "friction of the seals")
    seal_leak_mm: float = quantity(0.003, 0.0, 4.0, "bore the piston's seals leak like")
    inlet_mm: float = quantity(3.0, 0.2, 12.0, "bore of the inlet hole")
    inlet_leak_mm: float = quantity(0.004, 0.0, 6.0, "bore the covered inlet leaks like")
    rest_ml: float = quantity(14.0, 2.0, 100.0, "water under the piston when it is down")
    body: str = choice("brass", METALS, "what the body is made of")
    body_kg: float = quantity(3.5, 0.3, 12.0, "mass of the body")
    body_W_per_K: float = quantity(25.0, 0.5, 200.0, "from the water under the piston to the body")
    surface_m2: float = quantity(0.1, 0.005, 0.5, "surface of body and portafilter")
    frame_W_per_K: float = quantity(0.0, 0.0, 20.0, "conduction to the frame")

    @property
    def stroke_ml(self) -> float:
        """Water the piston draws in and presses out."""
        return 0.25 * pi * self.si("piston_mm") ** 2 * self.si("stroke_mm") * 1e6

    def pressure_Pa(self, raised_share: float) -> float:
        """Pressure above the room that the spring makes, piston at rest (0) to fully raised (1)."""
        squeezed_m = self.si("squeezed_mm") - self.si("sagged_mm") + raised_share * self.si("stroke_mm")
        force_N = spring_force_N(self.si("spring_N_per_mm"), squeezed_m)
        return piston_pressure_Pa(force_N, self.friction_N, self.si("piston_mm"))

    def describe(self, circuit: Circuit) -> None:
        """A vessel under a piston, the hole the piston uncovers, the leak past its seals, a heavy body."""
        circuit.inputs.setdefault(self.lever, 0.0)
        stroke_m3 = self.stroke_ml * 1e-6
        foot_Pa, top_Pa = self.pressure_Pa(0.0), self.pressure_Pa(1.0)
        rest_m3 = self.si("rest_ml")
        circuit.vessels[self.name] = Vessel(
            self.name,
            [Cell("water", rest_m3)],
            [],
            compliance_m3_per_Pa=3.0e-13,
            gas_floor=1e-3,
            water_m3=0.02 * rest_m3,
            metal_J_per_K=15.0,
            height_m=0.03,
            piston=Piston(self.lever, stroke_m3, foot_Pa, stroke_m3 / max(top_Pa - foot_Pa, 1.0)),
        )
        circuit.ports[self.at("screen")] = VesselPort(self.name, 0, 0.5)
        for port in ("cylinder", "seal"):
            circuit.ports[self.at(port)] = VesselPort(self.name, 0, 0.9)
        site = circuit.site
        circuit.reservoirs[self.at("above")] = Reservoir(
            self.at("above"), site.atmosphere_Pa, site.room_K, mixes=True
        )
        circuit.reservoir_ports[self.at("above")] = (self.at("above"), 0.5)
        self._ways(circuit)
        self._body(circuit)

    def _ways(self, circuit: Circuit) -> None:
        uncovered = Command("input", self.lever, 0.85, 1.0)
        inlet, leak, seal = (
            0.7 * 0.25 * pi * self.si(key) ** 2 for key in ("inlet_mm", "inlet_leak_mm", "seal_leak_mm")
        )
        circuit.members += [
            Member(self.name, self.at("in"), self.at("cylinder"), inlet, uncovered, leak_area_m2=leak),
            Member(f"{self.name}.seal", self.at("seal"), self.at("above"), seal),
        ]

    def _body(self, circuit: Circuit) -> None:
        heat = SPECIFIC_HEAT_J_PER_KG_K[self.body]
        circuit.walls[self.name] = (self.body_kg * heat, circuit.site.room_K)
        circuit.links.append(Link("fixed", self.at("water"), self.name, self.body_W_per_K))
        circuit.links.append(Link("fixed", self.bolted_to, self.name, self.flange_W_per_K))
        circuit.links.append(Link("fixed", self.name, "room", self.frame_W_per_K))
        loss = room_loss_coefficients(self.surface_m2, 0.12, 0.3, "horizontal_cylinder")
        circuit.links.append(
            Link("room", self.name, "room", loss.convection_W_per_K_1_25, 0.3 * self.surface_m2)
        )
