"""An invented bench for testing the statistics of diagnosis: smooth effects, known truth.

Every reading is a sum, in the space where it adds, of what a sound machine shows, the effect of the cause
(a smooth curve in severity), straight effects of two known and two hidden machine values, and scatter.
Nothing here is meant as physics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collaudo.diagnosis.noise import Finding
from collaudo.diagnosis.signature_set import NO_FAULT, CauseInfo, CheckInfo, ReadingInfo, SignatureSet

KNOWN = ("mains_V", "altitude_m")
_NUMBERS = (
    # id, instrument, scale, bias, noise, relative, sound (transformed), scatter
    ("gauge.idle", "gauge", "identity", 0.04, 0.02, False, 1.1, 0.05),
    ("gauge.brew", "gauge", "identity", 0.04, 0.15, False, 9.0, 0.4),
    ("flow.free", "scale", "log", 0.01, 0.03, True, np.log(110.0), 0.10),
    ("flow.return", "scale", "log", 0.01, 0.05, True, np.log(38.0), 0.15),
    ("heat.group", "thermometer", "identity", 0.8, 0.4, False, 92.0, 1.5),
    ("heat.steam", "thermometer", "identity", 0.8, 0.6, False, 122.0, 1.0),
    ("watch.recovery", "stopwatch", "log", 0.0, 0.05, True, np.log(26.0), 0.15),
    ("meter.power", "meter", "log", 0.02, 0.01, True, np.log(1400.0), 0.05),
)
_CAUSES = (
    # id, part, per 1000, repair, minutes, parts, {reading: effect at full severity}, chance of "wet"
    (NO_FAULT, "machine", 60, "explain", 5, 0, {}, 0.03),
    (
        "setting-low",
        "pressure-switch",
        60,
        "adjust",
        10,
        0,
        {"gauge.idle": -0.4, "heat.group": -5.0, "heat.steam": -7.0},
        0.03,
    ),
    (
        "pump-worn",
        "pump",
        70,
        "replace-pump",
        35,
        45,
        {"gauge.brew": -4.0, "flow.free": -0.9, "flow.return": -1.8},
        0.03,
    ),
    ("relief-weak", "relief", 40, "replace-relief", 20, 15, {"gauge.brew": -4.0, "flow.return": 0.8}, 0.05),
    (
        "jet-scaled",
        "jet",
        60,
        "descale",
        60,
        5,
        {"flow.free": -1.4, "heat.group": -4.0, "gauge.brew": 0.5},
        0.03,
    ),
    (
        "element-weak",
        "element",
        30,
        "replace-element",
        50,
        60,
        {"watch.recovery": 0.9, "meter.power": -0.5},
        0.03,
    ),
    (
        "vacuum-valve",
        "vacuum-valve",
        70,
        "replace-vacuum",
        15,
        12,
        {"gauge.idle": -0.3, "watch.recovery": 0.3},
        0.85,
    ),
    ("seal-worn", "lever", 60, "replace-seal", 30, 8, {"gauge.brew": -1.5, "flow.return": -0.4}, 0.7),
)
OUTCOME = ReadingInfo("look.valve", "look", "Under the valve", kind="outcome", outcomes=("dry", "wet"))
_MINUTES = {"gauge": 3.0, "flow": 2.0, "heat": 6.0, "watch": 5.0, "meter": 4.0, "look": 1.0}


@dataclass(frozen=True)
class Machine:
    """One machine with its known and hidden values (standardised) and the scatter of its readings."""

    known: np.ndarray
    hidden: np.ndarray
    scatter: np.ndarray

    @classmethod
    def draw(cls, random: np.random.Generator) -> Machine:
        return cls(
            random.standard_normal(2), random.standard_normal(2), random.standard_normal(len(_NUMBERS))
        )

    @property
    def known_values(self) -> dict[str, float]:
        return {"mains_V": 230.0 + 6.0 * self.known[0], "altitude_m": 300.0 + 200.0 * self.known[1]}


_EFFECT_OF_KNOWN = np.random.default_rng(1).standard_normal((2, len(_NUMBERS)))
_EFFECT_OF_HIDDEN = np.random.default_rng(2).standard_normal((2, len(_NUMBERS)))
_SOUND = np.array([row[6] for row in _NUMBERS])
_SCATTER = np.array([row[7] for row in _NUMBERS])
_FULL_EFFECT = np.array([[cause[6].get(row[0], 0.0) for row in _NUMBERS] for cause in _CAUSES])


def effect(cause: int, severity: float) -> np.ndarray:
    """Effect of a cause on every number, in the space where it adds: steep at first, then levelling."""
    return _FULL_EFFECT[cause] * (0.15 + 0.85 * (1.0 - np.exp(-2.0 * severity)) / (1.0 - np.exp(-2.0)))


def numbers_of(machine: Machine, effects: np.ndarray) -> np.ndarray:
    """Raw numbers of a machine under the given effects."""
    own = (
        0.6 * machine.scatter
        + 0.5 * machine.hidden @ _EFFECT_OF_HIDDEN
        + 0.7 * machine.known @ _EFFECT_OF_KNOWN
    )
    added = _SOUND + effects + _SCATTER * own
    logarithmic = np.array([row[2] == "log" for row in _NUMBERS])
    return np.where(logarithmic, np.exp(np.where(logarithmic, added, 0.0)), added)


def readings() -> tuple[ReadingInfo, ...]:
    numbers = [
        ReadingInfo(
            name, name.split(".")[0], name, scale=scale, instrument=instrument,
            bias_sd=bias, noise_sd=noise, relative=relative,
        )
        for name, instrument, scale, bias, noise, relative, _, _ in _NUMBERS
    ]  # fmt: skip
    return (*numbers, OUTCOME)


def checks() -> tuple[CheckInfo, ...]:
    every = readings()
    return tuple(
        CheckInfo(name, name, minutes, readings=tuple(r.id for r in every if r.check == name))
        for name, minutes in _MINUTES.items()
    )


def invented_set(machines: int = 64) -> SignatureSet:
    """Signatures of eight causes on the same machines, severities stratified."""
    random = np.random.default_rng(5)
    drawn = [Machine.draw(random) for _ in range(machines)]
    severity = np.stack(
        [(random.permutation(machines) + random.random(machines)) / machines for _ in _CAUSES]
    )
    number = np.full((len(_CAUSES), machines, len(_NUMBERS) + 1), np.nan)
    outcome = np.full(number.shape, -1, dtype=np.int8)
    for c in range(len(_CAUSES)):
        for d, machine in enumerate(drawn):
            other = Machine(machine.known, machine.hidden, random.standard_normal(len(_NUMBERS)))
            number[c, d, :-1] = numbers_of(other, effect(c, severity[c, d]))
            outcome[c, d, -1] = random.random() < _CAUSES[c][7]
    return SignatureSet(
        causes=tuple(CauseInfo(c[0], c[1], c[0], c[2], c[3], c[4], c[5]) for c in _CAUSES),
        readings=readings(),
        checks=checks(),
        known_names=KNOWN,
        severity=severity,
        known=np.array([[m.known_values[name] for name in KNOWN] for m in drawn]),
        number=number,
        outcome=outcome,
    )


@dataclass(frozen=True)
class Case:
    """One job: what was found, and the positions of the causes truly at fault."""

    findings: tuple[Finding, ...]
    known: dict[str, float]
    truth: tuple[int, ...]


def draw_case(random: np.random.Generator, pair_share: float = 0.125, misread_chance: float = 0.02) -> Case:
    """An unseen job: cause by frequency, sometimes two, with shared bias, noise and misreads."""
    frequency = np.array([cause[2] for cause in _CAUSES], dtype=float)
    truth = [int(random.choice(len(_CAUSES), p=frequency / frequency.sum()))]
    if truth[0] != 0 and random.random() < pair_share:
        others = frequency * (np.arange(len(_CAUSES)) != truth[0]) * (np.arange(len(_CAUSES)) != 0)
        truth.append(int(random.choice(len(_CAUSES), p=others / others.sum())))
    machine = Machine.draw(random)
    raw = numbers_of(machine, np.sum([effect(c, random.random()) for c in truth], axis=0))
    found = list(_measure(raw, random, misread_chance))
    wet = 1.0 - np.prod([1.0 - _CAUSES[c][7] for c in truth])
    found.append(Finding(OUTCOME.id, "wet" if random.random() < wet else "dry"))
    kept = sorted(random.choice(len(found), size=int(random.integers(6, len(found) + 1)), replace=False))
    return Case(tuple(found[i] for i in kept), machine.known_values, tuple(truth))


def _measure(raw: np.ndarray, random: np.random.Generator, misread_chance: float) -> Sequence[Finding]:
    bias = {row[1]: random.standard_normal() for row in _NUMBERS}
    found = []
    for value, (name, instrument, _, bias_sd, noise_sd, relative, sound, _) in zip(
        raw, _NUMBERS, strict=True
    ):
        unit = abs(value) if relative else 1.0
        reading = value + unit * (bias[instrument] * bias_sd + random.standard_normal() * noise_sd)
        if random.random() < misread_chance:
            reading = (
                value * random.uniform(0.4, 2.5) if relative else value + sound * random.uniform(-0.6, 0.6)
            )
        found.append(Finding(name, float(reading)))
    return found
