"""What a sound machine should show in every check, here and as it is set."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from collaudo.diagnosis.building import DRAWS, build
from collaudo.diagnosis.cache import best_set, key_of
from collaudo.diagnosis.prediction import predict, reading_variance, total_variance
from collaudo.diagnosis.signature_set import NO_FAULT, Floats, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate, load_with_surrogate
from collaudo.diagnosis.transform import backward

NINETY_PERCENT_SD = 1.645
"""Low and high hold nine of ten sound machines."""
MOSTLY = 0.5


@dataclass(frozen=True)
class Expected:
    """What one reading shows on a sound machine: a range, or the chance of each outcome."""

    check: str
    reading: str
    title: str
    unit: str
    low: float | None
    typical: float | str | None
    high: float | None
    chances: dict[str, float]


def expect(
    machine: str,
    known: Mapping[str, float] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> list[Expected]:
    """Expected readings of every check; ``known`` are machine and site values by name.

    From the signatures in the cache, else from sound machines drawn and run now.
    """
    key = key_of(machine)
    found = best_set(key) or build(machine, key, DRAWS, progress=progress, sound_only=True)
    signatures, surrogate = load_with_surrogate(found)
    prediction = predict(signatures, surrogate, known or {}, 0.0)
    sound = signatures.cause_index[NO_FAULT]
    expected = []
    checks = {check.id for check in signatures.checks}
    for r, info in enumerate(signatures.readings):
        if info.check not in checks:
            continue
        if info.kind == "outcome":
            chance = prediction.chance[sound, :, r, : len(info.outcomes)].mean(axis=0)
            expected.append(_of_outcome(info, chance))
            continue
        mean = float(prediction.mean[sound, :, r].mean())
        spread = total_variance(prediction, r)[sound].mean()
        sd = float(np.sqrt(spread + _error(mean, r, signatures, surrogate)))
        often = float(prediction.occurs[sound, :, r].mean()) > MOSTLY
        expected.append(_of_number(info, mean, sd) if often else _never(info))
    return expected


def _error(mean: float, r: int, signatures: SignatureSet, surrogate: Surrogate) -> float:
    return float(reading_variance(np.array([[mean]]), r, signatures.readings, surrogate)[0, 0])


def _of_number(info: ReadingInfo, mean: float, sd: float) -> Expected:
    low, typical, high = (float(backward(mean + k * NINETY_PERCENT_SD * sd, info)) for k in (-1.0, 0.0, 1.0))
    check, _, word = info.id.partition(".")
    return Expected(check, word, info.title, info.unit, low, typical, high, {})


def _never(info: ReadingInfo) -> Expected:
    check, _, word = info.id.partition(".")
    return Expected(check, word, info.title, info.unit, None, "never", None, {})


def _of_outcome(info: ReadingInfo, chance: Floats) -> Expected:
    check, _, word = info.id.partition(".")
    chances = {outcome: float(share) for outcome, share in zip(info.outcomes, chance, strict=True)}
    typical = max(chances, key=lambda outcome: chances[outcome])
    return Expected(check, word, info.title, info.unit, None, typical, None, chances)
