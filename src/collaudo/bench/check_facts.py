"""What is told of every check, wherever one is shown: how it is made, what it needs, what can hurt."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class CheckFacts:
    """One check as a technician needs it."""

    check: str
    title: str
    why: str
    steps: list[str]
    tools: list[str]
    minutes: float
    """At work."""
    wait_minutes: float
    """Unattended."""
    needs: str
    """Condition it needs: any, cold or hot."""
    leaves: str
    """Condition it leaves behind."""
    lid: str
    hazards: list[str]
    cautions: list[str]
    """In words, one for each hazard."""
