"""Findings that are one of several options: outcomes, low-normal-high, and occurring at all.

Every option keeps a chance under every cause, because a technician may take wet for dry: the
confusion is spread evenly over the options. Even a number carries such a finding with it, namely that
the reading occurred.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collaudo.diagnosis.noise import HIGH, LOW, NORMAL, Finding, NoiseSettings, repeat_weight
from collaudo.diagnosis.prediction import Prediction, of_sound_machine, reading_variance, total_variance
from collaudo.diagnosis.signature_set import Floats, SignatureSet
from collaudo.diagnosis.student import below
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.errors import FindingsFileError, Problem, near_misses

ABSENT = "did not occur"
PRESENT = "occurred"
_NORMAL_RANGE_SD = 1.645
"""Low and high begin where five in a hundred sound machines lie beyond."""


@dataclass(frozen=True, eq=False)
class Words:
    """One observation that is one of several options: chances of the options under each hypothesis."""

    position: int
    """Position among the findings."""
    options: tuple[str, ...]
    chance: Floats
    """``[c, s, o]``, confusion included"""
    unconfused: Floats
    """``[c, s, o]``, were nothing ever taken for something else"""
    sound: Floats
    """``[o]`` under a sound machine"""
    taken: int
    weight: float


def collect_words(
    findings: Sequence[Finding],
    signatures: SignatureSet,
    surrogate: Surrogate,
    prediction: Prediction,
    settings: NoiseSettings,
) -> list[Words]:
    """Every finding as a choice among options: outcomes, low-normal-high, or occurring at all."""
    times: dict[tuple[str, str], int] = {}
    rows = []
    for position, finding in enumerate(findings):
        r = signatures.find_reading(finding.reading)
        options, chance, taken = _options(finding, r, signatures, surrogate, prediction)
        key = (finding.reading, options[taken])
        times[key] = times.get(key, 0) + 1
        rows.append((position, options, chance, taken, finding.doubted, key))
    words = []
    for position, options, chance, taken, doubted, key in rows:
        confusion = settings.doubted_confusion if doubted else settings.confusion
        mixed = (1.0 - confusion) * chance + confusion / len(options)
        sound = of_sound_machine(mixed, signatures.no_fault)
        words.append(Words(position, options, mixed, chance, sound, taken, repeat_weight(times[key])))
    return words


def _options(
    finding: Finding, r: int, signatures: SignatureSet, surrogate: Surrogate, prediction: Prediction
) -> tuple[tuple[str, ...], Floats, int]:
    info = signatures.readings[r]
    occurs = prediction.occurs[:, :, r, None]
    value = finding.value
    if info.kind == "outcome":
        options = (*info.outcomes, ABSENT)
        chance = np.concatenate(
            [occurs * prediction.chance[:, :, r, : len(info.outcomes)], 1.0 - occurs], axis=-1
        )
    elif isinstance(value, str):
        options = (LOW, NORMAL, HIGH, ABSENT)
        chance = np.concatenate(
            [occurs * word_chances(r, signatures, surrogate, prediction), 1.0 - occurs], axis=-1
        )
    else:
        options = (PRESENT, ABSENT)
        chance = np.concatenate([occurs, 1.0 - occurs], axis=-1)
        if value is not None and not np.isfinite(value):
            raise FindingsFileError(
                Problem(f"reading {info.id!r} is given as {value}", "a finite number, or none")
            )
        value = ABSENT if value is None else PRESENT
    wanted = ABSENT if value is None else value
    if wanted not in options:
        remedy = near_misses(str(wanted), options)
        raise FindingsFileError(Problem(f"reading {info.id!r} cannot be {wanted!r}", remedy))
    return options, chance, options.index(str(wanted))


def word_chances(r: int, signatures: SignatureSet, surrogate: Surrogate, prediction: Prediction) -> Floats:
    """Chances ``[c, s, 3]`` that a number is low, normal or high against sound machines of this kind."""
    mean = prediction.mean[:, :, r]
    sd = np.sqrt(total_variance(prediction, r) + reading_variance(mean, r, signatures.readings, surrogate))
    margin = _NORMAL_RANGE_SD * of_sound_machine(sd, signatures.no_fault)
    is_low = below((prediction.sound[r] - margin - mean) / sd, prediction.degrees)
    is_high = 1.0 - below((prediction.sound[r] + margin - mean) / sd, prediction.degrees)
    return np.maximum(np.stack([is_low, 1.0 - is_low - is_high, is_high], axis=-1), 1e-9)
