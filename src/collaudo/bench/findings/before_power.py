"""What is measured unplugged before a machine that may be live is powered: earth and insulation.

A machine that trips, smells burnt, or was wet or burning when it came in is not switched on to see what
happens, however much a check under power would tell: first comes what shows whether it may be. Common
practice, no source (earth 0.3 ohm or less, insulation 1 Mohm or more, what heats 0.3 at the least).
"""

from __future__ import annotations

from collections.abc import Sequence

from collaudo.bench.findings.check_cards import CheckCard
from collaudo.bench.findings.sheet import Sheet

CAUTION = (
    "It may be live: do not switch it on before earth (0.3 ohm or less) and insulation (1 Mohm or more, what "
    "heats 0.3 at the least) were measured, unplugged and proved dead, by the qualified."
)
_LIVE_COMPLAINTS = ("trips",)
_LIVE_DANGERS = ("wet", "burning")


def may_be_live(sheet: Sheet) -> bool:
    """Whether something on the sheet says that the machine may be dangerous to power."""
    return (
        any(word in _LIVE_COMPLAINTS for word in sheet.complaints)
        or any(word in _LIVE_DANGERS for word in sheet.stopped)
        or any(one.check == "look" and one.value == "burnt" for one in sheet.findings)
    )


def unplugged_first(cards: Sequence[CheckCard], sheet: Sheet) -> tuple[list[CheckCard], bool]:
    """The checks with those of earth and insulation first while they are to be made, and whether they are."""
    waiting = [card for card in cards if _shows_whether_it_may_be_powered(card)] if may_be_live(sheet) else []
    if not waiting:
        return list(cards), False
    unplugged = [card for card in cards if card not in waiting and is_unplugged(card)]
    return [
        *waiting,
        *unplugged,
        *(one for one in cards if one not in waiting and one not in unplugged),
    ], True


def is_unplugged(card: CheckCard) -> bool:
    """Whether a check begins by pulling the plug."""
    return bool(card.steps) and card.steps[0].startswith("Unplug")


def _shows_whether_it_may_be_powered(card: CheckCard) -> bool:
    told = [one for one in card.readings if one.reading == "earth" or one.reading.endswith("insulation")]
    return is_unplugged(card) and bool(told) and any(not one.taken for one in told)
