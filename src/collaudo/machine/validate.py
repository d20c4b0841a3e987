"""Rules every machine must obey before it runs: what is wrong, where, and what would be right."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from collaudo.errors import QuantityError, near_misses
from collaudo.machine.model import LineBetween, Machine
from collaudo.machine.source import Node, Problems
from collaudo.parts.boiler import Boiler
from collaudo.parts.circuit import Circuit, Site
from collaudo.parts.cut_out import CutOut
from collaudo.parts.heating_element import HeatingElement
from collaudo.parts.level_control import LevelControl
from collaudo.parts.part import declared_fields
from collaudo.parts.pressure_switch import PressureSwitch
from collaudo.parts.safety_valve import SafetyValve

# Working pressure over the pressure at which the safety valve lifts: common practice, no source.
SAFE_SHARE, LARGEST_SHARE = 0.80, 0.85


def check_topology(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """All rules on how parts are joined; the later ones only once the earlier ones hold."""
    job = _Job(machine, where, problems, Circuit(Site()))
    for group in (
        (_mains, _references, _ports_exist, _described),
        (_ports_connected, _arrows, _relief, _loads, _levels, _safety_margin),
        (_fed, _cut_outs),
    ):
        if problems:
            return
        for rule in group:
            rule(job)


@dataclass(frozen=True)
class _Job:
    """What a rule looks at, and where it notes what it finds."""

    machine: Machine
    where: dict[str, Node]
    problems: Problems
    circuit: Circuit

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
        return _both_ways((line.from_port, line.to_port) for line in self.machine.lines)


def _both_ways(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    joined: dict[str, list[str]] = defaultdict(list)
    for a, b in pairs:
        joined[a].append(b)
        joined[b].append(a)
    return joined


def _spread(starts: Iterable[str], onward: Callable[[str], Iterable[str]]) -> set[str]:
    """Everything reached from ``starts`` by going ``onward`` again and again."""
    seen = set(starts)
    waiting = list(seen)
    while waiting:
        fresh = set(onward(waiting.pop())) - seen
        seen |= fresh
        waiting.extend(fresh)
    return seen


def _mains(job: _Job) -> None:
    names = [name for name, part in job.machine.parts.items() if part.kind == "mains"]
    if len(names) != 1:
        message = f"the machine has {len(names)} mains inlets"
        job.add(message, names[1] if names else "", "give it exactly one part of kind mains")


def _references(job: _Job) -> None:
    """Fields that name another part must name one there is, of a kind that fits."""
    parts = job.machine.parts
    for name, part in parts.items():
        for key, declared in declared_fields(type(part)).items():
            kinds = declared.get("names", ())
            fitting: list[str] = []
            for candidate in parts.values():
                if candidate.kind in kinds:
                    fitting += map(candidate.at, candidate.ports) if "port" in declared else [candidate.name]
            other = str(getattr(part, key))
            if not kinds or other in fitting:
                continue
            said = (
                f"a {parts[other].kind}"
                if other in parts
                else f"no {'port' if 'port' in declared else 'part'}"
            )
            job.add(
                f"{name}.{key} names {other[:60]!r}, which is {said}",
                f"{name}.{key}",
                near_misses(other[:60], fitting) if fitting else f"add a part of kind {' or '.join(kinds)}",
            )


def _ports_exist(job: _Job) -> None:
    parts = job.machine.parts
    for line in job.machine.lines:
        for end in (line.from_port, line.to_port):
            name, _, port = end.partition(".")
            if name not in parts:
                job.add(f"no part {name[:60]!r} for a line", line, near_misses(name[:60], parts))
            elif port not in parts[name].ports:
                ports = parts[name].ports
                near = near_misses(port[:60], ports) if ports else f"{name} carries no water"
                job.add(f"{name} has no port {port[:60]!r}", line, near)
        if line.from_port == line.to_port:
            job.add(f"a line from {line.from_port[:60]} to itself", line, "join two ports")


def _described(job: _Job) -> None:
    """Every part can say what it is; sizes that no law covers are found here."""
    for name, part in job.machine.parts.items():
        try:
            part.describe(job.circuit)
        except QuantityError as fault:
            job.add(f"{name} cannot be reckoned: {fault}", name, "change its sizes")


def _ports_connected(job: _Job) -> None:
    joined = job.lines_at()
    for name, part in job.machine.parts.items():
        for port in part.ports:
            if f"{name}.{port}" not in joined and port not in part.open_ports:
                remedy = f"add a line to {name}.{port} or leave {name} out"
                job.add(f"port {name}.{port} is not connected", name, remedy)


def _arrows(job: _Job) -> None:
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


def _fed(job: _Job) -> None:
    """Water from a tank or the building must reach every inlet, going through each part as its arrow says."""
    sources = [port for port in job.circuit.reservoir_ports if job.direction(port) == "out"]
    wet = _spread(sources, _water_ways(job, leaves=True))
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
    first = [p for p in dry if not dry_outlets & _spread(map(p.at, p.inward), against)]
    for part in first or [p for p in dry if p.terminals] or dry:
        inlet = part.at(part.inward[0])
        job.add(f"no tank and no water line feeds {inlet}", inlet, f"add a line from one of them to {inlet}")


def _water_ways(job: _Job, *, leaves: bool) -> Callable[[str], list[str]]:
    """Where water at a port can go next (or, ``leaves`` false, come from): along lines, and through parts."""
    joined = job.lines_at()

    def onward(port: str) -> list[str]:
        name, _, word = port.partition(".")
        part = job.machine.parts[name]
        shut, away = (part.outward, part.inward) if leaves else (part.inward, part.outward)
        passes = name not in job.circuit.reservoirs and word not in shut
        return [*joined[port], *(part.at(p) for p in part.ports if passes and p not in away)]

    return onward


def _relief(job: _Job) -> None:
    """Every heated volume needs a relief path that nothing can shut off."""
    for name, part in job.machine.parts.items():
        if part.relieved_by and not _relieving(job, name, part.relieved_by):
            kind = part.relieved_by
            job.add(
                f"heated volume {name} has no {kind.replace('_', ' ')} that nothing can shut off",
                name,
                f"join a part of kind {kind} to it, with no check valve and no other valve between",
            )


def _relieving(job: _Job, start: str, kind: str) -> set[str]:
    """Parts of ``kind`` whose inlet is reached from ``start`` through lines and open vessels alone."""
    joined, parts = job.lines_at(), job.machine.parts

    def onward(port: str) -> list[str]:
        part = parts[port.partition(".")[0]]
        inside = part.ports if part.name in job.circuit.vessels else ()
        return [*joined[port], *map(part.at, inside)]

    reached = _spread(map(parts[start].at, parts[start].ports), onward)
    return {p.name for p in parts.values() if p.kind == kind and reached & set(map(p.at, p.inward))}


def _levels(job: _Job) -> None:
    """Water when cold stands no higher than the probe, and never so low that an element is uncovered."""
    parts = job.machine.parts.values()
    for probe in (part for part in parts if isinstance(part, LevelControl)):
        tip, low = probe.level_share, probe.level_share - probe.band_share
        boiler = job.machine.parts[probe.in_boiler]
        if isinstance(boiler, Boiler) and boiler.filled_share > tip:
            job.add(
                f"{boiler.name} is filled to {boiler.filled_share:g}, above {probe.name} at {tip:g}",
                f"{boiler.name}.filled_share",
                f"fill it to {tip:g} or less, or raise the probe",
            )
        for element in parts:
            if not isinstance(element, HeatingElement) or element.in_boiler != probe.in_boiler:
                continue
            if element.covered_share > low:
                job.add(
                    f"{probe.name} lets the water fall to {low:g}, which leaves {element.name} uncovered",
                    f"{probe.name}.level_share",
                    f"set the tip above {element.covered_share + probe.band_share:g}",
                )


def _safety_margin(job: _Job) -> None:
    """A safety valve must lift well above the pressure its boiler works at."""
    for switch in (p for p in job.machine.parts.values() if isinstance(p, PressureSwitch)):
        for name in sorted(_relieving(job, switch.in_boiler, "safety_valve")):
            valve = job.machine.parts[name]
            if isinstance(valve, SafetyValve) and switch.opens_bar > LARGEST_SHARE * valve.set_bar:
                job.add(
                    f"{switch.name} opens at {switch.opens_bar:g} bar, too near the {valve.set_bar:g} bar at "
                    f"which {name} lifts",
                    f"{switch.name}.opens_bar",
                    f"set it to {SAFE_SHARE * valve.set_bar:.2f} bar or less",
                )


def _loads(job: _Job) -> None:
    """Every load lies between live and neutral once all contacts are closed; live never meets neutral."""
    live, neutral = _sides(job)
    mains = job.circuit.sources[0].terminal.partition(".")[0]
    if live & neutral:
        job.add(
            "live and neutral are joined with no load between",
            mains,
            "a short circuit: take out the wire that joins " + ", ".join(sorted(live & neutral)[:6]),
        )
        return
    for load in job.circuit.loads:
        name, a, b = load.name, load.a, load.b
        loose = [end for end in (a, b) if end not in live | neutral]
        for end in loose:
            job.add(f"{end} is joined to neither live nor neutral", name, f"add a wire to {end}")
        if not loose and (a in live) == (b in live):
            side = "live" if a in live else "neutral"
            other = "neutral" if a in live else "live"
            job.add(f"{a} and {b} are both joined to {side}", name, f"join one of them to {other}")


def _cut_outs(job: _Job) -> None:
    """A cut-out must take the current from what it guards."""
    ends = {load.name: (load.a, load.b) for load in job.circuit.loads}
    for guard in (part for part in job.machine.parts.values() if isinstance(part, CutOut)):
        live, neutral = _sides(job, without=guard.name)
        if guard.on in ends and all(end in live | neutral for end in ends[guard.on]):
            remedy = f"wire {guard.name} in series with {guard.on}"
            job.add(f"{guard.on} has current even when {guard.name} is open", guard.name, remedy)


def _sides(job: _Job, without: str = "") -> tuple[set[str], set[str]]:
    """Terminals joined to live, and to neutral, all contacts closed but those of ``without``."""
    contacts = [(x.a, x.b) for x in job.circuit.contacts if x.part != without]
    joined = _both_ways([*job.machine.wires, *contacts])
    live, neutral = (_spread([end], lambda terminal: joined[terminal]) for end in _ends(job))
    return live, neutral


def _ends(job: _Job) -> tuple[str, str]:
    return job.circuit.sources[0].terminal, job.circuit.sources[1].terminal
