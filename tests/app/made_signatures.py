"""Signatures made up around one run of the twin: the real words of a machine, invented effects.

No draw of them is run, so that tests of the faces are quick. What the causes do to the readings here is as a
technician would expect it of a few of them; of all others nothing is seen but their complaint.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np

from collaudo.checks.course import Taken, take_all
from collaudo.diagnosis.building import Setup, assemble_set, drawn_machines, setup_of, severities
from collaudo.diagnosis.cache import DRAWS, key_of, set_file
from collaudo.diagnosis.surrogate import fit_surrogate, save_with_surrogate
from collaudo.parts.circuit import Site

MACHINE = "hx-vibration"
SCATTER = 0.04
"""Of every number, as a share."""

Effect = Callable[[float, float], float | str | None]
"""From severity 0 to 1 and what a sound machine shows to what is shown."""
_EFFECTS: Mapping[str, Mapping[str, Effect]] = {
    "brew-jet-blocked": {
        "free-flow.water": lambda s, sound: sound * (0.75 - 0.65 * s),
        "free-flow.brew_gauge": lambda s, _: 7.5 + 2.0 * s,
        "screen-off.water": lambda s, sound: sound * (0.75 - 0.65 * s),
        "flush.water": lambda s, sound: sound * (0.75 - 0.65 * s),
    },
    "screen-blocked": {
        "free-flow.water": lambda s, sound: sound * (0.8 - 0.5 * s),
        "free-flow.brew_gauge": lambda s, _: 7.0 + 2.3 * s,
        "flush.water": lambda s, sound: sound * (0.8 - 0.5 * s),
    },
    "vibration-pump-worn": {
        "free-flow.water": lambda s, sound: sound * (0.85 - 0.5 * s),
        "blind-disc.brew_gauge": lambda s, sound: sound * (0.9 - 0.5 * s),
        "blind-disc.relief_return": lambda s, sound: sound * (0.4 - 0.4 * s),
    },
    "vacuum-valve-open": {
        "warm-up.vacuum_valve_shuts": lambda *_: None,
        "heating-cycle.vacuum_valve": lambda s, _: "blows" if s > 0.3 else "wisps",
        "heating-cycle.off_time": lambda s, sound: sound * (0.5 - 0.35 * s),
    },
    "boiler-pressure-set-low": {
        "warm-up.steam_gauge_top": lambda s, sound: sound - 0.18 - 0.4 * s,
        "heating-cycle.gauge_off": lambda s, sound: sound - 0.18 - 0.4 * s,
    },
}
_OF_KNOWN: Mapping[str, tuple[str, float]] = {
    "warm-up.steam_gauge_top": ("setting.boiler_pressure_bar", 1.0),
    "heating-cycle.gauge_off": ("setting.boiler_pressure_bar", 1.0),
    "mains.voltage": ("site.mains_V", 1.0),
}
"""Reading -> a known value, and by how much it moves with it."""


def make_signatures(machine: str = MACHINE, draws: int = DRAWS) -> Path:
    """Make the set of a machine up and keep it where it is looked for."""
    setup = setup_of(machine)
    sound = take_all(setup.course, setup.machine, Site(), rtol=1e-3)
    known = [dict(drawn.known) for drawn in drawn_machines(setup, draws)]
    middle = {name: float(np.mean([of[name] for of in known])) for name in known[0]}
    random = np.random.default_rng(17)
    rows_of = [_rows(setup, sound, number, known[number], middle, random) for number in range(draws)]
    signatures = assemble_set(setup, rows_of)
    file = set_file(key_of(machine), draws)
    file.parent.mkdir(parents=True, exist_ok=True)
    save_with_surrogate(file, signatures, fit_surrogate(signatures))
    return file


def _rows(
    setup: Setup,
    sound: Taken,
    number: int,
    known: Mapping[str, float],
    middle: Mapping[str, float],
    random: np.random.Generator,
) -> list[Taken]:
    scattered: Taken = {}
    for reading, value in sound.items():
        if isinstance(value, float):
            name, share = _OF_KNOWN.get(reading, ("", 0.0))
            moved = share * (known[name] - middle[name]) if name else 0.0
            own = random.standard_normal() * (0.01 if name else SCATTER)
            scattered[reading] = value * (1.0 + own) + moved
        else:
            scattered[reading] = value
    rows = []
    for cause in setup.causes:
        severity = severities(cause, number + 1)[number]
        row = dict(scattered)
        for reading, effect in _EFFECTS.get(cause.id, {}).items():
            value = row[reading]
            row[reading] = effect(severity, value if isinstance(value, float) else 0.0)
        rows.append(row)
    return rows
