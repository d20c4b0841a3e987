"""Softener cartridge in the feed."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Member
from collaudo.parts.part import Part, choice, quantity

# Share of the hardness each kind takes from the water that meets it (common practice, no source).
TAKES_SHARE = {"salt": 0.99, "exchange": 0.85, "pouch": 0.50}
COLD_WATER_PA_S = 1.0e-3
L_PER_MIN = 1.0e-3 / 60.0


@dataclass(frozen=True)
class Softener(Part):
    """A bed of resin: one regenerated with salt, one that is exchanged when spent, or a pouch in the tank.

    Its capacity is counted as the trade counts it, litres times degrees of raw water: about 16,000 for 8 l of
    resin with salt (common practice, no source). Salt leaves the water's conductivity as it was.
    """

    kind = "softener"
    text = "takes the hardness out of the feed water before it can fur up the machine"
    customer = "keeps limescale out of your machine until it is used up"
    fails = "is used up unnoticed, and scale grows; or clogs, and the pump starves"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    resin: str = choice(
        "exchange", tuple(TAKES_SHARE), "regenerated with salt, exchanged, or a pouch in the tank"
    )
    capacity_l_dH: float = quantity(7000.0, 100.0, 200_000.0, "litres times degrees of raw water it can take")
    used_l: float = quantity(0.0, 0.0, 1_000_000.0, "litres that have passed since it was new or regenerated")
    bypass_share: float = quantity(0.0, 0.0, 0.9, "share of raw water let past the bed")
    loss_bar: float = quantity(0.12, 0.001, 3.0, "pressure lost at 1 l/min, bed clean")
    clogged_share: float = quantity(0.0, 0.0, 0.9999, "share of the bed's ways that is clogged")
    bore_mm: float = quantity(8.0, 1.0, 30.0, "bore of its connections")

    def describe(self, circuit: Circuit) -> None:
        """A bed after Darcy between two connections."""
        bed = self.si("loss_bar") / (COLD_WATER_PA_S * L_PER_MIN) / (1.0 - self.clogged_share)
        area = 0.7 * 0.25 * pi * self.si("bore_mm") ** 2
        circuit.members.append(Member(self.name, self.at("in"), self.at("out"), area, bed_per_m3=bed))

    def spent_share(self, raw_dH: float) -> float:
        """Share of the capacity used at a raw hardness [degrees dH]; over 1: overdue."""
        return self.used_l * raw_dH / self.capacity_l_dH

    def hardness_after_dH(self, raw_dH: float) -> float:
        """Hardness [degrees dH] behind it. It lets through what it does not take from 0.9 of its capacity on,
        all from 1.1 on (assumed: the bed breaks through over a fifth of its life)."""
        through = min(max((self.spent_share(raw_dH) - 0.9) / 0.2, 0.0), 1.0)
        taken = TAKES_SHARE[self.resin] * (1.0 - self.bypass_share) * (1.0 - through)
        return raw_dH * (1.0 - taken)
