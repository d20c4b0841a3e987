"""The repair that comes first: what it is, what comes before it, and what may then be said to be done."""

from __future__ import annotations

from collections.abc import Sequence

from collaudo.bench.findings.told import RepairTold
from collaudo.bench.findings.words import NEARLY_SURE, chance_in_words
from collaudo.diagnosis.next_check import NextCheck
from collaudo.diagnosis.priors import is_setting
from collaudo.diagnosis.ranking import Ranking
from collaudo.diagnosis.signature_set import CauseInfo

WORTH_RULING_OUT = 0.09
"""Chance from which a cause that costs no part is named before one that does."""


def repair_told(ranking: Ranking, steps: Sequence[NextCheck], *, live: bool) -> RepairTold | None:
    """The repair that comes first; never before it was seen whether the machine may be powered."""
    first = next((step for step in steps if step.kind == "repair"), None)
    if first is None:
        return None
    cause = next(item.cause for item in ranking.causes if item.cause.repair == first.id)
    now = steps[0] is first and not live
    done = ("set_anew", "proven_good") if is_setting(cause.repair) else ("cleaned", "replaced", "proven_good")
    return RepairTold(
        cause.id, cause.title, cause.part, cause.remedy, first.minutes, now, list(cause.cautions),
        list(done), _before_replacing(ranking, cause),
    )  # fmt: skip


def _before_replacing(ranking: Ranking, cause: CauseInfo) -> str:
    """No part before its harmless alternatives are ruled out: said where the cause is far from sure."""
    chances = {item.cause.repair: 0.0 for item in ranking.causes}
    for item in ranking.causes:
        chances[item.cause.repair] += item.probability
    if is_setting(cause.repair) or chances[cause.repair] >= NEARLY_SURE:
        return ""
    text = f"It stands at {chance_in_words(chances[cause.repair])}: prove it before a part is replaced."
    harmless = next(
        (
            item.cause
            for item in ranking.causes
            if is_setting(item.cause.repair) and chances[item.cause.repair] >= WORTH_RULING_OUT
        ),
        None,
    )
    if harmless is None:
        return text
    chance = chance_in_words(chances[harmless.repair])
    return f"{text} First rule out what costs no part: {_small(harmless.title)} ({chance})."


def _small(title: str) -> str:
    return title[:1].lower() + title[1:]
