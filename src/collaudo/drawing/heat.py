"""Where heat goes: from which part to which other, how much, and how warm each is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit, Site

if TYPE_CHECKING:
    from collaudo.twin.snapshot import Snapshot

LEAST_W = 1.0
ROOM = "room"

Ways = Mapping[tuple[str, str], str]
"""Of each pair of parts, what gives heat and what takes it: how much, as it is written; at rest nothing."""


def heat_ways(machine: Machine, snapshot: Snapshot | None) -> Ways:
    """Every way heat goes between two parts, or a part and the room; at rest every way it can go."""
    return _at_rest(machine) if snapshot is None else _running(snapshot)


def _at_rest(machine: Machine) -> Ways:
    circuit = Circuit(Site())
    for part in sorted(machine.parts.values(), key=lambda part: part.kind != "mains"):
        part.describe(circuit)
    return dict.fromkeys(_pairs((link.a, link.b) for link in circuit.links), "")


def _pairs(ends: Iterable[tuple[str, str]]) -> Iterable[tuple[str, str]]:
    for a, b in ends:
        first, second = a.partition(".")[0], b.partition(".")[0]
        if first != second:
            yield (second, first) if first == ROOM else (first, second)


def _running(snapshot: Snapshot) -> Ways:
    total: dict[tuple[str, str], float] = {}
    for heat in snapshot.heats:
        a, b = heat.a.partition(".")[0], heat.b.partition(".")[0]
        if a != b:
            key, sign = ((a, b), 1.0) if (b, a) not in total else ((b, a), -1.0)
            total[key] = total.get(key, 0.0) + sign * heat.heat_W
    return {
        ((a, b) if heat_W > 0 else (b, a)): f"{abs(heat_W):.0f} W"
        for (a, b), heat_W in total.items()
        if abs(heat_W) >= LEAST_W
    }


def heat_notes(snapshot: Snapshot | None, written: Ways) -> dict[str, tuple[str, ...]]:
    """Lines beside each part: how warm it is, what it takes, and the ways ``written`` rather than drawn."""
    notes: dict[str, list[str]] = {}
    if snapshot is not None:
        for part, degC in temperatures(snapshot).items():
            notes[part] = [f"{degC:.0f} °C"]
        for name, power_W in snapshot.heaters_W.items():
            if power_W >= LEAST_W:
                notes.setdefault(name.partition(".")[0], []).append(f"takes {power_W:.0f} W")
    for (giver, taker), amount in written.items():
        notes.setdefault(giver, []).append(f"→ {_spoken(taker)} {amount}".rstrip())
    return {part: tuple(words) for part, words in notes.items()}


def temperatures(snapshot: Snapshot) -> dict[str, float]:
    """How warm each part is: its metal where that is known, else its warmest water."""
    found: dict[str, float] = {}
    for name, degC in snapshot.temperatures_degC.items():
        part, _, cell = name.partition(".")
        if not cell:
            found[part] = degC
        elif part not in snapshot.temperatures_degC:
            found[part] = max(found.get(part, degC), degC)
    return found


def _spoken(part: str) -> str:
    return part.replace("_", " ")
