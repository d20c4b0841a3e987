"""What each cause predicts for this machine, its known values put in.

Known machine and site values shift the predictions; those not known widen them together, as one
unknown machine would.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from collaudo.diagnosis.noise import error_sds
from collaudo.diagnosis.signature_set import Floats, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.transform import backward
from collaudo.errors import unknown_name


@dataclass(frozen=True, eq=False)
class Prediction:
    """Predictions for one machine, transformed, for causes ``c``, severities ``s`` and readings ``r``."""

    mean: Floats
    spread: Floats
    correlation: Floats
    unknown: Floats
    """``[c, u, r]``: effects of independent unknown machine and site values of unit variance"""
    occurs: Floats
    chance: Floats
    degrees: int
    sound: Floats
    """``[r]`` what a sound machine shows"""
    sound_occurs: Floats
    lowest: Floats
    highest: Floats


def predict(
    signatures: SignatureSet, surrogate: Surrogate, known: Mapping[str, float], error_share: float
) -> Prediction:
    """Predictions with the ``known`` machine and site values put in; unknown names raise UnknownNameError."""
    shift, spread_of_unknown = _condition(signatures, surrogate, known)
    mean = surrogate.mean + np.einsum("k,ckr->cr", shift, surrogate.slope)[:, None, :]
    lowest, highest = mean.min(axis=(0, 1)), mean.max(axis=(0, 1))
    room = 0.1 * (highest - lowest)
    return Prediction(
        mean=mean,
        spread=surrogate.spread * np.sqrt(1.0 + error_share**2),
        correlation=surrogate.correlation,
        unknown=np.einsum("uk,ckr->cur", spread_of_unknown, surrogate.slope),
        occurs=surrogate.occurs,
        chance=surrogate.chance,
        degrees=surrogate.degrees,
        sound=of_sound_machine(mean, signatures.no_fault),
        sound_occurs=of_sound_machine(surrogate.occurs, signatures.no_fault),
        lowest=lowest - room,
        highest=highest + room,
    )


def of_sound_machine(values: Floats, no_fault: int | None) -> Floats:
    """Values ``[c, s, ...]`` of "no fault"; the mean of all causes where the set has no such cause."""
    return np.asarray(values.mean(axis=(0, 1)) if no_fault is None else values[no_fault].mean(axis=0))


def _condition(
    signatures: SignatureSet, surrogate: Surrogate, known: Mapping[str, float]
) -> tuple[Floats, Floats]:
    """Expected standardised values ``[k]`` and a factor ``[u, k]`` of their covariance, given some."""
    names = list(signatures.known_names)
    for name in known:
        if name not in names:
            raise unknown_name("machine or site value", name, names)
    given = np.array([name in known for name in names], dtype=bool)
    shift = np.zeros(len(names))
    if not names:
        return shift, np.zeros((0, 0))
    span = surrogate.known_high - surrogate.known_low
    for k, name in enumerate(names):
        if given[k]:
            # Beyond the drawn range a straight line is a guess: half a range further at most.
            room = 0.5 * span[k]
            inside = np.clip(known[name], surrogate.known_low[k] - room, surrogate.known_high[k] + room)
            shift[k] = (inside - surrogate.known_mean[k]) / surrogate.known_sd[k]
    correlation = surrogate.known_correlation + 1e-9 * np.eye(len(names))
    gain = np.linalg.solve(correlation[np.ix_(given, given)], correlation[np.ix_(given, ~given)])
    shift[~given] = gain.T @ shift[given]
    left = correlation[np.ix_(~given, ~given)] - correlation[np.ix_(~given, given)] @ gain
    values, vectors = np.linalg.eigh(left)
    factor = np.zeros((int((~given).sum()), len(names)))
    factor[:, ~given] = np.sqrt(np.maximum(values, 0.0))[:, None] * vectors.T
    return shift, factor


def total_variance(prediction: Prediction, r: int) -> Floats:
    """Variance ``[c, s]`` of one reading between machines, unknown values included."""
    of_unknown = (prediction.unknown[:, :, r] ** 2).sum(axis=1)
    return np.asarray(prediction.spread[:, :, r] ** 2 + of_unknown[:, None])


def reading_variance(mean: Floats, r: int, readings: Sequence[ReadingInfo], surrogate: Surrogate) -> Floats:
    """Variance of noise and bias of one reading where its transformed value is ``mean``."""
    raw = backward(mean, readings[r])[..., None]
    own, bias = error_sds(np.array([r]), raw, readings, surrogate)
    return np.asarray((own**2 + bias**2)[..., 0])
