"""How likely each cause is before any reading: frequency, history, parts already dealt with, closed jobs."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from collaudo.diagnosis.signature_set import CauseInfo, Floats
from collaudo.errors import unknown_name

# Factors on the odds of every cause in a part; common practice, no source.
REPLACED_FACTOR = 0.1
"""A new part is seldom at fault, but may be the wrong one or fitted wrongly."""
CLEANED_FACTOR = 0.3
PROVEN_GOOD_FACTOR = 0.05
"""Tested by itself and found good."""
SET_ANEW_FACTOR = 0.1
"""Of the settings of a part that were set anew; what is broken in it stays as likely as it was."""
_OF_SETTINGS = ("set", "open", "turn", "reset", "seat", "bleed", "explain", "have")
"""Verbs of repairs that change no part and clean none."""

PRIOR_WORTH_JOBS = 100.0
"""Catalogue frequencies hold to a factor of two, as well as counts of about a hundred jobs would."""


@dataclass(frozen=True)
class Background:
    """What is known of a job besides its readings."""

    history: Collection[str] = ()
    """History words (descaled yesterday, stood for months); words no cause knows change nothing."""
    replaced: Collection[str] = ()
    """Parts replaced on this job or just before it."""
    cleaned: Collection[str] = ()
    proven_good: Collection[str] = ()
    closed_jobs: Mapping[str, float] = field(default_factory=dict)
    """Cause id -> closed jobs of this shop, on machines of this kind, that it explained."""
    set_anew: Collection[str] = ()
    """Parts of which something was set, opened or reset."""


def prior_chances(causes: Sequence[CauseInfo], background: Background) -> Floats:
    """Chance ``[c]`` of each cause being the one at fault, summing to 1."""
    ids = [cause.id for cause in causes]
    for name in background.closed_jobs:
        if name not in ids:
            raise unknown_name("cause", name, ids)
    frequency = np.array([cause.per_1000 for cause in causes])
    closed = np.array([background.closed_jobs.get(name, 0.0) for name in ids])
    odds = PRIOR_WORTH_JOBS * frequency / frequency.sum() + closed
    factors = np.array(
        [_history_factor(cause, background) * _part_factor(cause, background) for cause in causes]
    )
    weighted = odds * factors
    return np.asarray(weighted / weighted.sum())


def _history_factor(cause: CauseInfo, background: Background) -> float:
    factor = 1.0
    for word in set(background.history):
        factor *= cause.history.get(word, 1.0)
    return factor


def _part_factor(cause: CauseInfo, background: Background) -> float:
    factor = 1.0
    if cause.part in background.replaced:
        factor *= REPLACED_FACTOR
    if cause.part in background.cleaned:
        factor *= CLEANED_FACTOR
    if cause.part in background.proven_good:
        factor *= PROVEN_GOOD_FACTOR
    if cause.part in background.set_anew and is_setting(cause.repair):
        factor *= SET_ANEW_FACTOR
    return factor


def is_setting(repair: str) -> bool:
    """Whether a repair sets, opens or resets something, and neither replaces nor cleans a part."""
    return repair.split("-", maxsplit=1)[0] in _OF_SETTINGS
