"""What may be entered on a findings sheet of a machine, told to whoever asks."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.bench.findings.check_cards import CheckCard, card_of
from collaudo.bench.findings.machine_words import MachineWords, Sayable, Word


@dataclass(frozen=True)
class PartWord:
    """A part, and as it is called."""

    part: str
    title: str


@dataclass(frozen=True)
class SheetWords:
    """Words, numbers, parts and checks of one machine."""

    machine: str
    title: str
    complaints: list[Word]
    history: list[Word]
    site: list[Sayable]
    settings: list[Sayable]
    known: list[Sayable]
    parts: list[PartWord]
    """Those that can be cleaned, replaced or set; of the others this may be said all the same."""
    checks: list[CheckCard]


def sheet_words(words: MachineWords) -> SheetWords:
    """Everything that may be entered for a machine."""
    return SheetWords(
        machine=words.id,
        title=words.title,
        complaints=[Word(word, text) for word, text in words.complaints.items()],
        history=[Word(word, text) for word, text in words.history.items()],
        site=list(words.site.values()),
        settings=list(words.settings.values()),
        known=list(words.known.values()),
        parts=[PartWord(part, words.parts[part]) for part in words.worked_on],
        checks=[card_of(item) for item in words.checks.values()],
    )
