"""Vibration pump."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Load, Pump
from collaudo.parts.half_wave import add_half_wave_pump
from collaudo.parts.part import Part, choice, quantity


@dataclass(frozen=True)
class VibrationPump(Part):
    """A plunger shaken by the mains through a diode; its own valves hold against the flow.

    Curve: trade figures 650, 510, 380, 250, 120 ml/min at 0, 3, 6, 9, 12 bar, 15.5 bar dead end (common
    practice, no source).
    """

    kind = "vibration_pump"
    text = "raises the water to brew pressure"
    customer = "brings the water to brewing pressure"
    fails = "wears, and pressure and flow fall; or its coil breaks, and it is silent"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    free_flow_ml_per_min: float = quantity(650.0, 0.0, 3000.0, "flow against no pressure at rated supply")
    shutoff_bar: float = quantity(15.5, 0.5, 30.0, "dead-end pressure")
    bend_share: float = quantity(0.16, -0.5, 0.9, "sag of the curve below a straight line")

    winding_ohm: float = quantity(
        550.0, 10.0, 5000.0, "resistance of the working coil: 48 W through its diode"
    )
    winding: str = choice("sound", ("sound", "open"), "whether current can flow through its coil")

    def describe(self, circuit: Circuit) -> None:
        """A pump that holds when it rests and lets a push from behind through."""
        pump = Pump(
            self.name,
            self.at("in"),
            self.at("out"),
            self.name,
            vane=False,
            free_m3_per_s=self.si("free_flow_ml_per_min"),
            shutoff_Pa=self.si("shutoff_bar"),
            bend=self.bend_share,
            rest_area_m2=2.0e-6,
            back_leak_kg_per_s_Pa=1e-12,
        )
        far_end = "neutral" if self.winding == "sound" else "broken_end"
        load = Load(self.name, self.at("live"), self.at(far_end), self.winding_ohm, one_way=True)
        add_half_wave_pump(circuit, pump, load)
