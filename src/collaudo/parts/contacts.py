"""Contacts that move, and what can be wrong with them."""

from __future__ import annotations

from collaudo.parts.circuit import ALWAYS, Command, Contact

OPEN_OHM = 1.0e9
"""A broken way: its parts stay the same, only nothing to speak of passes."""
NEVER_V = 1.0e9
"""A load that works from this voltage never works."""


def moved_contact(
    part: str,
    ends: tuple[str, str],
    command: Command,
    state: str = "sound",
    ohm: float = 0.0,
    open_ohm: float = 0.0,
) -> Contact:
    """A contact between two terminals: ``sound``, ``welded`` (or ``shorted``: always closed) or ``open``."""
    if state in ("welded", "shorted"):
        command = ALWAYS
    return Contact(part, *ends, command, OPEN_OHM if state == "open" else ohm, open_ohm)
