"""Putting a cause of a certain severity into a machine."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from collaudo.causes.cause import Cause, Effect, all_causes
from collaudo.errors import CatalogueError, Problem
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Site
from collaudo.parts.part import declared_fields


@dataclass(frozen=True)
class Faulty:
    """A machine with something wrong, where it stands, and the devices that stand still."""

    machine: Machine
    site: Site
    held: Mapping[str, bool]


def causes_for(machine: Machine, bound: Mapping[str, str]) -> tuple[Cause, ...]:
    """The causes of the library that can occur on ``machine``."""
    return tuple(
        cause
        for cause in all_causes()
        if cause.roles <= bound.keys()
        and all(
            effect.target.partition(".")[2] in machine.settings
            for effect in cause.effects
            if effect.target.startswith("setting.")
        )
    )


def put_in(cause: Cause, severity: float, machine: Machine, site: Site, bound: Mapping[str, str]) -> Faulty:
    """``machine`` with ``cause`` at ``severity`` 0..1; values that leave a field's range stop at its end."""
    changes: dict[str, float | str] = {}
    for effect in cause.effects:
        start, _, field = effect.target.partition(".")
        if start == "site":
            changed = moved(effect, severity, float(getattr(site, field)))
            site = replace(site, **{field: changed})
            continue
        key = machine.settings[field].sets if start == "setting" else f"{bound[start]}.{field}"
        changes[key] = _value(effect, severity, machine, key)
    held = {bound[role]: acts for role, acts in cause.held.items()}
    return Faulty(machine.with_fields(changes), site, held)


def moved(effect: Effect, severity: float, sound: float) -> float:
    """What a sound value becomes."""
    if effect.log:
        amount = effect.mild * math.pow(effect.worst / effect.mild, severity)
    else:
        amount = effect.mild + severity * (effect.worst - effect.mild)
    if effect.way == "to":
        return amount
    return sound * amount if effect.way == "times" else sound + amount


def _value(effect: Effect, severity: float, machine: Machine, key: str) -> float | str:
    if effect.way == "becomes":
        return effect.word
    name, _, field = key.partition(".")
    declared = declared_fields(type(machine.part(name)))
    sound = machine.value(key)
    if field not in declared or isinstance(sound, str):
        raise CatalogueError(
            Problem(f"an effect moves {key}, which is no number", "name a field with a range")
        )
    low, high = float(declared[field]["low"]), float(declared[field]["high"])
    return min(max(moved(effect, severity, sound), low), high)
