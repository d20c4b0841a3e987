"""Signatures of sound machines alone: what they should show is told from these, and they are soon made."""

from __future__ import annotations

from collaudo.bench.findings.held_signatures import Held, HeldSignatures


def sound_key(key: str) -> str:
    """Where those of sound machines lie, by the key of a machine's signatures."""
    return f"{key}-sound"


def best_of(held: HeldSignatures, key: str) -> Held | None:
    """The signatures of most drawn machines, whole ones or those of sound machines alone."""
    found = [one for name in (key, sound_key(key)) if (one := held.get(name)) is not None]
    return max(found, key=lambda one: one.draws, default=None)
