"""Sight glass of the boiler."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.parts.circuit import Circuit
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class SightGlass(Part):
    """A glass beside the boiler, joined to it above and below: its water stands as high as that inside."""

    kind = "sight_glass"
    text = "shows how high the water stands in the boiler"
    customer = "shows how full the boiler is"
    fails = "clouds or clogs and shows a false level"
    in_boiler: str = reference("boiler", ("boiler",), "boiler whose level it shows")
    foot_share: float = quantity(0.35, 0.0, 1.0, "lowest level it shows")
    top_share: float = quantity(0.90, 0.0, 1.0, "highest level it shows")
    state: str = choice(
        "sound", ("sound", "clouded", "clogged"), "clouded: unreadable; clogged: it stands still"
    )

    def describe(self, circuit: Circuit) -> None:
        """Nothing that the water would notice."""

    def shown_share(self, level_share: float, last_share: float) -> float | None:
        """Level it shows (as a share of the boiler); ``last_share`` where its ways are clogged, None where
        nothing can be read."""
        if self.state == "clouded":
            return None
        stands = level_share if self.state == "sound" else last_share
        return min(max(stands, self.foot_share), self.top_share)
