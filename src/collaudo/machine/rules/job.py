"""What a rule looks at, and where it notes what it finds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from collaudo.machine.model import LineBetween, Machine
from collaudo.machine.source import Node, Problems
from collaudo.parts.circuit import ALWAYS, Circuit


@dataclass(frozen=True)
class Job:
    """One machine before the rules."""

    machine: Machine
    where: dict[str, Node]
    """Where each part (``part``) and each field given (``part.field``) stands."""
    problems: Problems
    circuit: Circuit
    """What the parts said of themselves; empty until they are described."""

    def add(self, message: str, at: str | LineBetween, remedy: str) -> None:
        """Note a problem at a part, a field (``part.field``, else its part) or a line."""
        if isinstance(at, LineBetween):
            node = Node(None, at.line, at.file)
        else:
            part = self.where.get(at.partition(".")[0], Node(None, 0, self.machine.file))
            node = self.where.get(at, part)
        self.problems.add(message, node, remedy)

    def direction(self, port: str) -> str:
        """Which way water passes a port: ``in``, ``out`` or ``both``."""
        name, _, word = port.partition(".")
        part = self.machine.parts[name]
        return "in" if word in part.inward else "out" if word in part.outward else "both"

    def lines_at(self) -> dict[str, list[str]]:
        """Ports joined to each port by lines."""
        return both_ways((line.from_port, line.to_port) for line in self.machine.lines)

    def relieving(self, start: str, kind: str) -> set[str]:
        """Parts of ``kind`` whose inlet is reached from ``start`` by lines, open vessels and throats that
        nothing can shut."""
        joined, parts = self.lines_at(), self.machine.parts
        open_ways = both_ways((m.inlet, m.outlet) for m in self.circuit.members if m.command == ALWAYS)

        def onward(port: str) -> list[str]:
            part = parts[port.partition(".")[0]]
            inside = part.ports if part.name in self.circuit.vessels else ()
            return [*joined[port], *(p for p in open_ways[port] if p in joined), *map(part.at, inside)]

        reached = reached_from(map(parts[start].at, parts[start].ports), onward)
        return {p.name for p in parts.values() if p.kind == kind and reached & set(map(p.at, p.inward))}


def both_ways(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """Neighbours of each end of ``pairs``."""
    joined: dict[str, list[str]] = defaultdict(list)
    for a, b in pairs:
        joined[a].append(b)
        joined[b].append(a)
    return joined


def reached_from(starts: Iterable[str], onward: Callable[[str], Iterable[str]]) -> set[str]:
    """Everything reached from ``starts`` by going ``onward`` again and again."""
    seen = set(starts)
    waiting = list(seen)
    while waiting:
        fresh = set(onward(waiting.pop())) - seen
        seen |= fresh
        waiting.extend(fresh)
    return seen
