"""The heat's walks: from each element through walls and water to the room, with watts."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from collaudo.fluid.water import liquid_energy, vapour_enthalpy
from collaudo.paths.model import Step, Walk
from collaudo.paths.reasons import Reasons
from collaudo.paths.view import View, part_of
from collaudo.paths.words import degrees, listed, named, sentence, the, watts

ROOM = "room"
LEAST_W = 1.0
TOLD_FROM_W = 5.0
"""Less is not worth a walk of its own."""


def load_of_heater(view: View, wall: str) -> str:
    """The load whose current heats a wall: its own part, or what is screwed to it."""
    return part_of(next((load for name, load, _ in view.circuit.heaters if name == wall), wall))


@dataclass
class HeatBooks:
    """Watts between parts: through walls (links) and with water (flows), and what each part keeps."""

    view: View
    by_wall: dict[tuple[str, str], float] = field(default_factory=dict)
    by_water: dict[tuple[str, str], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        walls: dict[tuple[str, str], float] = defaultdict(float)
        for heat in self.view.snapshot.heats:
            a, b = self._part(heat.a), self._part(heat.b)
            if a != b:
                walls[a, b] += heat.heat_W
        self.by_wall = _one_way(walls)
        water: dict[tuple[str, str], float] = defaultdict(float)
        for number, line in enumerate(self.view.snapshot.lines):
            a, b = part_of(line.from_port), part_of(line.to_port)
            water[a, b] += self._carried_W(number)
        self.by_water = {pair: watt for pair, watt in _one_way(water).items() if pair[0] != pair[1]}

    @staticmethod
    def _part(node: str) -> str:
        """Part a cell or wall belongs to; a leg belongs to the part it comes from."""
        return part_of(node.partition(" to ")[0])

    def _carried_W(self, number: int) -> float:
        """Heat that a line's flow carries beyond that of water as warm as the room."""
        line = self.view.line(number)
        room_K = self.view.snapshot.site["room_K"]
        kelvin = self.view.arrives_degC(number) + 273.15
        liquid = liquid_energy(kelvin)[0] - liquid_energy(room_K)[0]
        vapour = vapour_enthalpy(kelvin)[0] - liquid_energy(room_K)[0]
        each = line.steam_share * vapour + (1.0 - line.steam_share - line.air_share) * liquid
        return line.flow_g_per_s * 1e-3 * each

    def gives(self, part: str) -> list[tuple[str, float, bool]]:
        """To whom a part gives heat, how much, and whether with water; most first."""
        found = [(b, watt, False) for (a, b), watt in self.by_wall.items() if a == part and watt >= LEAST_W]
        found += [(b, watt, True) for (a, b), watt in self.by_water.items() if a == part and watt >= LEAST_W]
        return sorted(found, key=lambda x: -x[1])

    def gets_W(self, part: str) -> float:
        """All heat a part gets, its own element's power included."""
        watt = sum(w for books in (self.by_wall, self.by_water) for (_, b), w in books.items() if b == part)
        return watt + self.view.snapshot.heaters_W.get(part, 0.0)

    def keeps_W(self, part: str) -> float:
        """What stays in a part and warms it; negative: it lives on its store."""
        given = sum(w for books in (self.by_wall, self.by_water) for (a, _), w in books.items() if a == part)
        return self.gets_W(part) - given


class HeatWalks:
    """Builds the walks. A class because all share the books and what has been told."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.reasons = Reasons(view)
        self.books = HeatBooks(view)
        self.told: set[str] = set()

    def build(self) -> list[Walk]:
        """From each element, the strongest first; then from what gives heat out of its own store."""
        heaters = self.view.snapshot.heaters_W
        walks: list[Walk] = []
        for name in sorted(heaters, key=lambda name: -heaters[name]):
            walks += self._from(part_of(name))
        for name in self.view.machine.parts:
            gives = sum(watt for _, watt, _ in self.books.gives(name))
            if name not in self.told and gives >= TOLD_FROM_W and self._holds_heat(name):
                walks += self._from(name)
        return sorted(walks, key=lambda walk: walk.kind == "closed")

    def _holds_heat(self, part: str) -> bool:
        """Whether a part is a vessel, has a wall of its own or is an element."""
        return part in self.view.circuit.vessels or part in self.view.circuit.walls

    def _from(self, begin: str) -> list[Walk]:
        if begin in self.told:
            return []
        power = self.view.snapshot.heaters_W.get(begin)
        if power is not None and power < LEAST_W:
            self.told.add(begin)
            step = self._step(begin, "", 0.0, False)
            return [Walk("closed", self._title("", [step]), (step,), "", sentence(named(begin, step.why)))]
        walks: list[Walk] = []
        waiting: list[tuple[str, str, float, bool]] = [("", begin, 0.0, False)]
        while waiting:
            source, part, watt, wet = waiting.pop(0)
            if part in self.told or (source and watt < TOLD_FROM_W):
                continue
            steps = self._walk(source, part, watt, wet, waiting)
            kind = "branch" if source else "way"
            walks.append(Walk(kind, self._title(source, steps), tuple(steps), source))
        return walks

    def _walk(
        self, source: str, part: str, watt: float, wet: bool, waiting: list[tuple[str, str, float, bool]]
    ) -> list[Step]:
        steps: list[Step] = []
        while True:
            self.told.add(part)
            steps.append(self._step(part, source, watt, wet))
            onward = [x for x in self._onward(part) if x[0] not in self.told]
            waiting += [(part, *x) for x in onward[1:]]
            if not onward:
                return steps
            source, (part, watt, wet) = part, onward[0]

    def _onward(self, part: str) -> list[tuple[str, float, bool]]:
        """Parts that get heat from ``part``, valves and pipes between them passed over; the room left out."""
        found: dict[str, tuple[float, bool]] = {}
        for other, watt, wet in self.books.gives(part):
            if other == ROOM and not wet:
                continue
            end = self._passed_over(other, {part}) if wet else other
            if end:
                found[end] = (found.get(end, (0.0, False))[0] + watt, wet)
        return [(name, watt, wet) for name, (watt, wet) in found.items()]

    def _passed_over(self, part: str, passed: set[str]) -> str:
        """The next vessel, wall or cup on the way of hot water."""
        if self._holds_heat(part) or self.view.is_space(part):
            return part
        further = [x for x in self.books.gives(part) if x[2] and x[0] not in passed]
        return self._passed_over(further[0][0], passed | {part}) if further else part

    def _step(self, part: str, source: str, watt: float, wet: bool) -> Step:
        kind = self.view.part(part)
        power = self.view.snapshot.heaters_W.get(part)
        says, why = [], ""
        if power is not None and power >= LEAST_W:
            says.append(f"{watts(power)}{self._whose(part)}.")
        elif power is not None:
            load = load_of_heater(self.view, part)
            who = "it" if load == part else the(load)
            dead = not self.view.load(load).on
            why = f"{who} has no current: {self.reasons.no_current(load)}" if dead else ""
            says.append(sentence(why) if why else "It gives no heat now.")
        if source:
            carrier = self._carrier(source) if wet else ""
            says.append(f"It gets {watts(watt)}{carrier} from {the(source)}.")
        says += self._passes_on(part)
        facts = {"gets_W": self.books.gets_W(part), "keeps_W": self.books.keeps_W(part)}
        customer = kind.customer or kind.text
        passes = bool(source) or (power or 0.0) >= LEAST_W or power is None
        return Step(part, source, "", kind.text, customer, kind.fails, tuple(says), passes, why, facts)

    def _title(self, source: str, steps: list[Step]) -> str:
        begin, end = source or steps[0].part, steps[-1].part
        if begin == end:
            load = load_of_heater(self.view, begin)
            return f"The heat of {the(begin) if load == begin else f'the coil of {the(load)}'}"
        return f"From {the(begin)} to {the(end)}"

    def _whose(self, part: str) -> str:
        """Where the current turns into heat: in the part itself, or in the coil of what it is fixed to."""
        load = load_of_heater(self.view, part)
        if load == part:
            return " of current turn into heat in it"
        return f" turn into heat in the coil of {the(load)}, on which it sits; what follows is the coil's"

    def _passes_on(self, part: str) -> list[str]:
        """Where the heat goes, what stays, how warm it is."""
        view, says = self.view, []
        degC = self._degC(part)
        if degC is not None:
            says.append(f"It is at {degrees(degC)}.")
        if part in view.circuit.reservoirs:
            return says[1:]
        given = self._given(part)
        if given:
            says.append(f"It passes on {listed([f'{watts(w)} {to}' for to, w in given])}.")
        keeps = self.books.keeps_W(part)
        if abs(keeps) >= max(5.0, 0.02 * self.books.gets_W(part)) and self._holds_heat(part):
            says.append(_kept(keeps, bool(given)))
        return says

    def _given(self, part: str) -> list[tuple[str, float]]:
        found = []
        gives = self.books.gives(part)
        twice = any(wet and self._passed_over(other, {part}) == ROOM for other, _, wet in gives)
        for other, watt, wet in gives:
            if other == ROOM and not wet:
                found.append(("from its outside to the room" if twice else "to the room", watt))
            else:
                end = self._passed_over(other, {part}) if wet else other
                found.append((f"to {the(end)}{self._carrier(part) if wet else ''}", watt))
        return found

    def _carrier(self, part: str) -> str:
        """Water or steam: what leaves a part most."""
        view = self.view
        lines = [n for port in view.ports_of.get(part, ()) for n in view.lines_at[port]]
        steam = any(view.line(n).steam_share > 0.5 and view.moves(n) for n in lines)
        return " with the steam" if steam else " with the water"

    def _degC(self, part: str) -> float | None:
        """Temperature of its wall, else of its hottest cell."""
        known = self.view.snapshot.temperatures_degC
        cells = [value for name, value in known.items() if name.startswith(f"{part}.")]
        return known.get(part, max(cells, default=None))


def _kept(keeps_W: float, rest: bool) -> str:
    if keeps_W < 0.0:
        return f"{watts(keeps_W)} come out of its own store, and it cools."
    return f"The rest, {watts(keeps_W)}, warms it." if rest else f"{watts(keeps_W)} warm it."


def _one_way(books: dict[tuple[str, str], float]) -> dict[tuple[str, str], float]:
    """Both directions of a pair set against each other, so that every entry is positive."""
    found: dict[tuple[str, str], float] = {}
    for (a, b), watt in books.items():
        net = watt - books.get((b, a), 0.0)
        if net > 0.0:
            found[a, b] = net
    return found
