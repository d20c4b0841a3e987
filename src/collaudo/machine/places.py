"""``drawing:`` of a machine file: where its parts stand in the drawing."""

from __future__ import annotations

from collaudo.errors import near_misses
from collaudo.machine.source import Node, Problems, take_list, take_mapping, take_number

LIMITS = (-100.0, 100.0)
"""Columns and rows a drawing may have."""


def read_places(node: Node, where: dict[str, Node], problems: Problems) -> dict[str, tuple[float, float]]:
    """Column and row of parts in the drawing."""
    places = {}
    for name, entry in take_mapping(node, "drawing", problems).items():
        if name not in where:
            problems.add(f"drawing of {name[:60]!r}: no such part", entry, near_misses(name[:60], where))
            continue
        ends = take_list(entry, f"drawing of {name}", problems)
        numbers = [take_number(end, f"drawing of {name}", problems) for end in ends]
        if len(ends) != 2:
            if isinstance(entry.value, list):
                problems.add(f"drawing of {name} is no place", entry, "write '[column, row]'")
            continue
        if any(n is not None and not LIMITS[0] <= n <= LIMITS[1] for n in numbers):
            problems.add(f"drawing of {name} is off the sheet", entry, "columns and rows go to 100")
        elif numbers[0] is not None and numbers[1] is not None:
            places[name] = (numbers[0], numbers[1])
    return places
