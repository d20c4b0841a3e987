"""The water's walks: what flows, from each source to its end; circulations as loops; then what stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from collaudo.paths.circulation import circulation_walk
from collaudo.paths.model import NOTHING_DRIVES, Step, Walk
from collaudo.paths.reasons import Reasons
from collaudo.paths.view import View, part_of
from collaudo.paths.water_steps import Came, WaterSteps
from collaudo.paths.words import LEAST_FLOW_G_PER_S, capital, named, sentence, the


@dataclass(frozen=True)
class _Exit:
    """A way on: through a part from the port it was entered by to another, then along lines to one part."""

    leaves: str
    lines: tuple[int, ...]
    to: str
    flow_g_per_s: float


@dataclass
class _Arrival:
    """A part reached, the port it was entered by and the lines that led there."""

    part: str
    port: str
    lines: tuple[int, ...] = ()


@dataclass
class WaterWalks:
    """Builds the walks. A class because all share what has been walked already."""

    view: View
    walks: list[Walk] = field(default_factory=list)
    seen_parts: set[str] = field(default_factory=set)
    seen_lines: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.reasons = Reasons(self.view)
        self.tell = WaterSteps(self.view, self.reasons)

    def build(self) -> list[Walk]:
        """All walks: with flow, round in circles, standing."""
        for part in self._sources():
            self._flowing(part)
        for loop in self.view.snapshot.circulations:
            walk = circulation_walk(loop, self.view)
            self.seen_parts.update(step.part for step in walk.steps)
            if walk.kind == "circulation":
                self.seen_lines.update(loop.lines)
            self.walks.append(walk)
        self._standing()
        return self.walks

    # --- what flows

    def _sources(self) -> Iterator[str]:
        """Reservoirs that give, then vessels that give without being given."""
        view = self.view
        spaces = [p for p in view.machine.parts if view.is_space(p)]
        for wanted in (view.circuit.reservoirs, view.circuit.vessels):
            for part in spaces:
                if part in wanted:
                    for port in view.ports_of.get(part, ()):
                        if any(self._fresh_outflow(n, port) for n in view.lines_at[port]):
                            yield part

    def _fresh_outflow(self, number: int, port: str) -> bool:
        return number not in self.seen_lines and self._outflow(number, port) > 0.0

    def _outflow(self, number: int, port: str) -> float:
        """Flow that leaves ``port`` by a line, 0 where it does not move."""
        if not self.view.moves(number):
            return 0.0
        flow = self.view.through[number]
        return max(flow if self.view.line(number).from_port == port else -flow, 0.0)

    def _flowing(self, part: str) -> None:
        """Follow the water from a source; what branches off is walked after."""
        exits = self._exits(_Arrival(part, ""), True)
        waiting: list[tuple[str, _Exit]] = [(part, way) for way in exits]
        begun = False
        while waiting:
            begins_at, leaving = waiting.pop(0)
            if not set(leaving.lines) - self.seen_lines:
                continue
            steps: list[Step] = []
            if not begun:
                begins_at, begun = "", True
                self.seen_parts.add(part)
                steps.append(self.tell.step(Came(part), leaving.leaves, _onward(exits)))
            told_g_per_s = 0.0 if begins_at else leaving.flow_g_per_s
            steps += self._follow(leaving, waiting, told_g_per_s)
            kind = "branch" if begins_at else "way"
            self.walks.append(Walk(kind, self._title(steps, begins_at), tuple(steps), begins_at))

    def _follow(self, leaving: _Exit, waiting: list[tuple[str, _Exit]], before_g_per_s: float) -> list[Step]:
        steps: list[Step] = []
        while True:
            self.seen_lines.update(leaving.lines)
            at = _Arrival(part_of(leaving.to), leaving.to, leaving.lines)
            again = at.part in self.seen_parts
            self.seen_parts.add(at.part)
            exits = self._exits(at, True)
            came = Came(at.part, at.port, at.lines, leaving.flow_g_per_s, before_g_per_s, self._is_outlet(at))
            steps.append(self.tell.step(came, exits[0].leaves if exits else "", _onward(exits), again))
            if not exits:
                return steps
            before_g_per_s = leaving.flow_g_per_s
            leaving = exits[0]
            waiting += [(at.part, other) for other in exits[1:]]

    def _is_outlet(self, at: _Arrival) -> bool:
        """Whether a part is reached from behind: by a port its own passage only leads to."""
        passages = self.view.passages.get(at.part, ())
        return any(x.outlet == at.port for x in passages) and all(x.inlet != at.port for x in passages)

    def _exits(self, at: _Arrival, moving: bool) -> list[_Exit]:
        """Ways on from a part, that which leads furthest first; where nothing moves in the file's order."""
        view, found = self.view, []
        for port in self._reachable(at, moving):
            for number in view.lines_at.get(port, ()):
                if number in self.seen_lines or number in at.lines:
                    continue
                flow = self._outflow(number, port)
                if moving and flow <= 0.0:
                    continue
                if not moving and (view.moves(number) or view.line(number).from_port != port):
                    continue
                found.append(_Exit(port, (number,), view.other_end(number, port), flow))
        bundled = _bundle(found, view)
        if not moving:
            return bundled
        return sorted(bundled, key=lambda x: (-self._reach(x.to, frozenset()), -x.flow_g_per_s))

    def _reach(self, port: str, passed: frozenset[str]) -> int:
        """How many parts the water comes to yet that have not been told of."""
        part = part_of(port)
        if part in passed or part in self.seen_parts:
            return 0
        further = [
            self._reach(self.view.other_end(n, p), passed | {part})
            for p in self._reachable(_Arrival(part, port), True)
            for n in self.view.lines_at.get(p, ())
            if self._outflow(n, p) > 0.0
        ]
        return 1 + max(further, default=0)

    def _reachable(self, at: _Arrival, moving: bool) -> list[str]:
        """Ports that can be left by, from the port entered: through passages, or all of a space."""
        view = self.view
        hub = view.hub(at.port) if at.port else at.part
        if hub and hub == at.part:
            ports = [p for p in view.ports_of.get(at.part, ()) if p != at.port and view.hub(p) == hub]
            return ports + self._by_passage(at.part, "", moving)
        return [at.port, *self._by_passage(at.part, at.port, moving)]

    def _by_passage(self, part: str, port: str, moving: bool) -> list[str]:
        """Ports behind the passages of a part, from ``port`` or from inside the part's own vessel."""
        found: list[str] = []
        waiting, seen = [port], {port}
        while waiting:
            at = waiting.pop()
            for x in self.view.passages.get(part, ()):
                ahead, back = (x.inlet, x.outlet, x.flow_g_per_s), (x.outlet, x.inlet, -x.flow_g_per_s)
                for inlet, outlet, flow in (ahead, back):
                    begins = inlet == at or (at == "" and self.view.hub(inlet) == part)
                    forward = flow >= LEAST_FLOW_G_PER_S if moving else inlet == x.inlet
                    if begins and forward and outlet not in seen:
                        seen.add(outlet)
                        found.append(outlet)
                        waiting.append(outlet)
                        if self.view.hub(outlet) == part:
                            waiting.append("")
                            found += [p for p in self.view.ports_of[part] if self.view.hub(p) == part]
        return found

    def _title(self, steps: list[Step], begins_at: str) -> str:
        begin, end = begins_at or steps[0].part, steps[-1].part
        between = [step.part for step in (steps if begins_at else steps[1:])[:-1]]
        if begin == end:
            return f"From {the(begin)} by {the(between[-1])} back to it" if between else capital(the(begin))
        by = f" by {the(between[0])}" if begins_at and between else ""
        return f"From {the(begin)}{by} to {the(end)}"

    # --- what stands

    def _standing(self) -> None:
        """Lines nothing moves in: from sources on, then what hangs on parts that have been told."""
        for part in self.view.machine.parts:
            if self.view.gives(part) and part not in self.seen_parts:
                self._stand_from(part)
        for fresh in (False, True):
            walked = -1
            while walked != len(self.walks):
                walked = len(self.walks)
                for part in self.view.ports_of:
                    if fresh or part in self.seen_parts:
                        self._stand_from(part)

    def _stand_from(self, part: str) -> None:
        fresh = part not in self.seen_parts
        waiting = [(part, way) for way in self._all_exits(part)]
        if fresh:
            self.seen_parts.add(part)
            if not waiting:
                self.walks.append(Walk("closed", capital(the(part)), (self.tell.standing(part, "", "", ()),)))
        while waiting:
            begins_at, leaving = waiting.pop(0)
            if not set(leaving.lines) - self.seen_lines:
                continue
            steps = [self.tell.standing(part, "", leaving.leaves, ())] if fresh else []
            begins_at = "" if fresh else begins_at
            fresh = False
            steps += self._stand(leaving, waiting)
            why = self._why_closed(steps, begins_at, leaving)
            self.walks.append(Walk("closed", self._title(steps, begins_at), tuple(steps), begins_at, why))

    def _why_closed(self, steps: list[Step], begins_at: str, leaving: _Exit) -> str:
        """The first thing that is shut, named; a gauge's line that ends blind needs no reason."""
        shut = next((step for step in steps if step.why), None)
        if shut is not None:
            return sentence(named(shut.part, shut.why))
        if steps[-1].part not in self.view.passages and not self.view.is_space(steps[-1].part):
            return ""
        if begins_at and (why := self.tell.why_left(begins_at, leaving.leaves)):
            return sentence(named(begins_at, why))
        if why := self.tell.why_in(steps[-1].part, steps[-1].enters):
            return sentence(named(steps[-1].part, why))
        return NOTHING_DRIVES if any(step.part in self.view.passages for step in steps) else ""

    def _all_exits(self, part: str) -> list[_Exit]:
        """Standing lines that leave any port of a part."""
        view, found = self.view, []
        for port in view.ports_of.get(part, ()):
            for number in view.lines_at[port]:
                fresh = number not in self.seen_lines and not view.moves(number)
                if fresh and view.line(number).from_port == port:
                    found.append(_Exit(port, (number,), view.other_end(number, port), 0.0))
        return self._longest_first(_bundle(found, view))

    def _stand(self, leaving: _Exit, waiting: list[tuple[str, _Exit]]) -> list[Step]:
        steps: list[Step] = []
        while True:
            self.seen_lines.update(leaving.lines)
            at = _Arrival(part_of(leaving.to), leaving.to, leaving.lines)
            again = at.part in self.seen_parts
            self.seen_parts.add(at.part)
            ends = again or (at.port in self.view.circuit.ports and any(step.why for step in steps))
            exits = [] if ends else self._longest_first(self._exits(at, False))
            onward = exits[0].leaves if exits else ""
            steps.append(self.tell.standing(at.part, at.port, onward, at.lines, again))
            if not exits:
                return steps
            leaving = exits[0]
            waiting += [(at.part, other) for other in exits[1:]]

    def _longest_first(self, exits: list[_Exit]) -> list[_Exit]:
        return sorted(exits, key=lambda x: -self._depth(x.to, frozenset()))

    def _depth(self, port: str, passed: frozenset[str]) -> int:
        """How many parts follow along the lines as they are drawn."""
        part = part_of(port)
        if part in passed:
            return 0
        if part in self.view.circuit.reservoirs:
            return 1
        at = _Arrival(part, port)
        further = [
            self._depth(self.view.line(n).to_port, passed | {part})
            for p in self._reachable(at, False)
            for n in self.view.lines_at.get(p, ())
            if self.view.line(n).from_port == p
        ]
        return 1 + max(further, default=0)


def _onward(exits: list[_Exit]) -> list[tuple[str, float]]:
    return [(part_of(x.to), x.flow_g_per_s) for x in exits]


def _bundle(exits: list[_Exit], view: View) -> list[_Exit]:
    """Two legs to the same vessel are one way on."""
    found: dict[str, _Exit] = {}
    for x in exits:
        leg = all(view.line(n).leg for n in x.lines)
        key = f"to {part_of(x.to)}" if leg else f"{x.leaves} {x.lines}"
        if key in found:
            other = found[key]
            both = other.flow_g_per_s + x.flow_g_per_s
            found[key] = _Exit(other.leaves, other.lines + x.lines, other.to, both)
        else:
            found[key] = x
    return list(found.values())
