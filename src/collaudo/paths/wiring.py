"""The way of the current to and from each load: wires and contacts in order, closed ones first."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from collaudo.parts.circuit import Contact, Load
from collaudo.paths.view import View


@dataclass(frozen=True)
class Hop:
    """From one terminal to the next, along a wire (``contact`` None) or through a contact."""

    a: str
    b: str
    contact: Contact | None
    closed: bool


@dataclass(frozen=True)
class LoadWay:
    """From a source to a load and back."""

    load: Load
    there: tuple[Hop, ...]
    back: tuple[Hop, ...]

    @property
    def opened(self) -> Contact | None:
        """The first open contact; None where all are closed."""
        return next((hop.contact for hop in (*self.there, *self.back) if not hop.closed), None)


class Wiring:
    """Terminals as a graph. A class because every question walks the same graph."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.next: dict[str, list[Hop]] = {}
        closed = [x.closed for x in view.snapshot.contacts if x.part != "wire"]
        for a, b in view.machine.wires:
            self._add(a, b, None, True)
        for contact, shut in zip(view.circuit.contacts, closed, strict=True):
            self._add(contact.a, contact.b, contact, shut)
        sources = view.circuit.sources
        self.live = {x.terminal for x in sources if x.share > 0.0}
        self.neutral = {x.terminal for x in sources if x.share == 0.0 and not x.terminal.endswith(".earth")}

    def _add(self, a: str, b: str, contact: Contact | None, closed: bool) -> None:
        self.next.setdefault(a, []).append(Hop(a, b, contact, closed))
        self.next.setdefault(b, []).append(Hop(b, a, contact, closed))

    def way(self, load: Load) -> LoadWay | None:
        """The way with fewest open contacts; None where no wires lead there."""
        there = self._reach(load.a, self.live)
        back = self._reach(load.b, self.neutral) or self._reach(load.b, self.live)
        if there is None or back is None:
            other = self._reach(load.b, self.live), self._reach(load.a, self.neutral)
            if other[0] is None or other[1] is None:
                return None
            return LoadWay(load, _turned(other[0]), tuple(other[1]))
        return LoadWay(load, _turned(there), tuple(back))

    def openers(self, load: Load) -> list[Contact]:
        """Open contacts any one of which, closed, would bring current to ``load``."""
        near, far = self._net({load.a}), self._net({load.b})
        live, neutral = self._net(self.live), self._net(self.neutral)
        gaps = [(near, live)] if load.a not in live else []
        gaps += [(far, neutral)] if load.b not in neutral and load.b not in live else []
        if len(gaps) != 1:
            return []
        one, other = gaps[0]
        hops = [hop for terminal in sorted(one) for hop in self.next.get(terminal, ()) if not hop.closed]
        return list({id(hop.contact): hop.contact for hop in hops if hop.contact and hop.b in other}.values())

    def _net(self, begin: set[str]) -> set[str]:
        """Terminals joined to ``begin`` by wires and closed contacts."""
        seen, waiting = set(begin), list(begin)
        while waiting:
            for hop in self.next.get(waiting.pop(), ()):
                if hop.closed and hop.b not in seen:
                    seen.add(hop.b)
                    waiting.append(hop.b)
        return seen

    def _reach(self, begin: str, goals: set[str]) -> list[Hop] | None:
        """Hops from ``begin`` to the nearest goal, an open contact counting for more than all closed ones."""
        if begin in goals:
            return []
        cost: dict[str, int] = {begin: 0}
        came: dict[str, Hop] = {}
        queue = deque([begin])
        found = ""
        while queue:
            at = queue.popleft()
            if at in goals and (not found or cost[at] < cost[found]):
                found = at
            for hop in self.next.get(at, ()):
                dear = cost[at] + (1 if hop.closed else 1000)
                if dear < cost.get(hop.b, 10**9):
                    cost[hop.b], came[hop.b] = dear, hop
                    queue.append(hop.b)
        if not found:
            return None
        hops: list[Hop] = []
        at = found
        while at != begin:
            hops.append(came[at])
            at = came[at].a
        return hops[::-1]


def _turned(hops: list[Hop]) -> tuple[Hop, ...]:
    """The same way in the other direction."""
    return tuple(Hop(hop.b, hop.a, hop.contact, hop.closed) for hop in reversed(hops))
