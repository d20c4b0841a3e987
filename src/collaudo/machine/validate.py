"""Rules every machine must obey before it runs. Each rule notes what is wrong, where, and what would be right."""

from __future__ import annotations

from collections import Counter, defaultdict

from collaudo.errors import near_misses
from collaudo.machine.model import LineBetween, Machine
from collaudo.machine.source import Node, Problems
from collaudo.parts.part import Part


def check_topology(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """All rules on how parts are joined."""
    _mains(machine, where, problems)
    _references(machine, where, problems)
    if not _ports_exist(machine, where, problems):
        return
    _ports_connected(machine, where, problems)
    _arrows(machine, where, problems)
    _relief(machine, where, problems)
    _level_below_top(machine, where, problems)


def _at_line(machine: Machine, line: LineBetween, where: dict[str, Node]) -> Node:
    return Node(None, line.line, next(iter(where.values())).file)


def _mains(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    count = sum(part.kind == "mains" for part in machine.parts.values())
    if count != 1:
        node = next(iter(where.values()), None)
        problems.add(f"the machine has {count} mains inlets", node, "give it exactly one part of kind mains")


def _references(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """Fields that name another part must name one there is."""
    for name, part in machine.parts.items():
        for key in ("in_boiler", "in_group", "on", "lever"):
            other = getattr(part, key, None)
            if other is not None and other not in machine.parts:
                problems.add(f"{name}.{key} names {other!r}, which is no part", where[name], near_misses(other, machine.parts))


def _ports_exist(machine: Machine, where: dict[str, Node], problems: Problems) -> bool:
    fine = True
    for line in machine.lines:
        for end in (line.from_port, line.to_port):
            name, _, port = end.partition(".")
            node = _at_line(machine, line, where)
            if name not in machine.parts:
                problems.add(f"no part {name[:60]!r} for a line", node, near_misses(name[:60], machine.parts))
                fine = False
            elif port not in machine.parts[name].ports:
                known = machine.parts[name].ports
                problems.add(f"{name} has no port {port[:60]!r}", node, near_misses(port[:60], known))
                fine = False
        if line.from_port == line.to_port:
            problems.add(f"a line from {line.from_port} to itself", _at_line(machine, line, where), "join two ports")
            fine = False
    return fine


def _ports_connected(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    used = Counter(end for line in machine.lines for end in (line.from_port, line.to_port))
    for name, part in machine.parts.items():
        for port in part.ports:
            if not used[f"{name}.{port}"] and port not in part.open_ports:
                problems.add(
                    f"port {name}.{port} is not connected", where[name], f"add a line to {name}.{port} or leave {name} out"
                )


def _arrows(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """An outlet must not face another outlet, nor an inlet an inlet, with nothing else there."""
    near: dict[str, list[LineBetween]] = defaultdict(list)
    for line in machine.lines:
        near[line.from_port].append(line)
        near[line.to_port].append(line)
    for line in machine.lines:
        a, b = _direction(machine, line.from_port), _direction(machine, line.to_port)
        alone = len(near[line.from_port]) == 1 and len(near[line.to_port]) == 1
        if a == "in" and b == "out":
            continue
        if alone and a == b and a in ("in", "out"):
            problems.add(
                f"{line.from_port} and {line.to_port} are both {'outlets' if a == 'out' else 'inlets'}",
                _at_line(machine, line, where),
                "one of the two is fitted against its arrow: turn it round",
            )


def _direction(machine: Machine, port: str) -> str:
    name, _, word = port.partition(".")
    part = machine.parts[name]
    return "in" if word in part.inward else "out" if word in part.outward else "both"


def _relief(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """Every heated volume needs a relief path that nothing can shut off."""
    for name, part in machine.parts.items():
        if part.kind == "boiler" and not _reaches(machine, name, {"safety_valve"}):
            problems.add(
                f"heated volume {name} has no safety valve that nothing can shut off",
                where[name],
                f"join {name}.safety straight to a part of kind safety_valve",
            )
        if part.kind == "exchanger" and not _reaches(machine, name, {"relief_valve"}):
            problems.add(
                f"heated volume {name} has no relief path that nothing can shut off",
                where[name],
                "join a relief_valve to its inlet, after the check valve, with no valve between",
            )


def _reaches(machine: Machine, start: str, kinds: set[str]) -> bool:
    """Whether a relieving part's inlet can be reached from ``start`` through open lines and open vessels alone."""
    passable = {"gauge", "lever_group", "exchanger"}
    joined: dict[str, list[str]] = defaultdict(list)
    for line in machine.lines:
        joined[line.from_port].append(line.to_port)
        joined[line.to_port].append(line.from_port)
    waiting = [f"{start}.{port}" for port in machine.parts[start].ports]
    seen = set(waiting)
    while waiting:
        port = waiting.pop()
        for other in joined[port]:
            if other in seen:
                continue
            seen.add(other)
            name, _, word = other.partition(".")
            part: Part = machine.parts[name]
            if part.kind in kinds and word in part.inward:
                return True
            waiting.append(other)
            if part.kind in passable:
                inner = [f"{name}.{p}" for p in part.ports if f"{name}.{p}" not in seen]
                seen.update(inner)
                waiting.extend(inner)
    return False


def _level_below_top(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """The safety valve must leave a margin above the working pressure (0.8 of its setting; common practice)."""
    settings = [p for p in machine.parts.values() if p.kind == "pressure_switch"]
    for name, part in machine.parts.items():
        if part.kind != "safety_valve":
            continue
        for switch in settings:
            opens, lifts = getattr(switch, "opens_bar", 0.0), getattr(part, "set_bar", 0.0)
            if opens > 0.85 * lifts:
                problems.add(
                    f"{switch.name} opens at {opens:g} bar, too near the {lifts:g} bar at which {name} lifts",
                    where[switch.name],
                    f"set it to {0.8 * lifts:.2f} bar or less",
                )
