"""Rotary vane pump with its bypass."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from collaudo.parts.circuit import Circuit, Load, Pump
from collaudo.parts.part import Part, choice, quantity, reference


@dataclass(frozen=True)
class VanePump(Part):
    """A vane pump on a motor; a bypass on the pressure difference sets what it raises.

    Never to be run dry: seconds ruin it. Output and bypass slope are trade figures (common practice, no
    source).
    """

    kind = "vane_pump"
    text = "raises the water to brew pressure; its bypass sets how far"
    customer = "brings the water to brewing pressure"
    fails = "wears, and the pressure falls when much is drawn; or seizes, and its motor only hums"
    ports: ClassVar[tuple[str, ...]] = ("in", "out")
    inward: ClassVar[tuple[str, ...]] = ("in",)
    outward: ClassVar[tuple[str, ...]] = ("out",)
    terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    open_terminals: ClassVar[tuple[str, ...]] = ("live", "neutral")
    output_l_per_h: float = quantity(200.0, 10.0, 1000.0, "output without pressure")
    slip_share: float = quantity(0.06, 0.0, 1.0, "share of the output lost inside at 9 bar")
    bypass_set_bar: float = quantity(9.2, 0.5, 20.0, "pressure raised at a dead end")
    bypass_slope_bar_per_g_per_s: float = quantity(0.1, 0.01, 1.0, "pressure lost for each g/s drawn")

    winding_ohm: float = quantity(98.0, 1.0, 5000.0, "resistance of the running motor as the mains sees it")
    winding_henry: float = quantity(0.33, 0.0, 10.0, "its inductance: 1.6 A at 230 V and 50 Hz")
    winding: str = choice("sound", ("sound", "open"), "whether current can flow through its coil")
    driven_by: str = reference("", ("pump_motor",), "motor that turns it, where that is a part of its own")

    def describe(self, circuit: Circuit) -> None:
        """Displacement, slip and bypass; at a dead end the bypass takes the whole output."""
        output = self.si("output_l_per_h")
        dead_end = self.si("bypass_set_bar")
        slip = self.slip_share * output / 9.0e5
        through = output - slip * dead_end
        # Set lower than the whole output's way through it would need, the bypass opens at once and wider.
        least = 2.0e4
        gain = max(1.0e-6 / (self.bypass_slope_bar_per_g_per_s * 1.0e5), through / (dead_end - least))
        opens = dead_end - through / gain - 1.0e4
        circuit.pumps.append(
            Pump(
                self.name,
                self.at("in"),
                self.at("out"),
                self.driven_by or self.name,
                vane=True,
                free_m3_per_s=output,
                slip_m3_per_s_Pa=slip,
                bypass_opens_Pa=opens,
                bypass_m3_per_s_Pa=gain,
                rest_area_m2=3.0e-6,
                rest_cracking_Pa=1.0e4,
                back_leak_kg_per_s_Pa=1e-9,
            )
        )
        if self.driven_by:
            return
        far_end = "neutral" if self.winding == "sound" else "broken_end"
        circuit.loads.append(
            Load(self.name, self.at("live"), self.at(far_end), self.winding_ohm, self.winding_henry)
        )
