"""Relief valve of the brew circuit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Lift
from collaudo.parts.part import Part, quantity


@dataclass(frozen=True)
class ReliefValve(Part):
    """Opens above its setting and returns water; takes the expansion of the closed brew circuit."""

    kind = "relief_valve"
    text = "opens above its setting and lets water back"
    customer = "lets off pressure that is more than the coffee needs"
    fails = "leaks before its setting, and brewing pressure is never reached; or sticks, and pressure climbs"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    set_bar: float = quantity(9.3, 0.5, 20.0, "pressure at which it begins to open")
    slope_g_per_s_per_bar: float = quantity(14.0, 0.1, 200.0, "flow gained for each bar above")
    leak_ml_per_min_at_9_bar: float = quantity(0.002, 0.0, 500.0, "what the seat lets through at 9 bar")

    def describe(self, circuit: Circuit) -> None:
        """Lift proportional to the pressure beyond the setting, full at 1.5 bar."""
        opens = self.si("set_bar")
        full = 1.5e5
        speed = (2.0 * 995.0 * (opens + 0.5e5)) ** 0.5
        area = self.slope_g_per_s_per_bar * 1e-3 / 1e5 * full / speed
        leak = self.leak_ml_per_min_at_9_bar * 1e-3 / 60.0 / 9.0e5
        circuit.lifts.append(Lift(self.name, self.at("in"), self.at("out"), area, opens, full, leak))
