"""From wires, contacts, loads and sources to the kernel's tables: which terminals are one net."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import count
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

from collaudo.parts.circuit import Circuit, Command
from collaudo.twin.kernel import tables as k

EARTH = "earth"
"""Last word of the terminals that are the supply's earth; what flows there is residual current."""


@dataclass(frozen=True)
class Wiring:
    """The wiring's tables, and the net of each terminal."""

    contact: k.Records
    load: k.Records
    resistor: k.Records
    source: k.Records
    supply: NDArray[np.int64]
    nets: dict[str, int]


def wire_up(
    circuit: Circuit, wires: Iterable[tuple[str, str]], number_of: Callable[[Command], tuple[int, int]]
) -> Wiring:
    """Number the nets that wires make, and everything between them.

    ``number_of`` gives a command's kind and the number of what it follows. Nets that no wire joins come last,
    in the order of what they belong to; ``supply`` says how many there are, and how many there could be at
    most: a fault may give a load an end of its own.
    """
    wires = list(wires)
    nets = _joined(wires)
    fresh = count(len(set(nets.values())))

    def net(terminal: str) -> int:
        if terminal not in nets:
            nets[terminal] = next(fresh)
        return nets[terminal]

    measured = {d.part for d in circuit.devices if d.kind == "overcurrent"}
    contact = k.records(len(circuit.contacts), k.CONTACT)
    for row, c in zip(contact, circuit.contacts, strict=True):
        row.command, row.index = number_of(c.command)
        row.a, row.b, row.ohm, row.open_ohm = net(c.a), net(c.b), c.ohm, c.open_ohm
        row.measured = int(c.part in measured)
    load = k.records(len(circuit.loads), k.LOAD)
    for row, x in zip(load, circuit.loads, strict=True):
        row.a, row.b = net(x.a), net(x.b)
        row.ohm, row.henry, row.farad, row.works_from = x.ohm, x.henry, x.farad, x.works_from_V
    resistor = k.records(len(circuit.resistors), k.RESISTOR)
    for row, r in zip(resistor, circuit.resistors, strict=True):
        row.a, row.b, row.ohm, row.farad = net(r.a), net(r.b), r.ohm, r.farad
    source = k.records(len(circuit.sources), k.SOURCE)
    for row, s in zip(source, circuit.sources, strict=True):
        angle = radians(s.angle_deg)
        row.net, row.is_earth = net(s.terminal), int(s.terminal.rpartition(".")[2] == EARTH)
        row.cosine, row.sine = s.share * cos(angle), s.share * sin(angle)
    known = next(fresh)
    supply = np.array([known, known + load.size], np.int64)
    return Wiring(contact, load, resistor, source, supply, nets)


def _joined(wires: list[tuple[str, str]]) -> dict[str, int]:
    """Net of each terminal that has a wire."""
    groups: dict[str, list[str]] = {}
    for a, b in wires:
        one, other = groups.setdefault(a, [a]), groups.setdefault(b, [b])
        if one is not other:
            one += other
            groups.update(dict.fromkeys(other, one))
    numbers: dict[int, int] = {}
    return {terminal: numbers.setdefault(id(group), len(numbers)) for terminal, group in groups.items()}
