"""What the findings of one job say: causes, what speaks for and against them, what to do next."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.bench.judging.case_ranking import LEADING, ranking_of
from collaudo.diagnosis.explanation import ExplainedFinding, PredictedFinding
from collaudo.diagnosis.findings_file import Case
from collaudo.diagnosis.next_check import NextCheck, next_checks
from collaudo.diagnosis.ranking import Ranking
from collaudo.diagnosis.signature_set import CauseInfo, CheckInfo, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import Surrogate
from collaudo.diagnosis.words import ABSENT

CHECKS_SHOWN = 5


@dataclass(frozen=True)
class RankedFault:
    """One cause and its chance."""

    cause: str
    part: str
    title: str
    probability: float
    why: str
    remedy: str
    minutes: float
    cautions: list[str]
    """Of its remedy."""


@dataclass(frozen=True)
class Foreseen:
    """What one leading cause makes of one finding."""

    cause: str
    low: float | None
    """Five of a hundred such machines read lower; None for findings in words."""
    typical: float | None
    high: float | None
    chance: float | None
    """Of a finding in words, or of a reading that did not occur; None for numbers."""
    chances: dict[str, float]
    speaks: str
    support: float
    """Natural log of how much likelier the finding is under this cause than under the others."""


@dataclass(frozen=True)
class Explained:
    """A finding and what the leading causes make of it."""

    check: str
    reading: str
    check_title: str
    title: str
    value: float | str | None
    """None: it did not occur."""
    unit: str
    doubted: bool
    unexplained: bool
    predicted: list[Foreseen]


@dataclass(frozen=True)
class Step:
    """A check that could be made next."""

    check: str
    title: str
    minutes: float
    wait_minutes: float
    """Unattended, bringing the machine into the condition it needs included."""
    expected_saving_min: float
    needs: str
    lid: str
    why: str
    steps: list[str]
    tools: list[str]
    cautions: list[str]


@dataclass(frozen=True)
class Repair:
    """The repair to make if no further check is worth its time."""

    repair: str
    cause: str
    title: str
    part: str
    remedy: str
    minutes: float
    now: bool
    """Whether it is the next thing to do."""
    cautions: list[str]


@dataclass(frozen=True)
class Answer:
    """What the findings of one job say."""

    machine: str
    title: str
    draws: int
    """Drawn machines behind the answer."""
    first: bool
    """Whether it is a first answer, from fewer draws than a whole one."""
    causes: list[RankedFault]
    findings: list[Explained]
    next_checks: list[Step]
    repair: Repair
    unexplained: list[str]
    cautions: list[str]


def answer_of(case: Case, signatures: SignatureSet, surrogate: Surrogate, whole_draws: int) -> Answer:
    """Rank the causes of a case and look for the next check."""
    ranking = ranking_of(case, signatures, surrogate)
    steps = next_checks(signatures, surrogate, ranking, case.findings, case.condition)
    readings = {reading.id: reading for reading in signatures.readings}
    checks = {check.id: check for check in signatures.checks}
    shown = [step for step in steps if step.kind == "check"][:CHECKS_SHOWN]
    draws = signatures.known.shape[0]
    return Answer(
        machine=case.machine,
        title=signatures.title,
        draws=draws,
        first=draws < whole_draws,
        causes=[_fault(item.cause, item.probability) for item in ranking.causes],
        findings=[_explained(finding, readings, checks) for finding in ranking.findings],
        next_checks=[_step(step, checks[step.id]) for step in shown],
        repair=_repair(steps, ranking),
        unexplained=[finding.finding.reading for finding in ranking.unexplained],
        cautions=_cautions(ranking, shown, checks),
    )


def _fault(cause: CauseInfo, probability: float) -> RankedFault:
    return RankedFault(
        cause.id,
        cause.part,
        cause.title,
        probability,
        cause.why,
        cause.remedy,
        cause.repair_minutes,
        list(cause.cautions),
    )


def _explained(
    finding: ExplainedFinding, readings: dict[str, ReadingInfo], checks: dict[str, CheckInfo]
) -> Explained:
    info = readings[finding.finding.reading]
    check = checks.get(info.check)
    return Explained(
        check=info.check,
        reading=info.id.partition(".")[2],
        check_title=check.title if check else "",
        title=info.title,
        value=finding.finding.value,
        unit=info.unit,
        doubted=finding.finding.doubted,
        unexplained=finding.unexplained,
        predicted=[_foreseen(item, finding.finding.value) for item in finding.predicted],
    )


def _foreseen(item: PredictedFinding, value: float | str | None) -> Foreseen:
    chances = dict(item.chances)
    word = ABSENT if value is None else value
    chance = chances.get(word) if isinstance(word, str) else None
    return Foreseen(item.cause, item.low, item.typical, item.high, chance, chances, item.speaks, item.support)


def _step(step: NextCheck, check: CheckInfo) -> Step:
    return Step(
        check.id,
        check.title,
        step.minutes,
        step.wait_minutes,
        step.expected_saving_min,
        check.needs,
        check.lid,
        check.why,
        list(check.steps),
        list(check.tools),
        list(check.cautions),
    )


def _repair(steps: list[NextCheck], ranking: Ranking) -> Repair:
    first = next(step for step in steps if step.kind == "repair")
    cause = next(item.cause for item in ranking.causes if item.cause.repair == first.id)
    return Repair(
        first.id,
        cause.id,
        cause.title,
        cause.part,
        cause.remedy,
        first.minutes,
        steps[0].kind == "repair",
        list(cause.cautions),
    )


def _cautions(ranking: Ranking, shown: list[NextCheck], checks: dict[str, CheckInfo]) -> list[str]:
    """Every caution of the leading causes' remedies and of the next check, once."""
    texts = [text for item in ranking.causes[:LEADING] for text in item.cause.cautions]
    texts += [text for step in shown[:1] for text in checks[step.id].cautions]
    return list(dict.fromkeys(texts))
