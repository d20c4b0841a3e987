"""Tube with friction."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.errors import QuantityError
from collaudo.parts.circuit import Circuit, Tube
from collaudo.parts.part import Part, quantity

# What a metal tube and the water in it give under pressure, as a share of their volume [1/Pa]: twice the
# compressibility of the water alone, 4.6e-10 /Pa at 20 degC.
GIVES_PER_PA = 1.0e-9
# Largest roughness over bore that the friction law covers (`collaudo.laws.tube`).
LARGEST_ROUGHNESS_RATIO = 0.05


@dataclass(frozen=True)
class FrictionTube(Part):
    """A pipe, hose or capillary whose own friction counts, laminar to turbulent; water passes either way."""

    kind = "tube"
    text = "holds the water back by friction along its length"
    customer = "leads the water on"
    fails = "furs up or kinks, and less comes through"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    bore_mm: float = quantity(4.0, 0.2, 60.0, "bore")
    length_mm: float = quantity(500.0, 1.0, 50_000.0, "length")
    roughness_um: float = quantity(1.5, 0.0, 1000.0, "roughness of the wall; 1.5 is drawn tube")
    fittings_count: float = quantity(
        0.0, 0.0, 200.0, "bends, tees and mouths: velocity heads lost in them, summed"
    )

    def describe(self, circuit: Circuit) -> None:
        """A tube between its two ports; half of its water belongs to each. `QuantityError` if too rough."""
        bore, length, roughness = self.si("bore_mm"), self.si("length_mm"), self.si("roughness_um")
        if roughness > LARGEST_ROUGHNESS_RATIO * bore:
            most = LARGEST_ROUGHNESS_RATIO * bore * 1e6
            raise QuantityError(
                f"roughness_um is {self.roughness_um:g}; with a bore of {self.bore_mm:g} mm it can be "
                f"0 to {most:g}"
            )
        inlet, outlet = self.at("in"), self.at("out")
        circuit.tubes.append(Tube(self.name, inlet, outlet, bore, length, roughness, self.fittings_count))
        held = 0.25 * pi * bore**2 * length
        for port in (inlet, outlet):
            circuit.bare_volumes[port] = (0.5 * held, 0.5 * held * GIVES_PER_PA)
