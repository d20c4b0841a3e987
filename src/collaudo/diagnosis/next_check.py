"""What to do next: the check, or the repair, that brings the repaired machine nearest.

Without further checks the cost of a repaired machine is that of trying repairs in order of chance over
cost. A check is worth what it lowers that cost by, on average over the findings it may give, less its
own minutes, those of bringing the machine into the condition it needs, and a share of the waiting.
Where no check is worth its time, the first repair is the next thing to do.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np

from collaudo.diagnosis.foresight import Foresight, foresee, look_ahead
from collaudo.diagnosis.noise import Finding, NoiseSettings
from collaudo.diagnosis.ranking import Ranking
from collaudo.diagnosis.signature_set import CheckInfo, Floats, Heat, Lid, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.troubleshooting import cost_in_order, repair_order

MOVE_MINUTES: Mapping[tuple[str, str], float] = MappingProxyType(
    {
        ("cold", "warm"): 12.0,
        ("cold", "hot"): 30.0,
        ("warm", "hot"): 18.0,
        ("hot", "warm"): 40.0,
        ("warm", "cold"): 50.0,
        ("hot", "cold"): 90.0,
    }
)
"""Minutes of waiting from one condition to another; common practice, no source."""


@dataclass(frozen=True)
class Condition:
    """The condition the machine is in now."""

    heat: Heat = "cold"
    lid: Lid = "on"


@dataclass(frozen=True)
class Costs:
    """What things cost, in minutes of a technician."""

    waiting_weight: float = 0.3
    """Worth of a minute of unattended waiting, in minutes at work."""
    move_minutes: Mapping[tuple[str, str], float] = field(default_factory=lambda: MOVE_MINUTES)
    lid_minutes: float = 3.0
    """Taking the lid off or putting it on."""
    eur_per_minute: float = 1.0
    """What a minute at work costs; turns the price of parts into minutes."""
    retest_minutes: float = 5.0
    """Seeing whether a repair has cured the machine."""
    comeback_minutes: Mapping[str, float] = field(default_factory=lambda: {"explain": 60.0})
    """Repair id -> minutes lost when it was the wrong one and only the owner finds out."""


@dataclass(frozen=True)
class NextCheckSettings:
    """How far ahead is looked."""

    noise: NoiseSettings = field(default_factory=NoiseSettings)
    prune_below: float = 0.005
    """Causes less likely than this are left out of the look ahead."""
    draws: int = 192
    """Imagined findings of each check."""
    random_seed: int = 20


@dataclass(frozen=True)
class NextCheck:
    """One thing that can be done next."""

    kind: Literal["check", "repair"]
    id: str
    """Id of the check, or of the repair to be made now."""
    minutes: float
    """At work."""
    wait_minutes: float
    """Unattended."""
    expected_saving_min: float
    """By how much it lowers the expected cost of a repaired machine, its own cost paid; 0 for the repair."""
    information_bit: float = 0.0
    """By how much it is expected to narrow down the cause."""


def next_checks(
    signatures: SignatureSet,
    surrogate: Surrogate,
    ranking: Ranking,
    findings: Sequence[Finding],
    condition: Condition | None = None,
    costs: Costs | None = None,
    settings: NextCheckSettings | None = None,
    unreadable: Collection[str] = (),
) -> list[NextCheck]:
    """Everything worth considering next, best first: the open checks, and the repair that comes first now.

    A check is open while one of its readings is missing or doubted; ``unreadable`` are readings that cannot
    be taken on this machine: nothing is expected of them.
    """
    condition, costs, settings = condition or Condition(), costs or Costs(), settings or NextCheckSettings()
    foresight = foresee(
        signatures,
        surrogate,
        ranking,
        settings.noise,
        settings.prune_below,
        settings.draws,
        settings.random_seed,
    )
    trying = _Repairs.of(signatures, foresight, costs)
    steps = [trying.first()]
    for check in signatures.checks:
        if readings := open_readings(signatures, check, findings, unreadable):
            steps.append(_judge(check, readings, foresight, trying, condition, costs))
    return sorted(steps, key=lambda step: -step.expected_saving_min)


def open_readings(
    signatures: SignatureSet, check: CheckInfo, findings: Sequence[Finding], unreadable: Collection[str] = ()
) -> list[int]:
    """Positions of the readings of a check that have not been taken, or only with doubt, and can be."""
    settled = {finding.reading for finding in findings if not finding.doubted}.union(unreadable)
    return [signatures.find_reading(name) for name in check.readings if name not in settled]


def check_cost(check: CheckInfo, condition: Condition, costs: Costs) -> tuple[float, float]:
    """Minutes at work and minutes of waiting that a check takes from the condition now."""
    at_work, waiting = check.minutes, check.wait_minutes
    if check.needs not in ("any", condition.heat) and condition.heat != "any":
        waiting += costs.move_minutes[condition.heat, check.needs]
    if check.lid not in ("any", condition.lid):
        at_work += costs.lid_minutes
    return at_work, waiting


@dataclass(frozen=True, eq=False)
class _Repairs:
    """The repairs open to the remaining causes."""

    ids: tuple[str, ...]
    minutes: Floats
    cost: Floats
    cost_if_wrong: Floats
    member: Floats
    """``[c, k]``: 1 where repair ``k`` cures cause ``c`` of the foresight"""
    chance: Floats
    """``[k]`` now"""

    @classmethod
    def of(cls, signatures: SignatureSet, foresight: Foresight, costs: Costs) -> _Repairs:
        causes = [signatures.causes[c] for c in foresight.cause]
        ids = tuple(dict.fromkeys(cause.repair for cause in causes))
        member = np.array([[float(cause.repair == name) for name in ids] for cause in causes])
        # Causes that share a repair may differ in parts and minutes: their likely mean counts.
        share = foresight.probability[:, None] * member
        share = share / share.sum(axis=0)
        minutes = share.T @ np.array([cause.repair_minutes for cause in causes])
        parts = share.T @ np.array([cause.parts_cost_eur for cause in causes])
        wrong = np.array([costs.comeback_minutes.get(name, 0.0) for name in ids])
        cost = minutes + parts / costs.eur_per_minute + costs.retest_minutes
        return cls(ids, minutes, cost, wrong, member, foresight.probability @ member)

    def saving(self, posterior: Floats, weight: Floats) -> float:
        """Expected gain from reordering the repairs after a finding that leads to ``posterior[n, c]``."""
        chance = posterior @ self.member
        # Both costs at the same imagined findings: never negative, and little left to chance.
        now = repair_order(self.chance, self.cost, self.cost_if_wrong)
        then = repair_order(chance, self.cost, self.cost_if_wrong)
        cost_now, cost_then = (
            cost_in_order(order, chance, self.cost, self.cost_if_wrong) for order in (now, then)
        )
        return float(weight @ (cost_now - cost_then))

    def first(self) -> NextCheck:
        """The repair to make if no further check is worth its time."""
        best = int(repair_order(self.chance, self.cost, self.cost_if_wrong)[0])
        return NextCheck("repair", self.ids[best], float(self.minutes[best]), 0.0, 0.0)


def _judge(
    check: CheckInfo,
    readings: Sequence[int],
    foresight: Foresight,
    trying: _Repairs,
    condition: Condition,
    costs: Costs,
) -> NextCheck:
    posterior, weight = look_ahead(foresight, readings)
    at_work, waiting = check_cost(check, condition, costs)
    saving = trying.saving(posterior, weight) - at_work - costs.waiting_weight * waiting
    surprise = posterior * np.log2(np.maximum(posterior, 1e-300) / foresight.probability)
    return NextCheck("check", check.id, at_work, waiting, saving, float(weight @ surprise.sum(axis=1)))
