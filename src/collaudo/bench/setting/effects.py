"""What settings and site do to a sound machine's readings, run on the twin itself: from cold to hot at rest,
and from there every trial of ``library/effects.yaml``.

There is no shortcut and no surrogate here: the twin takes some hundredths of a second to heat a machine up
for an hour and a half, so that what is shown is what it would show that had been set so and switched on cold.
"""

from __future__ import annotations

import hashlib
import math
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING

from collaudo.bench.machines.handle import Machine
from collaudo.bench.setting.trials import Trial, TrialReading, trials_of
from collaudo.diagnosis.cache import machine_bytes
from collaudo.errors import RunError, unknown_name
from collaudo.machine.site import site_from
from collaudo.parts.circuit import Site
from collaudo.quantities.digits import digits_of

if TYPE_CHECKING:
    from collaudo.twin.run import Run

KEPT_RUNS = 256
"""Readings of machines as set that are kept: a slider comes back to where it was."""


@dataclass(frozen=True)
class Effect:
    """One reading as the machine is set now, and as it came."""

    reading: str
    trial: str
    title: str
    unit: str
    value: float | None
    """None: it does not come about (a shot that never gives its weight)."""
    before: float | None
    change: float | None
    """``value`` less ``before``, in ``change_unit``; None where there is one of them only."""
    change_unit: str
    wanted_low: float | None
    wanted_high: float | None
    """What the trade wants a sound machine to show (common practice); None: nothing in particular."""
    lies: str
    """``within``, ``below`` or ``above`` that range; ``never``: does not come about; empty: no range."""


@dataclass(frozen=True)
class Link:
    """One consequence in a chain: ``steam boiler`` ``1.5`` ``K`` ``hotter``."""

    what: str
    amount: float
    unit: str
    word: str


@dataclass(frozen=True)
class TrialTitle:
    """One trial, in the order they are made."""

    trial: str
    title: str


@dataclass(frozen=True)
class Effects:
    """Everything a changed setting shows at."""

    machine: str
    trials: list[TrialTitle]
    effects: list[Effect]
    chain: list[Link]
    """What follows from the change, one thing after the other; empty where nothing was changed."""


@dataclass(frozen=True)
class Prepared:
    """A machine whose settings are turned: itself, its parts by role, what is tried on it."""

    machine: Machine
    bound: Mapping[str, str]
    trials: tuple[Trial, ...]


Values = dict[str, float | None]


def prepared(place: str) -> Prepared:
    """The machine of the library called ``place``, or of the file there; kept while the file is the same."""
    return _prepared(place, hashlib.sha256(machine_bytes(place)).hexdigest())


@lru_cache(maxsize=32)
def _prepared(place: str, content: str) -> Prepared:
    del content  # the key only
    machine = Machine.named(place)
    return Prepared(machine, *trials_of(machine.model))


def effects(
    made: Prepared, site: Mapping[str, str] | None = None, settings: Mapping[str, float | str] | None = None
) -> Effects:
    """Readings of a machine at a ``site`` and with ``settings``, against the same machine as it came, where
    such machines stand.

    Settings are by name, in their own unit or as a text with one. `InputError` for what cannot be, such as a
    working pressure too near the safety valve; `RunError` where the twin cannot go on.
    """
    machine, trials = made.machine, made.trials
    _refuse_unknown(machine, settings or {})
    changed = machine.with_values(dict(settings)) if settings else machine
    place = site_from(site or {}, machine.model)
    before = _values(made, machine, site_from({}, machine.model))
    now = _values(made, changed, place)
    found = [
        _effect(trial, reading, now[reading.id], before[reading.id])
        for trial in trials
        for reading in trial.readings
    ]
    titles = [TrialTitle(trial.id, trial.title) for trial in trials]
    return Effects(machine.id, titles, found, _chain(trials, {one.reading: one for one in found}))


def _refuse_unknown(machine: Machine, settings: Mapping[str, object]) -> None:
    """Only the machine's own settings are turned here, never another value: a safety device has none."""
    for name in settings:
        if name not in machine.settings:
            raise unknown_name(f"setting of {machine.id}", name[:60], machine.settings)


# --- running --------------------------------------------------------------------------------------------

_kept: OrderedDict[str, Values] = OrderedDict()
_keeping = Lock()


def _values(made: Prepared, machine: Machine, site: Site) -> Values:
    """Every reading by id; kept, for the machine as it came is asked for with every move of a slider."""
    model = machine.model
    key = repr((model.parts, model.lines, model.wires, site))
    with _keeping:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    values = _run_all(made, machine, site)
    with _keeping:
        _kept[key] = values
        while len(_kept) > KEPT_RUNS:
            _kept.popitem(last=False)
    return values


def _run_all(made: Prepared, machine: Machine, site: Site) -> Values:
    """Heat the machine up, then make every trial from there."""
    # Only now, for loading the compiled twin takes longer than refusing a wrong setting.
    from collaudo.twin.run import Run

    first, *others = made.trials
    run = Run.of(machine.model, site)
    values = _made(run, first, made.bound)
    for part in run.machine.parts.values():
        if part.kind == "tank":
            run.fill_up(part.name)
    run.frames, run.events = [], []
    hot = run.save()
    for trial in others:
        run.restore(hot)
        try:
            values |= _made(run, trial, made.bound)
        except RunError:
            values |= dict.fromkeys((reading.id for reading in trial.readings), None)
    return values


def _made(run: Run, trial: Trial, bound: Mapping[str, str]) -> Values:
    """Readings of one trial, made from where the run stands."""
    from collaudo.checks.formula import Scene
    from collaudo.twin.operations import perform

    marks = {"start": run.time_s}
    run.advance(1e-3)  # what a reading is taken of must be on record, even if nothing happens
    perform(run, trial.operations, None, marks)
    marks["end"] = run.time_s
    scene = Scene(run, marks, bound)
    return {reading.id: _finite(reading.formula.value(scene)) for reading in trial.readings}


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


# --- telling --------------------------------------------------------------------------------------------


def _effect(trial: Trial, reading: TrialReading, value: float | None, before: float | None) -> Effect:
    change = None if value is None or before is None else value - before
    wanted = reading.wanted
    return Effect(
        reading.id,
        trial.id,
        reading.title,
        reading.unit,
        value,
        before,
        change,
        "K" if reading.unit == "degC" else reading.unit,
        wanted.low if wanted else None,
        wanted.high if wanted else None,
        _lies(reading, value),
    )


def _lies(reading: TrialReading, value: float | None) -> str:
    if reading.wanted is None:
        return ""
    if value is None:
        return "never"
    low, high = reading.wanted.low, reading.wanted.high
    shown = round(value, digits_of(value, reading.unit))  # "40 g, below 40 g" would puzzle
    if low is not None and shown < low:
        return "below"
    return "above" if high is not None and shown > high else "within"


LEAST_CHANGE: Mapping[str, float] = {
    "bar": 0.02,
    "K": 0.2,
    "g": 0.5,
    "s": 1.0,
    "min": 0.3,
    "A": 0.1,
    "W": 20.0,
    "g_per_s": 0.05,
}
"""What a technician would notice, by unit; smaller changes are no consequence worth naming."""


LONGEST_CHAIN = 7
"""More is no sentence; the table holds all."""


def _chain(trials: Sequence[Trial], found: Mapping[str, Effect]) -> list[Link]:
    """The consequences most easily noticed, in the order in which they come about."""
    links: list[tuple[float, Link]] = []
    for reading in (reading for trial in trials for reading in trial.readings):
        effect = found[reading.id]
        if not reading.link or effect.change is None:
            continue
        size = abs(effect.change) / LEAST_CHANGE.get(effect.change_unit, 1.0)
        if size >= 1.0:
            word = reading.more if effect.change > 0.0 else reading.less
            links.append((size, Link(reading.link, abs(effect.change), effect.change_unit, word)))
    least = sorted((size for size, _ in links), reverse=True)[:LONGEST_CHAIN][-1:] or [0.0]
    return [link for size, link in links if size >= least[0]]
