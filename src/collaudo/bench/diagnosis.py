"""From findings to causes and the next check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from collaudo.diagnosis.cache import best_set, key_of
from collaudo.diagnosis.explanation import ExplainedFinding
from collaudo.diagnosis.findings_file import COMPLAINT, Case, Vocabulary, read_case, read_root
from collaudo.diagnosis.next_check import NextCheck, next_checks
from collaudo.diagnosis.ranking import Ranking, rank
from collaudo.diagnosis.signature_set import CauseInfo, CheckInfo, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import load_with_surrogate

Progress = Callable[[int, int], None]
"""Told how many draws are done, and of how many."""
LEADING = 3
"""Causes whose cautions are read out with the answer."""
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


@dataclass(frozen=True)
class Foreseen:
    """What one leading cause makes of one finding."""

    cause: str
    low: float | None
    typical: float | None
    high: float | None
    chances: dict[str, float]
    speaks: str


@dataclass(frozen=True)
class Explained:
    """A finding and what the leading causes make of it."""

    check: str
    reading: str
    title: str
    value: float | str | None
    unit: str
    doubted: bool
    predicted: list[Foreseen]


@dataclass(frozen=True)
class Step:
    """A check that could be made next."""

    check: str
    title: str
    minutes: float
    wait_minutes: float
    expected_saving_min: float
    why: str
    steps: list[str]
    tools: list[str]
    cautions: list[str]


@dataclass(frozen=True)
class Repair:
    """The repair to make if no further check is worth its time."""

    repair: str
    cause: str
    remedy: str
    minutes: float
    now: bool
    """Whether it is the next thing to do."""


@dataclass(frozen=True)
class Answer:
    """What the findings of one job say."""

    machine: str
    title: str
    draws: int
    """Drawn machines behind the answer; an answer from few is a first one."""
    causes: list[RankedFault]
    findings: list[Explained]
    next_checks: list[Step]
    repair: Repair
    unexplained: list[str]
    cautions: list[str]


def diagnose(
    file: str,
    *,
    first_only: bool = False,
    draws: int | None = None,
    told: Callable[[Answer], None] | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Causes of what a findings file tells, best first, and what to check next.

    From signatures in the cache the answer is there at once. Else they are built: ``told`` is given a first
    answer from a few draws, and the answer returned is from all of them (or is the first, if
    ``first_only``). Raises `InputError` for what cannot be used.
    """
    root, machine = read_root(Path(file), name=file)
    key = key_of(_where(machine, file))
    found = best_set(key)
    if found is None or (draws and draws > _draws_in(found)):
        return _build_and_answer(root, _where(machine, file), key, first_only, draws, told, progress)
    return _answer(read_case(root, machine, Vocabulary.of(load_with_surrogate(found)[0])), found)


def _where(machine: str, file: str) -> str:
    """A machine file is named from where the findings file lies."""
    beside = Path(file).parent / machine
    return str(beside) if machine.endswith((".yaml", ".yml")) and beside.is_file() else machine


def _draws_in(file: Path) -> int:
    return int(file.stem.rpartition("-")[2])


def _build_and_answer(
    root: object,
    machine: str,
    key: str,
    first_only: bool,
    draws: int | None,
    told: Callable[[Answer], None] | None,
    progress: Progress | None,
) -> Answer:
    # Only now, for loading the compiled twin takes longer than an answer from the cache.
    from collaudo.diagnosis.building import DRAWS, FIRST_DRAWS, build, vocabulary_of

    case = read_case(root, machine, vocabulary_of(machine))  # type: ignore[arg-type]
    stages = [FIRST_DRAWS] if first_only else [FIRST_DRAWS, draws or DRAWS]
    *first, last = sorted({min(stage, draws or DRAWS) for stage in stages})
    for count in first:
        answer = _answer(case, build(machine, key, count, progress=progress))
        if told is not None:
            told(answer)
    return _answer(case, build(machine, key, last, progress=progress))


def _answer(case: Case, file: Path) -> Answer:
    signatures, surrogate = load_with_surrogate(file)
    ranking = rank(
        signatures,
        surrogate,
        case.findings,
        known=case.known,
        history=case.history,
        parts_cleaned=case.cleaned,
        parts_replaced=case.replaced,
        parts_proven_good=case.proven_good,
    )
    steps = next_checks(signatures, surrogate, ranking, case.findings, case.condition)
    readings = {reading.id: reading for reading in signatures.readings}
    checks = {check.id: check for check in signatures.checks}
    shown = [step for step in steps if step.kind == "check"][:CHECKS_SHOWN]
    return Answer(
        machine=case.machine,
        title=signatures.title,
        draws=signatures.known.shape[0],
        causes=[_fault(item.cause, item.probability) for item in ranking.causes],
        findings=[_explained(finding, readings) for finding in ranking.findings],
        next_checks=[_step(step, checks[step.id]) for step in shown],
        repair=_repair(steps, ranking),
        unexplained=[_told(finding, readings) for finding in ranking.unexplained],
        cautions=_cautions(ranking, shown, checks),
    )


def _fault(cause: CauseInfo, probability: float) -> RankedFault:
    return RankedFault(
        cause.id, cause.part, cause.title, probability, cause.why, cause.remedy, cause.repair_minutes
    )


def _explained(finding: ExplainedFinding, readings: dict[str, ReadingInfo]) -> Explained:
    info = readings[finding.finding.reading]
    return Explained(
        check=info.check,
        reading=info.id.partition(".")[2],
        title=info.title,
        value=finding.finding.value,
        unit=info.unit,
        doubted=finding.finding.doubted,
        predicted=[
            Foreseen(item.cause, item.low, item.typical, item.high, dict(item.chances), item.speaks)
            for item in finding.predicted
        ],
    )


def _told(finding: ExplainedFinding, readings: dict[str, ReadingInfo]) -> str:
    return readings[finding.finding.reading].id


def _step(step: NextCheck, check: CheckInfo) -> Step:
    return Step(
        check.id,
        check.title,
        step.minutes,
        step.wait_minutes,
        step.expected_saving_min,
        check.why,
        list(check.steps),
        list(check.tools),
        list(check.cautions),
    )


def _repair(steps: list[NextCheck], ranking: Ranking) -> Repair:
    first = next(step for step in steps if step.kind == "repair")
    cause = next(item.cause for item in ranking.causes if item.cause.repair == first.id)
    return Repair(first.id, cause.id, cause.remedy, first.minutes, steps[0].kind == "repair")


def _cautions(ranking: Ranking, shown: list[NextCheck], checks: dict[str, CheckInfo]) -> list[str]:
    """Every caution of the leading causes' remedies and of the next check, once."""
    texts = [text for item in ranking.causes[:LEADING] for text in item.cause.cautions]
    texts += [text for step in shown[:1] for text in checks[step.id].cautions]
    return list(dict.fromkeys(texts))


__all__ = ["COMPLAINT", "Answer", "SignatureSet", "diagnose"]
