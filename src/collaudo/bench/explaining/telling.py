"""A state of a machine, told: everything measured in it, and where water, heat and current go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collaudo.bench.explaining.paths import AUDIENCES, path_of, told
from collaudo.bench.explaining.states import snapshot_of
from collaudo.bench.machines.handle import Machine
from collaudo.errors import unknown_name

if TYPE_CHECKING:
    from collaudo.paths.model import Path
    from collaudo.twin.snapshot import Snapshot


@dataclass(frozen=True)
class Told:
    """A path, as text and as data."""

    text: str
    data: Path
    """Walks of steps; each step has its part, its ports, what happens there and numbers by name with unit."""

    def __str__(self) -> str:
        return self.text


def tell(
    machine: Machine, state: str, matter: str, audience: str, site: Mapping[str, str] | None = None
) -> Told:
    """Where ``matter`` goes in a state, for an ``audience``; `InputError` for what there is not."""
    if audience not in AUDIENCES:
        raise unknown_name("audience", audience[:60], AUDIENCES)
    found = path_of(machine.model, state, matter, site)
    return Told("\n".join(told(found, audience)), found)


def measured(machine: Machine, state: str, site: Mapping[str, str] | None = None) -> Snapshot:
    """Every pressure, flow, temperature, level, contact and load in a state; `InputError` if there is
    none."""
    return snapshot_of(machine.model, state, site)


if TYPE_CHECKING:
    __all__ = ["Snapshot", "Told", "measured", "tell"]
