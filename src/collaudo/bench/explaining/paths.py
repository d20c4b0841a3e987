"""Where water, heat and current go in a machine in one of its states."""

from __future__ import annotations

from collections.abc import Mapping

from collaudo.bench.explaining.states import snapshot_of, states_of
from collaudo.checks.check import cautions
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Site
from collaudo.paths.model import Path
from collaudo.paths.path import MATTERS, path_in
from collaudo.paths.telling import AUDIENCES, told


def path_of(
    machine: str | Machine, state: str, of: str, site: Site | Mapping[str, str] | None = None
) -> Path:
    """The path of ``water``, ``heat`` or ``current`` through a machine in a state by name.

    Raises `InputError` for what cannot be used, `RunError` where the twin cannot go on.
    """
    built = find_machine(machine) if isinstance(machine, str) else machine
    snapshot = snapshot_of(built, state, site)
    title = next(summary.title for summary in states_of(built) if summary.state == state)
    return path_in(snapshot, built, of, title)


def cautions_beside(of: str) -> list[str]:
    """The usual cautions where somebody looks into the machine for ``water``, ``heat`` or ``current``."""
    hazards = {"water": ("pressure", "scald"), "heat": ("scald",), "current": ("mains",)}[of]
    return [cautions()[hazard] for hazard in hazards]


__all__ = ["AUDIENCES", "MATTERS", "cautions_beside", "path_of", "told"]
