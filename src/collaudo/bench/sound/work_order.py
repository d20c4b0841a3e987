"""The order of the work: cold, warming up, hot; and in each what is safest and quickest first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

CONDITIONS: Mapping[str, tuple[str, str]] = {
    "any": ("Cold or hot", ""),
    "cold": ("Cold", "before it is heated"),
    "warm": ("Warming up", "from switching on"),
    "hot": ("Hot", "after half an hour at rest"),
}
"""What a group of checks is called, and when it is made; in this order."""


class Made(Protocol):
    """A check as the order needs it."""

    @property
    def title(self) -> str:
        """What it is called."""

    @property
    def needs(self) -> str:
        """Condition it needs."""

    @property
    def leaves(self) -> str:
        """Condition it leaves behind."""

    @property
    def hazards(self) -> Sequence[str]:
        """What can hurt."""

    @property
    def steps(self) -> Sequence[str]:
        """What is done."""

    @property
    def minutes(self) -> float:
        """Hands on."""

    @property
    def wait_minutes(self) -> float:
        """Waiting."""


def condition_of(check: Made) -> str:
    """A check that begins cold and ends hot is made while the machine warms up."""
    return "warm" if (check.needs, check.leaves) == ("cold", "hot") else check.needs


def turn(check: Made) -> tuple[bool, bool, float, str]:
    """What is measured dead comes first, then the other work on mains, then the quickest."""
    dead = "mains" in check.hazards and any("unplug" in step.lower() for step in check.steps)
    minutes_all = check.minutes + check.wait_minutes
    return not dead, "mains" not in check.hazards, minutes_all, check.title
