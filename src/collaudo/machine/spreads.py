"""``spreads:`` of a machine file: how much machines of its kind differ."""

from __future__ import annotations

from collaudo.errors import near_misses
from collaudo.machine.model import SpreadOf
from collaudo.machine.source import Node, Problems, take_mapping, take_number
from collaudo.parts.part import Part, declared_fields

WAYS = {"share": (0.0, 1.0), "sd": (0.0, 1e6), "log": (0.0, 3.0)}
"""How a spread may be given, and its range: a share of the value, in the field's own unit, or by factors."""


def read_spreads(
    node: Node, parts: dict[str, Part], where: dict[str, Node], problems: Problems
) -> dict[str, SpreadOf]:
    """How much machines of this kind differ, by ``part.field``."""
    spreads = {}
    for key, entry in take_mapping(node, "spreads", problems).items():
        part, _, field_name = key.partition(".")
        if part in where and part not in parts:
            continue  # what is wrong with the part has been said
        if part not in parts:
            problems.add(f"spread of {key[:60]!r}: no such part", entry, near_misses(part[:60], parts))
            continue
        known = [name for name, said in declared_fields(type(parts[part])).items() if "low" in said]
        if field_name not in known:
            near = near_misses(field_name[:60], known)
            problems.add(f"spread of {key[:60]!r}, which is no number", entry, near)
            continue
        if spread := _spread(key, entry, problems):
            spreads[key] = spread
    return spreads


def _spread(key: str, node: Node, problems: Problems) -> SpreadOf | None:
    given = take_mapping(node, f"spread of {key}", problems, allowed=tuple(WAYS))
    if not isinstance(node.value, dict) or len(node.value) != len(given):
        return None
    if len(given) != 1:
        problems.add(f"spread of {key} is given {len(given)} ways", node, "give one of share, sd, log")
        return None
    ((way, child),) = given.items()
    amount = take_number(child, f"spread of {key}", problems)
    low, high = WAYS[way]
    if amount is not None and not low <= amount <= high:
        problems.add(f"spread of {key}: {way} is {amount:g}", child, f"it can be {low:g} to {high:g}")
        return None
    return None if amount is None else SpreadOf(way, amount)
