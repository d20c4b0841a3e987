"""Unseen cases to judge the ranking by: other machines, another model, readings as a bench would give them.

The machines are drawn anew, computed with twice the cells and with laws of another form (a straighter pump
curve, a thicker jet, more lag, less mixing), so that what is judged is not the twin's own opinion of itself.
The readings then get one bias for each instrument, noise of their own, and now and then a misread value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from collaudo.causes.cause import Cause
from collaudo.causes.draws import draw_machines
from collaudo.causes.faults import put_in
from collaudo.checks.check import Reading
from collaudo.checks.course import Taken, take_all
from collaudo.diagnosis.building import Setup
from collaudo.diagnosis.noise import Finding
from collaudo.diagnosis.signature_set import NO_FAULT, CauseInfo
from collaudo.machine.model import Machine
from collaudo.machine.site import home_site
from collaudo.parts.part import declared_fields

CASE_SEED = 7_000_000
LEAST_SEVERITY = 0.3
"""A milder fault would bring no customer."""
MISREAD_SHARE = 0.02
CELL_FACTOR = 2

# Field of a kind of part: factor on it, or a number to add, in the other model.
_OTHER_MODEL: Mapping[str, tuple[str, float]] = {
    "vibration_pump.bend_share": ("plus", -0.08),
    "vane_pump.slip_share": ("times", 1.6),
    "brew_jet.length_mm": ("times", 1.8),
    "pressure_switch.lag_s": ("times", 1.8),
    "boiler.mixing_W_per_K": ("times", 0.75),
    "exchanger.stirring_W_per_K": ("times", 1.15),
    "relief_valve.slope_g_per_s_per_bar": ("times", 0.85),
}


@dataclass(frozen=True)
class Unseen:
    """One case: what was wrong, what is known of the machine, and the readings without error."""

    cause: str
    severity: float
    known: Mapping[str, float]
    taken: Taken


def other_model(machine: Machine) -> Machine:
    """The same machine by laws of another form."""
    changes: dict[str, float | str] = {}
    for part in machine.parts.values():
        for name, field in declared_fields(type(part)).items():
            way, amount = _OTHER_MODEL.get(f"{part.kind}.{name}", ("", 0.0))
            if not way:
                continue
            value = float(getattr(part, name))
            moved = value * amount if way == "times" else value + amount
            changes[f"{part.name}.{name}"] = min(max(moved, field["low"]), field["high"])
    return machine.with_fields(changes)


def chosen_cause(causes: Sequence[Cause], number: int, by_frequency: bool) -> tuple[Cause, float]:
    """Cause and severity of case ``number``: by how common causes are, or each as often as any."""
    random = np.random.default_rng([CASE_SEED, number, int(by_frequency)])
    frequency = np.array([cause.per_1000 if by_frequency else 1.0 for cause in causes])
    cause = causes[int(random.choice(len(causes), p=frequency / frequency.sum()))]
    return cause, float(random.uniform(LEAST_SEVERITY, 1.0))


def make_case(setup: Setup, number: int, by_frequency: bool, rtol: float) -> Unseen:
    """Case ``number`` on the twin."""
    cause, severity = chosen_cause(setup.causes, number, by_frequency)
    site = home_site(setup.machine)
    drawn = draw_machines(setup.machine, site, setup.course.bound, 1, CASE_SEED + number)[0]
    faulty = put_in(cause, severity, other_model(drawn.machine), drawn.site, setup.course.bound)
    taken = take_all(
        setup.course, faulty.machine, faulty.site, faulty.held, rtol=rtol, cell_factor=CELL_FACTOR
    )
    return Unseen(cause.id, severity, drawn.known, taken)


def bench_findings(
    case: Unseen,
    readings: Sequence[Reading],
    causes: Mapping[str, CauseInfo],
    others: Sequence[Unseen],
    seed: int,
) -> list[Finding]:
    """What a technician would have written down: biases, noise, misreads, and what physics does not give.

    A misread number is what another machine showed; a misread outcome is any other of its words.
    """
    random = np.random.default_rng([seed, 1])
    bias = {
        name: float(random.standard_normal()) for name in sorted({reading.instrument for reading in readings})
    }
    findings = []
    for reading in readings:
        wrong = random.random() < MISREAD_SHARE
        deviates = float(random.standard_normal())
        if reading.by_chance:
            word = _by_chance(reading, causes, case.cause, random)
            findings.append(Finding(reading.id, _misread(word, reading, random) if wrong else word))
            continue
        value = case.taken.get(reading.id)
        if isinstance(value, str):
            findings.append(Finding(reading.id, _misread(value, reading, random) if wrong else value))
        elif value is None:
            findings.append(Finding(reading.id, None))
        else:
            other = others[int(random.integers(len(others)))].taken.get(reading.id)
            value = other if wrong and isinstance(other, float) else value
            scale = abs(value) if reading.relative else 1.0
            error = bias[reading.instrument] * reading.bias + deviates * reading.noise
            findings.append(Finding(reading.id, value + scale * error))
    return findings


def _by_chance(
    reading: Reading, causes: Mapping[str, CauseInfo], cause: str, random: np.random.Generator
) -> str:
    words = [outcome.name for outcome in reading.outcomes]
    table = causes[cause].seen.get(reading.id) or causes[NO_FAULT].seen[reading.id]
    rest = max(0.0, 1.0 - sum(table.values())) / max(1, len(words) - len(table))
    chance = np.array([table.get(word, rest) for word in words])
    return words[int(random.choice(len(words), p=chance / chance.sum()))]


def _misread(word: str, reading: Reading, random: np.random.Generator) -> str:
    others = [outcome.name for outcome in reading.outcomes if outcome.name != word]
    return others[int(random.integers(len(others)))]
