"""All rules a machine must obey before it runs: what is wrong, where, and what would be right."""

from __future__ import annotations

from collections.abc import Callable

from collaudo.machine.model import Machine
from collaudo.machine.rules import current, guards, heat, margins, parts, water
from collaudo.machine.rules.job import Job
from collaudo.machine.site import home_site
from collaudo.machine.source import Node, Problems
from collaudo.parts.circuit import Circuit

GROUPS: tuple[tuple[Callable[[Job], None], ...], ...] = (
    (parts.mains, parts.references, parts.ports_exist, parts.described),
    (
        water.ports_connected,
        water.arrows,
        water.waters_apart,
        heat.relief,
        heat.levels,
        margins.safety_margin,
    ),
    (current.short_circuits, current.terminals_joined),
    (current.loads, current.bodies_earthed),
    (water.fed, current.element_volts, guards.cut_outs, margins.limit_margin),
    (guards.controls, guards.limits),
    (margins.steam_margin,),
)
"""Rules in the order they are asked; a group only once those before it hold."""


def check_topology(machine: Machine, where: dict[str, Node], problems: Problems) -> None:
    """All rules on how parts are joined."""
    job = Job(machine, where, problems, Circuit(home_site(machine)))
    for group in GROUPS:
        if problems:
            return
        for rule in group:
            rule(job)
