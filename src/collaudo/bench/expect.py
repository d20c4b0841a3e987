"""What a sound machine should show in every check, here and as it is set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from collaudo.bench.signatures import Progress, builder, load_best
from collaudo.diagnosis.cache import DRAWS, key_of
from collaudo.diagnosis.findings_file import Case, Vocabulary, read_case
from collaudo.diagnosis.prediction import Prediction, predict, reading_variance, total_variance
from collaudo.diagnosis.signature_set import NO_FAULT, Floats, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate, load_with_surrogate
from collaudo.diagnosis.transform import backward
from collaudo.errors import InputError, Problem
from collaudo.machine.source import Node, plain_scalar

NINETY_PERCENT_SD = 1.645
"""Low and high hold nine of ten sound machines."""
MOSTLY = 0.5


@dataclass(frozen=True)
class Expected:
    """What one reading shows on a sound machine: a range, or the chance of each outcome."""

    check: str
    reading: str
    check_title: str
    title: str
    unit: str
    low: float | None
    typical: float | str | None
    high: float | None
    chances: dict[str, float]


@dataclass(frozen=True)
class Expectations:
    """Expected readings of one machine, and what was taken into account."""

    machine: str
    title: str
    readings: list[Expected]
    known: dict[str, float]
    """Site and machine values by name, as the predictions know them."""
    unused: list[str]
    """What was given and changes no prediction."""


def expect(
    machine: str,
    site: Mapping[str, str] | None = None,
    settings: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> Expectations:
    """Expected readings of every check, at a ``site`` and with ``settings`` as a findings file writes them.

    From the signatures in the cache, else from sound machines drawn and run now. Raises `InputError` for what
    cannot be used.
    """
    signatures, surrogate = _signatures(machine, progress)
    case = _case(machine, signatures, site or {}, settings or {})
    prediction = predict(signatures, surrogate, case.known, 0.0)
    checks = {check.id: check.title for check in signatures.checks}
    return Expectations(
        machine=machine,
        title=signatures.title,
        readings=[
            _expected(r, info, checks[info.check], signatures, surrogate, prediction)
            for r, info in enumerate(signatures.readings)
            if info.check in checks
        ],
        known=dict(case.known),
        unused=[key for key, text in (site or {}).items() if not _counts(machine, signatures, key, text)],
    )


def _signatures(machine: str, progress: Progress | None) -> tuple[SignatureSet, Surrogate]:
    key = key_of(machine)
    for name in (key, f"{key}-sound"):
        kept = load_best(name)
        if kept is not None and kept[0].known.shape[0] >= DRAWS:
            return kept
    with builder(machine, key, progress, sound_only=True) as build:
        return load_with_surrogate(build(DRAWS))


def _case(
    machine: str, signatures: SignatureSet, site: Mapping[str, str], settings: Mapping[str, str]
) -> Case:
    given = {name: values for name, values in (("site", site), ("settings", settings)) if values}
    options = {"site": "--site", "settings": "--setting"}
    top = {
        name: Node({key: _node(options[name], key, text) for key, text in values.items()}, 0, options[name])
        for name, values in given.items()
    }
    return read_case(Node({"machine": Node(machine, 0), **top}, 0), machine, Vocabulary.of(signatures))


def _node(option: str, key: str, text: str) -> Node:
    try:
        return Node(plain_scalar(text), 0, option)
    except ValueError as fault:
        message, remedy = fault.args
        raise InputError(Problem(f"{key}: {message}", remedy, option)) from None


def _counts(machine: str, signatures: SignatureSet, key: str, text: str) -> bool:
    return bool(_case(machine, signatures, {key: text}, {}).known)


def _expected(
    r: int,
    info: ReadingInfo,
    check_title: str,
    signatures: SignatureSet,
    surrogate: Surrogate,
    prediction: Prediction,
) -> Expected:
    sound = signatures.cause_index[NO_FAULT]
    if info.kind == "outcome":
        chance = prediction.chance[sound, :, r, : len(info.outcomes)].mean(axis=0)
        return _of_outcome(info, check_title, chance)
    if float(prediction.occurs[sound, :, r].mean()) <= MOSTLY:
        return _of(info, check_title, (None, "never", None), {})
    mean = float(prediction.mean[sound, :, r].mean())
    error = float(reading_variance(np.array([[mean]]), r, signatures.readings, surrogate)[0, 0])
    sd = float(np.sqrt(total_variance(prediction, r)[sound].mean() + error))
    low, typical, high = (float(backward(mean + k * NINETY_PERCENT_SD * sd, info)) for k in (-1.0, 0.0, 1.0))
    if info.unit == "g" and float(np.nanmin(signatures.number[sound, :, r])) >= -info.noise_sd:
        low, typical = max(low, 0.0), max(typical, 0.0)  # nothing weighs less than nothing
    return _of(info, check_title, (low, typical, high), {})


def _of_outcome(info: ReadingInfo, check_title: str, chance: Floats) -> Expected:
    chances = {outcome: float(share) for outcome, share in zip(info.outcomes, chance, strict=True)}
    typical = max(chances, key=lambda outcome: chances[outcome])
    return _of(info, check_title, (None, typical, None), chances)


def _of(
    info: ReadingInfo,
    check_title: str,
    span: tuple[float | None, float | str | None, float | None],
    chances: dict[str, float],
) -> Expected:
    word = info.id.partition(".")[2]
    return Expected(info.check, word, check_title, info.title, info.unit, *span, chances)
