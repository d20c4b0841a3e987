"""Diagrams of a machine, at rest or in one of its states."""

from __future__ import annotations

from collaudo.drawing.draw import KINDS, draw
from collaudo.machine.load import find_machine

DRAWN = tuple(KINDS)
"""What can be drawn of a machine."""


def draw_machine(machine: str, state: str = "", of: str = "water") -> str:
    """The diagram of a machine of the library or a machine file, as SVG.

    ``of``: water, heat or current. ``state``: one of the machine's states by name; empty: at rest. Raises
    `InputError` for what cannot be used, `RunError` where the twin cannot go on.
    """
    built = find_machine(machine)
    if not state:
        return draw(built, None, of)
    from collaudo.bench.explaining.states import snapshot_of

    return draw(built, snapshot_of(built, state), of)
