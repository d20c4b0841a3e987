"""Signature sets with readings in words alone: the chances are given, nothing is fitted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from collaudo.diagnosis.noise import NoiseSettings
from collaudo.diagnosis.ranking import RankingSettings
from collaudo.diagnosis.signature_set import CauseInfo, CheckInfo, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate, fit_surrogate

EXACT = RankingSettings(noise=NoiseSettings(confusion=0.0), pair_share=0.0, doubt=0.0)
"""No allowance for what published sums do not allow for: mistaken outcomes, two faults, missing causes."""


def worded_set(
    causes: Sequence[CauseInfo], readings: Mapping[str, tuple[str, ...]]
) -> tuple[SignatureSet, Surrogate]:
    """A set whose readings have the given outcomes, one check for each, and its surrogate."""
    shape = (len(causes), 4, len(readings))
    signatures = SignatureSet(
        causes=tuple(causes),
        readings=tuple(
            ReadingInfo(name, name, name, kind="outcome", outcomes=outcomes)
            for name, outcomes in readings.items()
        ),
        checks=tuple(CheckInfo(name, name, minutes=0.0, readings=(name,)) for name in readings),
        known_names=(),
        severity=np.tile([0.2, 0.4, 0.6, 0.8], (len(causes), 1)),
        known=np.zeros((4, 0)),
        number=np.full(shape, np.nan),
        outcome=np.full(shape, -1, dtype=np.int8),
    )
    return signatures, fit_surrogate(signatures)


def cause(
    name: str,
    chance: float,
    seen: Mapping[str, float] | None = None,
    *,
    minutes: float = 10.0,
    history: Mapping[str, float] | None = None,
) -> CauseInfo:
    """A cause of its own part and repair; ``seen`` holds the chance of "yes" for each reading."""
    tables = {reading: {"yes": yes, "no": 1.0 - yes} for reading, yes in (seen or {}).items()}
    return CauseInfo(
        name, f"part of {name}", name, chance, f"repair {name}", minutes, 0.0, tables, history or {}
    )
