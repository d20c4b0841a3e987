"""Pass phrases: made up so that they are easily read aloud and typed, or somebody's own."""

from __future__ import annotations

import secrets
from pathlib import Path

from collaudo.errors import InputError, Problem

WORDS = 5
"""Of a phrase that is made up: five of 256 words, 40 bits, with few tries a minute."""
LEAST, MOST = 10, 200
"""Characters of somebody's own phrase."""


def made_up_phrase() -> str:
    """A pass phrase of common words."""
    words = Path(__file__).with_name("phrase_words.txt").read_text(encoding="utf-8").split()
    return " ".join(secrets.choice(words) for _ in range(WORDS))


def own_phrase(text: str) -> str:
    """Somebody's own phrase without blanks round it; `InputError` for one that is soon guessed."""
    phrase = text.strip()
    if not LEAST <= len(phrase) <= MOST or not phrase.isprintable():
        raise InputError(
            Problem(
                "this pass phrase cannot be used",
                f"take {LEAST} to {MOST} characters on one line: four or five words are good",
            )
        )
    return phrase
