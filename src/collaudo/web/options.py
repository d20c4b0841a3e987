"""What the server is started with."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
MOST_BYTES = 2_000_000
"""Largest body of a request: a machine file of the greatest length and room for what is round it."""


@dataclass(frozen=True)
class Options:
    """Where it listens, who may ask, where things are kept."""

    data: Path
    """Folder of findings and machines of one's own."""
    port: int = 8760
    hosts: tuple[str, ...] = LOOPBACK
    """Names and addresses under which it may be asked for."""
    pass_phrase: str = ""
    """Asked for before anything is shown; empty: only this computer can ask."""
    begin_with: str = ""
    """Machine whose twin is made ready at the start."""
    allowed_bytes: int = field(default=MOST_BYTES)

    @property
    def open_to_others(self) -> bool:
        """Whether other computers may ask."""
        return bool(self.pass_phrase)
