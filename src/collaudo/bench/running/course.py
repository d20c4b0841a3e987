"""What is still to be done on a stand, one operation after the other, in the machine's own time."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collaudo.twin.operations import Operation


@dataclass
class Course:
    """Operations that take time, and how far they are."""

    operations: deque[Operation]
    quick: bool = False
    """Done as fast as the computer can, not at the speed of the stand."""
    then: str = ""
    """What is told when it is done."""
    wait_s: float = 0.0
    """Still to pass before the next one."""

    @property
    def left_s(self) -> float:
        """Of the machine's time, at most."""
        return self.wait_s + sum(
            getattr(one, "seconds_s", getattr(one, "at_most_s", 0.0)) for one in self.operations
        )
