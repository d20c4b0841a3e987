"""A path: ordered walks of steps, with their numbers and the sentences told about them."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

NOTHING_DRIVES = "The way is open, but nothing drives water through it."


@dataclass(frozen=True)
class Step:
    """One part on the way."""

    part: str
    enters: str
    """Port, terminal or part it is entered by; empty at a beginning."""
    leaves: str
    does: str
    """What it is for, half a sentence for an apprentice."""
    customer: str
    """The same for a customer."""
    fails: str
    """How it fails and how that shows."""
    says: tuple[str, ...]
    """What happens here at this moment: whole sentences."""
    passes: bool = True
    why: str = ""
    """Why nothing passes; empty where something does."""
    facts: dict[str, float] = field(default_factory=dict)
    """Numbers by name with unit, as ``flow_g_per_s``."""
    lines: tuple[int, ...] = ()
    """Lines of the machine file the step was reached by, numbered from 0."""


@dataclass(frozen=True)
class Walk:
    """Steps in order. ``kind``: way, branch, circulation, closed."""

    kind: str
    title: str
    steps: tuple[Step, ...]
    begins_at: str = ""
    """Part that a branch leaves; empty where the walk begins at a source."""
    why: str = ""
    """Why nothing passes a closed branch, or why a circulation turns: whole sentences."""


@dataclass(frozen=True)
class Path:
    """All walks of one machine in one state."""

    machine: str
    title: str
    state: str
    state_title: str
    of: str
    summary: str
    walks: tuple[Walk, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain mappings, lists, numbers and texts."""
        return asdict(self)

    def parts(self) -> set[str]:
        """Every part that is named in a step."""
        return {step.part for walk in self.walks for step in walk.steps}
