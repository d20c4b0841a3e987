"""Which wires carry volts at the moment, and which carry current.

The kernel knows the volts of every net and so the current of every load. Which way that takes through wires
and closed contacts follows from continuity; where two ways are open side by side they share it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.drawing.ladder import LEFT, RIGHT
from collaudo.drawing.rungs import rungs_of
from collaudo.drawing.wiring import wiring_of
from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit
from collaudo.twin.kernel.potentials import impedance
from collaudo.twin.run import Run
from collaudo.twin.wiring import wire_up

DEAD, LIVE, CARRIES = 0, 1, 2
LIVE_FROM_V = 25.0
"""Bare parts of no more need no protection against touch in dry rooms (IEC 60364-4-41, 414.4.5)."""
CARRIES_FROM_A = 0.5e-3
"""A hand feels no less (IEC 60479-1, threshold of perception of alternating current)."""
LEAD_OHM = 10.0
"""What leads better than this lies in a lead, worse is insulation."""
HELD_S = 1e9
"""Conductance to earth where a source holds its terminal."""
LOOSE_S = 1e-9
"""Conductance from every terminal to earth, so that what is joined to nothing has a solution: no current."""

Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class _Branch:
    """Something between two terminals that a current passes: ``key`` as the wiring diagram calls it."""

    key: str
    a: str
    b: str
    kind: str
    """lead: part of the way; contact: part of it while closed; taken: what the volts drive through it."""
    index: int


class Wires:
    """Wires of one run as it is built. A class because the graph is worked out once."""

    def __init__(self, run: Run, built: Machine, runs: Sequence[Mapping[str, int]]) -> None:
        """``runs``: of each stretch of the wiring diagram of the machine as it was built what is drawn as it
        (``wire-3``)."""
        self._run = run
        self._circuit = described(run.machine, run.assembly.site)
        self._branches = _branches(run, self._circuit, described(built))
        ends = dict.fromkeys(end for one in self._branches for end in (one.a, one.b))
        ends |= dict.fromkeys(source.terminal for source in self._circuit.sources)
        self._at = {end: n for n, end in enumerate(ends)}
        nets = wire_up(self._circuit, run.machine.wires, lambda _: (0, 0)).nets
        self._net = np.array([nets.get(end, -1) for end in ends], np.int64)
        self._sources = [self._at[source.terminal] for source in self._circuit.sources]
        drawn = _drawn(built, self._branches)
        self._runs = [[(drawn[key], way) for key, way in ways.items()] for ways in runs]
        self._seen: bytes = b""
        self._states: list[int] = []

    def states(self) -> list[int]:
        """Of each stretch of the wiring diagram: DEAD, LIVE or CARRIES."""
        mode = self._run.mode
        now = mode.closed.tobytes() + mode.load_V.tobytes() + mode.supply[:1].tobytes()
        if now != self._seen:
            self._seen, self._states = now, self._reckon()
        return self._states

    def _reckon(self) -> list[int]:
        mode = self._run.mode
        known = self._net >= 0
        volts = np.where(known, mode.volt[mode.net[np.where(known, self._net, 0)]], 0.0)
        amps = self._currents(volts)
        found = []
        for ways in self._runs:
            passed = sum(way * sense * amps[branch] for (branch, sense, _), way in ways)
            live = abs(volts[self._at[ways[0][0][2]]]) >= LIVE_FROM_V
            found.append(CARRIES if abs(passed) >= CARRIES_FROM_A else LIVE if live else DEAD)
        return found

    def _currents(self, volts: Complexes) -> Complexes:
        """Current [A] of each branch from ``a`` to ``b``; the last is that of none."""
        size = len(self._at)
        matrix = np.diag(np.full(size, LOOSE_S))
        matrix[self._sources, self._sources] = HELD_S
        right = np.zeros(size, np.complex128)
        amps = np.zeros(len(self._branches) + 1, np.complex128)
        closed, ways = self._run.mode.closed, []
        for n, one in enumerate(self._branches):
            a, b = self._at[one.a], self._at[one.b]
            if one.kind == "taken":
                amps[n] = (volts[a] - volts[b]) / self._impedance(one)
                right[a] -= amps[n]
                right[b] += amps[n]
            elif one.kind == "lead" or closed[one.index] > 0.0:
                ways.append((n, a, b))
                matrix[a, a] += 1.0
                matrix[b, b] += 1.0
                matrix[a, b] -= 1.0
                matrix[b, a] -= 1.0
        at = np.linalg.solve(matrix.astype(np.complex128), right)
        for n, a, b in ways:
            amps[n] = at[a] - at[b]
        return amps

    def _impedance(self, one: _Branch) -> complex:
        """Of a load, or of what leaks [ohm]."""
        tb = self._run.tables
        hertz = float(tb.site[2])
        if one.key.startswith("load-"):
            x = tb.load[one.index]
            return impedance(float(x.ohm), float(x.henry), float(x.farad), hertz)
        r = tb.resistor[one.index]
        return impedance(0.0 if r.farad > 0.0 else float(r.ohm), 0.0, float(r.farad), hertz)


def _branches(run: Run, circuit: Circuit, built: Circuit) -> list[_Branch]:
    """Wires first, then contacts, loads and resistors as `collaudo.drawing.wiring` names them, which draws
    them as they were before any fault."""
    found = [_Branch(f"wire-{n}", a, b, "lead", n) for n, (a, b) in enumerate(run.machine.wires)]
    found += [_Branch(f"contact-{n}", x.a, x.b, "contact", n) for n, x in enumerate(circuit.contacts)]
    found += [_Branch(f"load-{x.name}", x.a, x.b, "taken", n) for n, x in enumerate(circuit.loads)]
    as_drawn = built.resistors if len(built.resistors) == len(circuit.resistors) else circuit.resistors
    for n, (x, drawn) in enumerate(zip(circuit.resistors, as_drawn, strict=True)):
        leads = x.farad == 0.0 and x.ohm < LEAD_OHM
        key = f"capacitor-{n}" if drawn.farad > 0.0 else f"lead-{n}"
        found.append(_Branch(key, x.a, x.b, "lead" if leads else "taken", n))
    return found


def _drawn(built: Machine, branches: Sequence[_Branch]) -> dict[str, tuple[int, float, str]]:
    """Of every wire and every inner joint of the wiring diagram the branch whose current it carries, in
    which sense, and a terminal it ends at. An inner joint leads from a terminal to one more element there."""
    number = {one.key: n for n, one in enumerate(branches)}
    found = {one.key: (n, 1.0, one.a) for n, one in enumerate(branches) if one.key.startswith("wire-")}
    for key, rung in rungs_of(wiring_of(built)).rungs.items():
        for terminal, side in ((rung.element.a, LEFT), (rung.element.b, RIGHT)):
            if terminal:
                n = number.get(key, len(branches))
                sense = 1.0 if n == len(branches) or branches[n].a == terminal else -1.0
                found[f"inner-{key}-{side}"] = n, sense, terminal
    return found
