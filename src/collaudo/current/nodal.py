"""Volts and currents of a network of impedances, by modified nodal analysis.

Unknown are the potential of every node and the current of every branch without impedance and of every
source: C.-W. Ho, A. E. Ruehli, P. A. Brennan, The modified nodal approach to network analysis, IEEE
Transactions on Circuits and Systems 22 (1975) 504-509. Phasors are root-mean-square values.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import inf, pi

import numpy as np
from numpy.typing import NDArray

Phasors = NDArray[np.complex128]

TIE_S = 1.0e-12
"""Conductance that ties an isolated part of a network to no volt, so that it has an answer."""


@dataclass(frozen=True)
class Branch:
    """Resistance, inductance and capacitance (none where 0) in series between two nodes; all 0: a short."""

    name: str
    a: str
    b: str
    ohm: float = 0.0
    henry: float = 0.0
    farad: float = 0.0

    def impedance_ohm(self, frequency_Hz: float) -> complex:
        """At a frequency [Hz]; at 0 Hz an inductance is nothing and a capacitance lets nothing through."""
        turns = 2.0 * pi * frequency_Hz
        if self.farad > 0.0 and turns == 0.0:
            return complex(inf, 0.0)
        capacitive = 1.0 / (turns * self.farad) if self.farad > 0.0 else 0.0
        return complex(self.ohm, turns * self.henry - capacitive)


@dataclass(frozen=True)
class Solved:
    """A solved network: potentials [V] by node, currents [A] by branch from a to b, and out of each
    source."""

    potential_V: Mapping[str, complex]
    current_A: Mapping[str, complex]
    source_A: Mapping[str, complex]
    undefined: frozenset[str]
    """Nodes no path joins to a source: their volts mean nothing."""
    _system: Phasors = field(repr=False)
    _place: Mapping[str, int] = field(repr=False)

    @cached_property
    def _inverse(self) -> Phasors:
        return np.linalg.inv(self._system).astype(complex)

    def open_volts(self, a: str, b: str) -> complex:
        """Potential of ``a`` above ``b`` [V]."""
        return self.potential_V[a] - self.potential_V[b]

    def source_impedance_ohm(self, a: str, b: str) -> complex:
        """Impedance [ohm] the network has between two nodes, its sources at rest (Thevenin)."""
        i, j = self._place[a], self._place[b]
        z = self._inverse
        return complex(z[i, i] - z[i, j] - z[j, i] + z[j, j])


def solve(branches: Iterable[Branch], sources: Mapping[str, complex], frequency_Hz: float) -> Solved:
    """Solve a network. ``sources``: potential [V] of nodes that are held. Names of branches are unique.

    Isolated parts are tied to no volt by `TIE_S` and reported as undefined. Two sources joined by branches
    without impedance have no answer: `ZeroDivisionError` says so.
    """
    known = [(x, x.impedance_ohm(frequency_Hz)) for x in branches]
    used = [(x, z) for x, z in known if np.isfinite(z.real) and x.a != x.b]
    place = _numbered(x for x, _ in known)
    for terminal in sources:
        place.setdefault(terminal, len(place))
    shorts = [x for x, z in used if z == 0.0]
    n, held = len(place), len(sources)
    system = np.zeros((n + held + len(shorts),) * 2, complex)
    right = np.zeros(len(system), complex)
    for branch, z in used:
        if z != 0.0:
            _stamp(system, place[branch.a], place[branch.b], 1.0 / z)
    for row, (terminal, volt) in enumerate(sources.items(), n):
        system[place[terminal], row] -= 1.0
        system[row, place[terminal]] = 1.0
        right[row] = volt
    for row, branch in enumerate(shorts, n + held):
        a, b = place[branch.a], place[branch.b]
        system[a, row], system[b, row] = 1.0, -1.0
        system[row, a], system[row, b] = 1.0, -1.0
    islands = _islands((x for x, _ in used), place, sources)
    for island in islands:
        system[place[island[0]], place[island[0]]] += TIE_S
    try:
        found = np.linalg.solve(system, right)
    except np.linalg.LinAlgError:
        raise ZeroDivisionError("sources or a ring of branches without any impedance") from None
    potential = {node: complex(found[i]) for node, i in place.items()}
    current = {x.name: (potential[x.a] - potential[x.b]) / z for x, z in used if z != 0.0}
    current |= {x.name: complex(found[n + held + k]) for k, x in enumerate(shorts)}
    return Solved(
        potential,
        {x.name: current.get(x.name, 0j) for x, _ in known},
        {terminal: complex(found[n + k]) for k, terminal in enumerate(sources)},
        frozenset(node for island in islands for node in island),
        system,
        place,
    )


def _numbered(branches: Iterable[Branch]) -> dict[str, int]:
    place: dict[str, int] = {}
    for branch in branches:
        for node in (branch.a, branch.b):
            place.setdefault(node, len(place))
    return place


def _stamp(system: Phasors, a: int, b: int, admittance: complex) -> None:
    system[a, a] += admittance
    system[b, b] += admittance
    system[a, b] -= admittance
    system[b, a] -= admittance


def _islands(branches: Iterable[Branch], nodes: Iterable[str], sources: Iterable[str]) -> list[list[str]]:
    """Groups of nodes that no branch joins to a source."""
    above = {node: node for node in nodes}

    def root(node: str) -> str:
        while above[node] != node:
            above[node] = above[above[node]]
            node = above[node]
        return node

    for branch in branches:
        above[root(branch.a)] = root(branch.b)
    held = {root(terminal) for terminal in sources}
    groups: dict[str, list[str]] = {}
    for node in above:
        if root(node) not in held:
            groups.setdefault(root(node), []).append(node)
    return list(groups.values())
