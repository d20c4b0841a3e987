"""Hose from the drip tray to the building's drain."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import ClassVar

from collaudo.laws.internal_convection import petukhov_friction
from collaudo.parts.circuit import Circuit
from collaudo.parts.part import Part, quantity

GRAVITY = 9.80665
COLD_WATER_KG_PER_M3 = 998.0
COLD_WATER_PA_S = 1.0e-3
MOUTHS = 1.5
"""Velocity heads lost where the water enters and leaves."""
_ROUNDS = 30


@dataclass(frozen=True)
class DrainHose(Part):
    """Falls from the tray to the drain. What it can carry is a report, like the tray's running over: neither
    acts back on the machine."""

    kind = "drain_hose"
    text = "leads what the tray catches to the drain"
    customer = "takes the waste water away"
    fails = "kinks or clogs with coffee grease, and the tray runs over"
    ports: ClassVar[tuple[str, ...]] = ("in",)
    bore_mm: float = quantity(14.0, 3.0, 40.0, "bore")
    length_mm: float = quantity(1500.0, 100.0, 10_000.0, "length")
    fall_mm: float = quantity(600.0, 20.0, 3000.0, "how far its end lies below the tray")
    blocked_share: float = quantity(0.0, 0.0, 0.9999, "share of its cross-section that is blocked")

    def describe(self, circuit: Circuit) -> None:
        """Nothing that the water above would notice."""

    @property
    def carries_g_per_s(self) -> float:
        """Cold water it carries away when its mouth is covered.

        ``g h = v^2/2 (mouths + f L/D + K)``, f after Petukhov or laminar; at the narrow place, with ``s``
        free, Borda and Carnot's ``K = (1/(c s) - 1)^2`` and Weisbach's contraction ``c = 0.63 + 0.37 s^3``.
        Sources: Petukhov, Adv. Heat Transfer 6 (1970) 503; Weisbach (1855) in any textbook of hydraulics.
        """
        bore, free = self.si("bore_mm"), 1.0 - self.blocked_share
        narrow = (1.0 / ((0.63 + 0.37 * free**3) * free) - 1.0) ** 2
        friction = 0.03
        speed = 0.0
        for _ in range(_ROUNDS):
            lost = MOUTHS + friction * self.length_mm / self.bore_mm + narrow
            # The mean of two rounds keeps the change from laminar to turbulent from swinging for ever.
            speed = 0.5 * (speed + sqrt(2.0 * GRAVITY * self.si("fall_mm") / lost))
            reynolds = COLD_WATER_KG_PER_M3 * speed * bore / COLD_WATER_PA_S
            friction = petukhov_friction(reynolds) if reynolds > 3000.0 else 64.0 / reynolds
        return COLD_WATER_KG_PER_M3 * speed * 0.25 * pi * bore * bore * 1e3
