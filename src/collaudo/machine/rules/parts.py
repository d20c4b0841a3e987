"""Rules on parts by themselves: the mains, names of other parts, ports that exist, sizes."""

from __future__ import annotations

from typing import Any

from collaudo.errors import QuantityError, near_misses
from collaudo.machine.described import in_order
from collaudo.machine.rules.job import Job
from collaudo.parts.part import declared_fields


def mains(job: Job) -> None:
    """There is one plug."""
    names = [name for name, part in job.machine.parts.items() if part.kind == "mains"]
    if len(names) != 1:
        message = f"the machine has {len(names)} mains inlets"
        job.add(message, names[1] if names else "", "give it exactly one part of kind mains")


def references(job: Job) -> None:
    """Fields that name another part must name one there is, of a kind that fits."""
    parts = job.machine.parts
    for name, part in parts.items():
        for key, declared in declared_fields(type(part)).items():
            other = str(getattr(part, key))
            if "names" not in declared or not (other or declared["default"]):
                continue  # no name at all where the kind does well without
            fitting = _fitting(job, declared)
            if other in fitting:
                continue
            no_part = f"no {'port' if 'port' in declared else 'part'}"
            said = f"a {parts[other].kind}" if other in parts else no_part
            kinds = " or ".join(declared["names"])
            job.add(
                f"{name}.{key} names {other[:60]!r}, which is {said}",
                f"{name}.{key}",
                near_misses(other[:60], fitting) if fitting else f"add a part of kind {kinds}",
            )


def _fitting(job: Job, declared: dict[str, Any]) -> list[str]:
    """Names of parts, or of their ports, that a field may hold."""
    found: list[str] = []
    for part in job.machine.parts.values():
        if part.kind in declared["names"]:
            found += map(part.at, part.ports) if "port" in declared else [part.name]
    return found


def ports_exist(job: Job) -> None:
    """Lines end at ports there are, and do not lead back to where they begin."""
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


def described(job: Job) -> None:
    """Every part can say what it is; sizes that no law covers are found here."""
    for part in in_order(job.machine):
        try:
            part.describe(job.circuit)
        except QuantityError as fault:
            job.add(f"{part.name} cannot be reckoned: {fault}", part.name, "change its sizes")
