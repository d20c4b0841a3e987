"""Rules on how water gets through: ports joined, arrows, a source for every inlet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from collaudo.machine.rules.job import Job, reached_from


def ports_connected(job: Job) -> None:
    """Every port has a line, but those that may stay open."""
    joined = job.lines_at()
    for name, part in job.machine.parts.items():
        for port in part.ports:
            if f"{name}.{port}" not in joined and port not in part.open_ports:
                remedy = f"add a line to {name}.{port} or leave {name} out"
                job.add(f"port {name}.{port} is not connected", name, remedy)


def waters_apart(job: Job) -> None:
    """No line joins tank, water line, cups or trays to one another with nothing between."""
    joined, at = job.lines_at(), job.circuit.reservoir_ports
    told: set[str] = set()
    for port in at:
        met = sorted(end for end in reached_from([port], lambda end: joined[end]) if end in at)
        owners = {end.partition(".")[0] for end in met}
        if len(owners) > 1 and not told & set(met):
            told |= set(met)
            remedy = "take out one of the lines"
            job.add(f"{' and '.join(met)} are joined with nothing between", port, remedy)


def arrows(job: Job) -> None:
    """An outlet must not face another outlet, nor an inlet an inlet, with nothing else there."""
    used = Counter(end for line in job.machine.lines for end in (line.from_port, line.to_port))
    for line in job.machine.lines:
        a, b = job.direction(line.from_port), job.direction(line.to_port)
        if a == b != "both" and used[line.from_port] == used[line.to_port] == 1:
            job.add(
                f"{line.from_port} and {line.to_port} are both {'outlets' if a == 'out' else 'inlets'}",
                line,
                "one of the two is fitted against its arrow: turn it round",
            )


def fed(job: Job) -> None:
    """Water from a tank or the building must reach every inlet, going through each part as its arrow says."""
    sources = [port for port in job.circuit.reservoir_ports if job.direction(port) == "out"]
    wet = reached_from(sources, _water_ways(job, leaves=True))
    dry = []
    for part in job.machine.parts.values():
        if not part.inward or wet & set(map(part.at, part.inward)):
            continue
        if wet & set(map(part.at, part.outward)):
            remedy = "turn it round: swap the lines at its ports"
            job.add(f"{part.name} is fitted against its arrow", part.name, remedy)
            return
        dry.append(part)
    dry_outlets = {part.at(port) for part in dry for port in part.outward}
    against = _water_ways(job, leaves=False)
    first = [p for p in dry if not dry_outlets & reached_from(map(p.at, p.inward), against)]
    for part in first or [p for p in dry if p.terminals] or dry:
        inlet = part.at(part.inward[0])
        job.add(f"no tank and no water line feeds {inlet}", inlet, f"add a line from one of them to {inlet}")


def _water_ways(job: Job, *, leaves: bool) -> Callable[[str], list[str]]:
    """Where water at a port can go next (or, ``leaves`` false, come from): along lines, and through parts."""
    joined = job.lines_at()

    def onward(port: str) -> list[str]:
        name, _, word = port.partition(".")
        part = job.machine.parts[name]
        shut, away = (part.outward, part.inward) if leaves else (part.inward, part.outward)
        passes = name not in job.circuit.reservoirs and word not in shut
        return [*joined[port], *(part.at(p) for p in part.ports if passes and p not in away)]

    return onward
