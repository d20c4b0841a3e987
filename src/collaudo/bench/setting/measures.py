"""What formulas of readings cannot say: measures over a whole machine, by the name they have in
``library/effects.yaml``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from collaudo.checks.formula import Scene


@dataclass(frozen=True)
class Measure:
    """A reading of a run that is no formula; used as one."""

    take: Callable[[Scene], float]
    roles: frozenset[str] = frozenset()

    def value(self, scene: Scene) -> float:
        """What it gives on a run."""
        return self.take(scene)


def heat_at_rest_W(scene: Scene) -> float:
    """Mean power [W] of everything that heats, from the moment ``begun`` to ``ended``.

    A contact that opens ends the power at once: what is recorded at a step holds until the next one.
    """
    begun, ended = scene.marks["begun"], scene.marks["ended"]
    time_s = scene.results.time_s
    total = np.zeros(time_s.size)
    for heater in scene.run.assembly.names.heaters:
        total += scene.results.series(f"power {heater}").values
    lasts_s = np.clip(np.append(time_s[1:], ended), begun, ended) - np.clip(time_s, begun, ended)
    return float(np.sum(total * lasts_s) / (ended - begun))


MEASURES: Mapping[str, Measure] = {"heat_at_rest_W": Measure(heat_at_rest_W)}
