"""What is told of the water at one part: what comes in, what becomes of it, or why nothing passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from collaudo.fluid.water import liquid_energy, saturation_temperature, vapour_enthalpy
from collaudo.paths.model import Step
from collaudo.paths.reasons import Reasons
from collaudo.paths.view import View
from collaudo.paths.words import (
    LEAST_FLOW_G_PER_S,
    and_bars,
    bars,
    capital,
    degrees,
    flow,
    gas_flow,
    sentence,
    the,
    there_are,
)
from collaudo.twin.snapshot import LineFlow

WARMED_K = 1.5
FELL_BAR = 0.04
"""Smaller changes from port to port are not worth a sentence."""
STEAM = 0.9
"""From this share on it is steam and no longer water."""


@dataclass(frozen=True)
class Came:
    """How the water came to a part."""

    part: str
    enters: str = ""
    """Port; empty at the beginning of a walk."""
    lines: tuple[int, ...] = ()
    flow_g_per_s: float = 0.0
    before_g_per_s: float = 0.0
    """What left the part before; the amount is told again where less or more arrives."""
    outlet: bool = False
    """The port lies behind the part's own seat."""


class WaterSteps:
    """Steps of the water's walks at one moment."""

    def __init__(self, view: View, reasons: Reasons) -> None:
        self.view = view
        self.reasons = reasons

    def step(self, came: Came, leaves: str, onward: Sequence[tuple[str, float]], again: bool = False) -> Step:
        """A part that water passes; ``onward``: next parts and what goes there, the walk's own first.

        ``again`` where the part has been told before.
        """
        says = [self._comes(came)] if came.enters else []
        if came.enters == leaves:
            says.append("It goes on past it.")
        elif not again:
            says += self._becomes(came, leaves, onward[0][1] if onward else 0.0)
            says += [
                sentence(f"{flow(g)} turn{_s(flow(g))} off here to {the(part)}") for part, g in onward[1:]
            ]
        amount = came.flow_g_per_s or (onward[0][1] if onward else 0.0)
        return self._made(came.part, came.enters, leaves, says, came.lines, {"flow_g_per_s": amount})

    def standing(
        self, part: str, enters: str, leaves: str, lines: tuple[int, ...], again: bool = False
    ) -> Step:
        """A part in which nothing moves."""
        why = self.why(part, enters, leaves) if enters and leaves else ""
        says = [] if again else self._rests(part, enters or leaves)
        if why and not again:
            says.append(sentence(why))
        return self._made(part, enters, leaves, says, lines, {}, passes=False, why=why)

    def _made(
        self,
        part: str,
        enters: str,
        leaves: str,
        says: list[str],
        lines: tuple[int, ...],
        facts: dict[str, float],
        *,
        passes: bool = True,
        why: str = "",
    ) -> Step:
        kind = self.view.part(part)
        ports = self.view.snapshot.ports
        for name, port in (("in", enters), ("out", leaves)):
            if port in ports:
                facts[f"{name}_bar"] = ports[port].pressure_bar
                facts[f"{name}_degC"] = ports[port].temperature_degC
        if lines and passes:
            facts["in_degC"] = self._arrives_degC(lines)
        return Step(
            part, enters, leaves, kind.text, kind.customer or kind.text, kind.fails, tuple(says), passes, why,
            facts, lines,
        )  # fmt: skip

    # --- what flows

    def _comes(self, came: Came) -> str:
        """``3.6 g/s of water come in at 22 °C and 9.6 bar.`` The amount is told where it has changed."""
        reading = self.view.snapshot.ports[came.enters]
        line = self.view.line(came.lines[0])
        what, degC = self._what(line, came.flow_g_per_s), self._arrives_degC(came.lines)
        where = "to its outlet" if came.outlet else "in by both legs" if len(came.lines) > 1 else "in"
        told = f"{what} come{_s(what)}"
        if self._is_open(came.enters):
            return sentence(f"{what} run{_s(what)} into it at {degrees(degC)}")
        if abs(came.flow_g_per_s - came.before_g_per_s) < 0.02 * came.flow_g_per_s and len(came.lines) == 1:
            told = "it comes"
        return sentence(f"{told} {where} at {degrees(degC)}{and_bars(reading.pressure_bar)}")

    def _arrives_degC(self, lines: Sequence[int]) -> float:
        """Mean temperature of what lines bring."""
        flows = [abs(self.view.through[n]) for n in lines]
        warm = sum(g * self.view.arrives_degC(n) for g, n in zip(flows, lines, strict=True))
        return warm / sum(flows) if sum(flows) > 0.0 else self.view.arrives_degC(lines[0])

    @staticmethod
    def _what(line: LineFlow, flow_g_per_s: float) -> str:
        """``3.6 g/s of water``, ``0.87 g/s of steam``, ``3 mg/s of air and steam``."""
        gas = line.steam_share + line.air_share
        if gas > STEAM:
            return f"{gas_flow(flow_g_per_s)} of {'air and steam' if line.air_share > 0.1 else 'steam'}"
        amount = flow(flow_g_per_s)
        if gas > 0.05:
            return f"{amount} of water with steam in it"
        return f"{amount} of water" if "drop" not in amount else amount

    def _is_open(self, port: str) -> bool:
        """Whether a port opens to the room: a cup, a tray, a tank."""
        return self.view.hub(port) in self.view.circuit.reservoirs

    def _becomes(self, came: Came, leaves: str, flow_g_per_s: float) -> list[str]:
        """What changes between the port entered and the port left."""
        ports, part = self.view.snapshot.ports, came.part
        if not came.enters:
            return self._gives(part, leaves, flow_g_per_s)
        if not leaves:
            return self._ends(part)
        found = []
        before, behind = ports[came.enters], ports[leaves]
        space = self.view.is_space(part)
        if not self._is_open(came.enters):
            rise = behind.pressure_bar - before.pressure_bar
            if rise > FELL_BAR:
                found.append(f"It leaves at {bars(behind.pressure_bar)}.")
            elif rise < -FELL_BAR:
                found.append(self._falls(before.pressure_bar, behind.pressure_bar, came.enters))
        if space and abs(behind.temperature_degC - self._arrives_degC(came.lines)) > WARMED_K:
            amount = flow(flow_g_per_s)
            what = f"{amount} leave{_s(amount)}" if self._differs(came, flow_g_per_s) else "it leaves"
            found.append(sentence(f"{what} at {degrees(behind.temperature_degC)}"))
        return found + (self._store(part) if space else [])

    @staticmethod
    def _differs(came: Came, flow_g_per_s: float) -> bool:
        """Whether a vessel gives more or less than comes in, so that it empties or fills."""
        return abs(flow_g_per_s - came.flow_g_per_s) > 0.1 * came.flow_g_per_s

    def _falls(self, before: float, behind: float, enters: str) -> str:
        if abs(behind) < 0.02:
            return f"It loses all of its {bars(before)} here.{self._flashes(enters)}"
        return f"{bars(before - behind)} are lost here, {bars(behind)} are left."

    def _flashes(self, enters: str) -> str:
        """What share of water above its boiling point turns to steam as it comes out."""
        passage = next((x for x in self.view.snapshot.flows if enters in (x.inlet, x.outlet)), None)
        kelvin = self.view.snapshot.ports[enters].temperature_degC + 273.15
        boils_K = saturation_temperature(self.view.snapshot.site["atmosphere_Pa"])
        if passage is None or passage.steam_share > 0.5 or kelvin < boils_K + 1.0:
            return ""
        hot, boils = liquid_energy(kelvin)[0], liquid_energy(boils_K)[0]
        share = (hot - boils) / (vapour_enthalpy(boils_K)[0] - boils)
        return f" It is hotter than it can boil out here, so {100 * share:.0f} % of it turns to steam."

    def _gives(self, part: str, leaves: str, flow_g_per_s: float) -> list[str]:
        reading = self.view.snapshot.ports[leaves]
        what = self._what(self.view.line(self.view.lines_at[leaves][0]), flow_g_per_s)
        found = [sentence(f"{what} leave{_s(what)} {the(part)} at {degrees(reading.temperature_degC)}")]
        if abs(reading.pressure_bar) >= 0.02:
            found[0] = found[0].removesuffix(".") + f"{and_bars(reading.pressure_bar)}."
        return found + self._store(part)

    def _ends(self, part: str) -> list[str]:
        if part in self.view.circuit.vessels:
            return ["It stays here.", *self._store(part)]
        return []

    def _store(self, part: str) -> list[str]:
        """How full a vessel or tank is that is not always full."""
        level = self.view.snapshot.levels.get(part)
        if level is None or level > 0.985 or part not in self.view.snapshot.masses_g:
            return []
        if level < 0.005:
            return [f"{capital(the(part))} is empty."]
        return [f"{capital(the(part))} is {100 * level:.0f} % full."]

    # --- what stands

    def _rests(self, part: str, port: str) -> list[str]:
        reading = self.view.snapshot.ports.get(port)
        if reading is None or self._is_open(port):
            return self._store(part)
        pressure = reading.pressure_bar
        if part in self.view.circuit.vessels:
            return [
                sentence(f"it stands at {degrees(reading.temperature_degC)}{and_bars(pressure)}"),
                *self._store(part),
            ]
        where = "before it" if part in self.view.passages else "at it"
        if where == "at it" and abs(pressure) < 0.02:
            return []
        return [sentence(f"{there_are(pressure)} {where}")]

    def why(self, part: str, enters: str, leaves: str) -> str:
        """Why nothing passes a part between two ports."""
        view = self.view
        for x in view.passages.get(part, ()):
            begins = x.inlet == enters or (view.hub(x.inlet) == part == view.hub(enters))
            if begins and (x.outlet == leaves or view.hub(x.outlet) == part):
                return self.reasons.shut(x.inlet, x.outlet)
        return ""

    def why_in(self, part: str, enters: str) -> str:
        """Why nothing goes in at a port whose ways on are all shut; empty where one is open."""
        begun = [x for x in self.view.passages.get(part, ()) if x.inlet == enters]
        whys = [self.reasons.shut(x.inlet, x.outlet) for x in begun]
        return whys[0] if whys and all(whys) else ""

    def why_left(self, part: str, leaves: str) -> str:
        """Why nothing comes out of a part by a port; empty where water passes to it all the same."""
        for x in self.view.passages.get(part, ()):
            if x.outlet == leaves and abs(x.flow_g_per_s) < LEAST_FLOW_G_PER_S:
                return self.reasons.shut(x.inlet, x.outlet)
        return ""


def _s(what: str) -> str:
    """A drop comes, 3 g/s come."""
    return "s" if what.startswith("a ") else ""
