"""Which loads lose their current when one device's contact is open: worked out from the wiring alone.

Current passes a load when a way leads from one of its ends to one pole of the supply and another, that
nowhere meets the first, from its other end to another pole. Contacts count as closed, whoever moves them; so
do other heaters, through which current finds its way where several meet in a star.
"""

from __future__ import annotations

from collections import defaultdict, deque

from collaudo.parts.circuit import Circuit, Contact, Load

_Graph = dict[str, list[str]]


def contacts_of(device: str, contacts: list[Contact]) -> list[Contact]:
    """Contacts that a device moves, or would if they were not stuck (then they bear its name alone)."""
    return [
        x
        for x in contacts
        if x.part == device or (x.command.kind in ("device", "device_off") and x.command.name == device)
    ]


def heaters_behind(device: str, circuit: Circuit, contacts: list[Contact]) -> list[int]:
    """Numbers of the heaters whose current passes the contact of ``device``."""
    own = contacts_of(device, contacts)
    heating = {load for _, load, _ in circuit.heaters}
    loads = {x.name: x for x in circuit.loads if x.name in heating}
    found = []
    for number, (_, name, _) in enumerate(circuit.heaters):
        others = [x for x in loads.values() if x.name != name]
        whole = _graph(contacts, others)
        cut = _graph([x for x in contacts if x not in own], others)
        if _fed(loads[name], whole, circuit) and not _fed(loads[name], cut, circuit):
            found.append(number)
    return found


def _graph(contacts: list[Contact], loads: list[Load]) -> _Graph:
    graph: _Graph = defaultdict(list)
    for a, b in [(x.a, x.b) for x in contacts] + [(x.a, x.b) for x in loads]:
        graph[a].append(b)
        graph[b].append(a)
    return graph


def _fed(load: Load, graph: _Graph, circuit: Circuit) -> bool:
    """Whether two ways that never meet lead from the load's ends to two poles.

    A flow of two through points that carry one each, found by two searches, of which the second may turn
    back what the first has laid (Ford and Fulkerson, Canadian J. Math. 8 (1956) 399).
    """
    poles: dict[str, str] = {x.terminal: f"pole {x.share:g} {x.angle_deg:g}" for x in circuit.sources}
    links: dict[tuple[str, str], set[tuple[str, str]]] = defaultdict(set)

    def link(a: tuple[str, str], b: tuple[str, str]) -> None:
        links[a].add(b)

    points = {*graph, load.a, load.b, *poles}
    for point in points:
        link((point, "in"), (point, "out"))
        for other in graph.get(point, []):
            link((point, "out"), (other, "in"))
        if point in poles:
            link((point, "out"), (poles[point], "in"))
    for pole in set(poles.values()):
        link((pole, "in"), (pole, "out"))
        link((pole, "out"), ("end", ""))
    for end in (load.a, load.b):
        link(("begin", ""), (end, "in"))
    return load.a != load.b and all(_lay_way(links) for _ in range(2))


def _lay_way(links: dict[tuple[str, str], set[tuple[str, str]]]) -> bool:
    """One more way from begin to end; its links are turned round. False when there is none."""
    begin, end = ("begin", ""), ("end", "")
    before = {begin: begin}
    queue = deque([begin])
    while queue and end not in before:
        at = queue.popleft()
        for other in links[at]:
            if other not in before:
                before[other] = at
                queue.append(other)
    if end not in before:
        return False
    while end != begin:
        links[before[end]].discard(end)
        links[end].add(before[end])
        end = before[end]
    return True
