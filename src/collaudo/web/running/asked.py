"""What comes in from a socket: how large and how fast it may be, and what is answered to what is not
understood. Nothing that is sent can end the line, let alone the stand."""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from typing import Any

from collaudo.errors import InputError, Problem

MOST_BYTES = 4_000
PER_s, AT_ONCE = 30.0, 30.0


class Pace:
    """How many messages a line may send: so many a second, and as many at once."""

    def __init__(self) -> None:
        self._left = AT_ONCE
        self._last_s = time.monotonic()
        self.said = False
        """Whether it has been told that it is too fast, since it last was not."""

    def allows(self) -> bool:
        """Whether one more may come now."""
        now = time.monotonic()
        self._left = min(AT_ONCE, self._left + PER_s * (now - self._last_s))
        self._last_s = now
        if self._left < 1.0:
            return False
        self._left -= 1.0
        self.said = False
        return True


def read_asked(text: str) -> Mapping[str, Any]:
    """The thing to do in a message, ``{"do": {…}}``; `InputError` says what is wrong with it."""
    if len(text) > MOST_BYTES:
        raise InputError(Problem("this message is too long", f"at most {MOST_BYTES} characters"))
    try:
        told = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise InputError(Problem("this message is not JSON", 'send {"do": {"goes": false}}')) from None
    if not isinstance(told, dict) or list(told) != ["do"] or not isinstance(told["do"], dict):
        raise InputError(Problem("this message is not understood", 'send {"do": {"goes": false}}'))
    found: dict[str, Any] = told["do"]
    return found


def _no_number(word: str) -> float:
    raise ValueError(word)
