"""What a sound machine should show in every check, here and as it is set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from collaudo.bench.judging.signatures import Progress, builder, load_best
from collaudo.bench.sound.expected import Expectations, Expected, ExpectedCheck, Given
from collaudo.checks.check import all_checks
from collaudo.diagnosis.cache import DRAWS, key_of
from collaudo.diagnosis.findings_file import Case, Vocabulary, read_case
from collaudo.diagnosis.prediction import Prediction, predict, reading_variance, total_variance
from collaudo.diagnosis.signature_set import NO_FAULT, CheckInfo, Floats, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate, load_with_surrogate
from collaudo.diagnosis.transform import backward
from collaudo.machine.site import KEYS
from collaudo.machine.source import Node, option_node, plain_scalar
from collaudo.quantities.units import split_suffix

NINETY_PERCENT_SD = 1.645
"""Low and high hold nine of ten sound machines."""
MOSTLY = 0.5


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
    return expect_from(*_signatures(machine, progress), machine, site, settings)


def expect_from(
    signatures: SignatureSet,
    surrogate: Surrogate,
    machine: str,
    site: Mapping[str, str] | None = None,
    settings: Mapping[str, str] | None = None,
    known: Mapping[str, str] | None = None,
) -> Expectations:
    """As `expect`, from signatures that are held. ``known`` is what its own plate or a measurement says of
    this very machine, by ``part.field``; ``machine`` is only how it is called."""
    case = _case(machine, signatures, site or {}, settings or {}, known or {})
    return Expectations(
        machine=machine,
        title=signatures.title,
        readings=expected_readings(signatures, surrogate, case.known),
        known=dict(case.known),
        unused=_unused(machine, signatures, site or {}),
        checks=[_check(check) for check in signatures.checks if check.readings],
        site=[_given_site(key, text) for key, text in (site or {}).items()],
        settings=[_given_setting(name, value) for name, value in case.known.items() if _is_setting(name)],
        open=_open(signatures, case.known),
        draws=signatures.known.shape[0],
    )


@dataclass(frozen=True)
class Narrowed:
    """What was said, as predictions know it, and what of it counts."""

    known: dict[str, float]
    unused: list[str]
    """What was given and changes no prediction."""
    open: list[str]
    """What would narrow the ranges, but was not said."""


def narrowed(
    signatures: SignatureSet,
    machine: str,
    site: Mapping[str, str],
    settings: Mapping[str, str],
    known: Mapping[str, str],
) -> Narrowed:
    """What was said of a machine, read; `InputError` for what cannot be used."""
    case = _case(machine, signatures, site, settings, known)
    return Narrowed(dict(case.known), _unused(machine, signatures, site), _open(signatures, case.known))


def expected_readings(
    signatures: SignatureSet, surrogate: Surrogate, known: Mapping[str, float]
) -> list[Expected]:
    """What each reading of every check shows on a sound machine of which so much is ``known``."""
    prediction = predict(signatures, surrogate, known, 0.0)
    checks = {check.id: check.title for check in signatures.checks}
    reasons = {reading.id: reading.why for check in all_checks() for reading in check.readings}
    return [
        _expected(r, info, checks[info.check], reasons.get(info.id, ""), signatures, surrogate, prediction)
        for r, info in enumerate(signatures.readings)
        if info.check in checks
    ]


def _check(check: CheckInfo) -> ExpectedCheck:
    return ExpectedCheck(
        check=check.id,
        title=check.title,
        why=check.why,
        steps=list(check.steps),
        tools=list(check.tools),
        minutes=check.minutes,
        wait_minutes=check.wait_minutes,
        needs=check.needs,
        leaves=check.leaves,
        lid=check.lid,
        hazards=list(check.hazards),
        cautions=list(check.cautions),
    )


_SITE_WORDS = {
    "mains_V": "mains",
    "mains_Hz": "mains frequency",
    "altitude_m": "altitude",
    "room_degC": "room",
    "feed_bar": "feed water pressure",
    "feed_degC": "feed water",
    "conductivity_uS_per_cm": "conductivity of the water",
}
_OF_SITE = {f"site.{field}": key for key, (field, *_) in KEYS.items()}


def _given_site(key: str, text: str) -> Given:
    return Given(_SITE_WORDS[key], float(str(plain_scalar(text))), split_suffix(key)[1])


def _is_setting(name: str) -> bool:
    return name.startswith("setting.")


def _given_setting(name: str, value: float) -> Given:
    return Given(_in_words(name), value, split_suffix(name.partition(".")[2])[1])


def _in_words(name: str) -> str:
    """``boiler pressure`` of ``setting.boiler_pressure_bar``, ``boiler volume`` of ``boiler.volume_l``."""
    if name in _OF_SITE:
        return _SITE_WORDS[_OF_SITE[name]]
    of, _, field = name.removeprefix("setting.").rpartition(".")
    return f"{of} {split_suffix(field)[0]}".replace("_", " ").strip()


def _signatures(machine: str, progress: Progress | None) -> tuple[SignatureSet, Surrogate]:
    key = key_of(machine)
    for name in (key, f"{key}-sound"):
        kept = load_best(name)
        if kept is not None and kept[0].known.shape[0] >= DRAWS:
            return kept
    with builder(machine, key, progress, sound_only=True) as build:
        return load_with_surrogate(build(DRAWS))


def _case(
    machine: str,
    signatures: SignatureSet,
    site: Mapping[str, str],
    settings: Mapping[str, str],
    known: Mapping[str, str] | None = None,
) -> Case:
    told = (("site", site), ("settings", settings), ("known", known))
    given = {name: values for name, values in told if values}
    options = {"site": "--site", "settings": "--setting", "known": "--known"}
    top = {
        name: Node({key: option_node(option, key, text) for key, text in values.items()}, 0, option)
        for name, values in given.items()
        for option in [options[name]]
    }
    return read_case(Node({"machine": Node(machine, 0), **top}, 0), machine, Vocabulary.of(signatures))


def _unused(machine: str, signatures: SignatureSet, site: Mapping[str, str]) -> list[str]:
    return [key for key, text in site.items() if not _counts(machine, signatures, key, text)]


def _open(signatures: SignatureSet, known: Mapping[str, float]) -> list[str]:
    return [_in_words(name) for name in signatures.known_names if name not in known]


def _counts(machine: str, signatures: SignatureSet, key: str, text: str) -> bool:
    return bool(_case(machine, signatures, {key: text}, {}).known)


def _expected(
    r: int,
    info: ReadingInfo,
    check_title: str,
    why: str,
    signatures: SignatureSet,
    surrogate: Surrogate,
    prediction: Prediction,
) -> Expected:
    sound = signatures.cause_index[NO_FAULT]
    if info.kind == "outcome":
        chance = prediction.chance[sound, :, r, : len(info.outcomes)].mean(axis=0)
        return _of_outcome(info, check_title, why, chance)
    if float(prediction.occurs[sound, :, r].mean()) <= MOSTLY:
        return _of(info, check_title, why, (None, "never", None))
    mean = float(prediction.mean[sound, :, r].mean())
    error = float(reading_variance(np.array([[mean]]), r, signatures.readings, surrogate)[0, 0])
    sd = float(np.sqrt(total_variance(prediction, r)[sound].mean() + error))
    low, typical, high = (float(backward(mean + k * NINETY_PERCENT_SD * sd, info)) for k in (-1.0, 0.0, 1.0))
    if _never_below_zero(info, signatures.number[sound, :, r]):
        low, typical = max(low, 0.0), max(typical, 0.0)
    return _of(info, check_title, why, (low, typical, high))


_ALWAYS_POSITIVE, _MOSTLY_POSITIVE = ("g",), ("bar", "s", "min", "A", "V", "ohm")


def _never_below_zero(info: ReadingInfo, drawn: Floats) -> bool:
    """Whether a sound machine can show nothing below zero: nothing weighs less than nothing.

    A pressure or a time is one that cannot where no drawn machine shows less and most show more; a difference
    of two gauges is zero on all of them, and may be read either way.
    """
    if not np.isfinite(drawn).any() or float(np.nanmin(drawn)) < -info.noise_sd:
        return False
    if info.unit in _ALWAYS_POSITIVE:
        return True
    return info.unit in _MOSTLY_POSITIVE and float(np.nanmedian(drawn)) > 2.0 * info.noise_sd


def _of_outcome(info: ReadingInfo, check_title: str, why: str, chance: Floats) -> Expected:
    chances = {outcome: float(share) for outcome, share in zip(info.outcomes, chance, strict=True)}
    typical = max(chances, key=lambda outcome: chances[outcome])
    return _of(info, check_title, why, (None, typical, None), chances)


def _of(
    info: ReadingInfo,
    check_title: str,
    why: str,
    span: tuple[float | None, float | str | None, float | None],
    chances: dict[str, float] | None = None,
) -> Expected:
    word = info.id.partition(".")[2]
    instrument = info.instrument.replace("_", " ")
    return Expected(
        info.check, word, check_title, info.title, info.unit, *span, chances or {}, instrument, why
    )
