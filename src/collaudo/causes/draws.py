"""Sound machines of one kind as they differ: drawn from the spreads of the library, the same for all causes.

Draws are stratified in blocks of eight, so that the first eight of sixty-four already cover every spread.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from collaudo.checks.files import library_file
from collaudo.checks.roles import all_roles
from collaudo.errors import CatalogueError
from collaudo.machine.model import Machine
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_flag,
    take_mapping,
    take_number,
    take_text,
)
from collaudo.parts.circuit import Site
from collaudo.parts.part import declared_fields
from collaudo.quantities.units import split_suffix

BLOCK = 8
_NORMAL = NormalDist()


@dataclass(frozen=True)
class Spread:
    """How much one value differs: of the site, of a setting, or of a part's field."""

    target: str
    """``site.name``, ``setting.name``, ``role.field`` or, of a machine's own, ``part.field``."""
    way: str
    amount: float
    known: bool
    like: str = ""
    """Another target whose value it takes, for the way ``as``."""


@dataclass(frozen=True)
class Drawn:
    """One sound machine and where it stands."""

    machine: Machine
    site: Site
    known: Mapping[str, float]
    """Values a technician may know, by target."""


@cache
def all_spreads() -> tuple[Spread, ...]:
    """The spreads of ``library/spreads.yaml``."""
    root = read_source(library_file("spreads.yaml").read_bytes(), name="spreads.yaml", error=CatalogueError)
    problems = Problems()
    spreads = []
    for group, node in take_mapping(
        root, "the spreads", problems, allowed=("site", "settings", "parts")
    ).items():
        for name, child in take_mapping(node, group, problems).items():
            prefix = {"site": "site.", "settings": "setting."}.get(group, "")
            if not prefix and name.partition(".")[0] not in all_roles():
                problems.add(f"spread of the unknown role {name!r}", child, "name a role of roles.yaml")
            spreads.append(_spread(prefix + name, child, problems))
    problems.raise_if_any(CatalogueError)
    return tuple(spreads)


def _spread(target: str, node: Node, problems: Problems) -> Spread:
    given = take_mapping(node, target, problems, allowed=("sd", "share", "log", "as", "known"))
    ways = [key for key in given if key != "known"]
    if len(ways) != 1:
        problems.add(f"spread of {target} is given {len(ways)} ways", node, "one of sd, share, log, as")
        return Spread(target, "sd", 0.0, False)
    if ways == ["as"]:
        return Spread(target, "as", 0.0, False, take_text(given["as"], target, problems) or "")
    known = "known" in given and take_flag(given["known"], "known", problems) is True
    return Spread(target, ways[0], take_number(given[ways[0]], target, problems) or 0.0, known)


def spreads_of(machine: Machine, bound: Mapping[str, str]) -> tuple[Spread, ...]:
    """The spreads that this machine has: those of the library, and over them those its own file declares."""
    own = {
        f"{bound.get(part, part)}.{name}": spread
        for spread in all_spreads()
        if _applies(spread, machine, bound)
        for part, _, name in [spread.target.partition(".")]
    }
    for key, said in machine.spreads.items():
        known = own[key].known if key in own else False
        target = own[key].target if key in own else key
        own[key] = Spread(target, said.way, said.amount, known)
    return tuple(own.values())


def _applies(spread: Spread, machine: Machine, bound: Mapping[str, str]) -> bool:
    start, _, name = spread.target.partition(".")
    if start == "site":
        return True
    if spread.like and spread.like.partition(".")[0] not in bound:
        return False
    return name in machine.settings if start == "setting" else start in bound


def stratified(count: int, random: np.random.Generator) -> NDArray[np.float64]:
    """``count`` numbers in 0..1 that cover it evenly, block by block of eight."""
    blocks = [
        (random.permutation(BLOCK) + random.random(BLOCK)) / BLOCK
        for _ in range((count + BLOCK - 1) // BLOCK)
    ]
    return np.concatenate(blocks)[:count]


def draw_machines(
    machine: Machine, site: Site, bound: Mapping[str, str], count: int, random_seed: int
) -> list[Drawn]:
    """``count`` sound machines around ``machine`` at ``site``; the first are the same for every count."""
    whole = max(count, 64)
    spreads = spreads_of(machine, bound)
    random = np.random.default_rng(random_seed)
    shares = np.stack([stratified(whole, random) for _ in spreads])
    return [_draw(machine, site, bound, spreads, shares[:, d]) for d in range(count)]


def _draw(
    machine: Machine,
    site: Site,
    bound: Mapping[str, str],
    spreads: tuple[Spread, ...],
    shares: NDArray[np.float64],
) -> Drawn:
    changes: dict[str, float | str] = {}
    known: dict[str, float] = {}
    for spread, share in zip(spreads, shares, strict=True):
        deviates = _NORMAL.inv_cdf(min(max(float(share), 0.004), 0.996))
        start, _, name = spread.target.partition(".")
        if start == "site":
            value = _moved(spread, float(getattr(site, name)), deviates)
            site = replace(site, **{name: value})
        else:
            key = machine.settings[name].sets if start == "setting" else f"{bound.get(start, start)}.{name}"
            part, _, field = key.partition(".")
            declared = declared_fields(type(machine.part(part)))[field]
            if spread.way == "as":
                like, _, like_field = spread.like.partition(".")
                value = float(changes[f"{bound[like]}.{like_field}"])
            else:
                value = _moved(spread, float(machine.value(key)), deviates)
            value = min(max(value, declared["low"]), declared["high"])
            changes[key] = value
        if spread.known:
            known[known_name(spread.target, machine)] = value
    return Drawn(machine.with_fields(changes), site, known)


def known_name(target: str, machine: Machine) -> str:
    """Name of a value a technician may know, with its unit: that of a setting is that of what it sets."""
    start, _, name = target.partition(".")
    return f"{target}_{split_suffix(machine.settings[name].sets)[1]}" if start == "setting" else target


def _moved(spread: Spread, middle: float, deviates: float) -> float:
    if spread.way == "log":
        return middle * float(np.exp(spread.amount * deviates))
    scale = spread.amount * (middle if spread.way == "share" else 1.0)
    return middle + scale * deviates
