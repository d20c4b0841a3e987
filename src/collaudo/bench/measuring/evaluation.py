"""How good the diagnosis is on cases it has never seen."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor, as_completed
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np

from collaudo.bench.judging.signatures import build_signatures
from collaudo.bench.judging.workers import workers
from collaudo.diagnosis.building import SIGNATURE_RTOL, Setup, setup_of
from collaudo.diagnosis.cache import DRAWS, folder, key_of
from collaudo.diagnosis.noise import Finding
from collaudo.diagnosis.priors import Background, prior_chances
from collaudo.diagnosis.ranking import Ranking, rank
from collaudo.diagnosis.scoring import (
    calibration_error,
    log_score,
    perfectly_calibrated_band,
    top_k_hits,
)
from collaudo.diagnosis.signature_set import Floats, SignatureSet
from collaudo.diagnosis.surrogate import load_with_surrogate
from collaudo.diagnosis.unseen import Unseen, bench_findings, make_case

BLOCK = 25
"""Cases made and kept together."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Evaluation:
    """Figures over all cases."""

    machine: str
    cases: int
    by_frequency: bool
    draws: int
    first: float
    """Share of cases whose right repair stands first."""
    among_three: float
    log_score: float
    log_score_of_prior: float
    calibration_error: float
    calibration_of_perfect: float
    """Calibration error that a perfectly calibrated ranker would show on so many cases, at the median."""
    confused: list[tuple[str, str, int]] = field(default_factory=list)
    """True repair, repair that stood first, how often; most frequent first."""


def evaluate(
    machine: str,
    cases: int,
    *,
    by_frequency: bool = True,
    draws: int = DRAWS,
    progress: Progress | None = None,
) -> Evaluation:
    """Rank ``cases`` unseen cases with every reading taken, and score the ranking.

    ``progress`` is told of the draws while signatures are built, then of cases made, then of cases ranked.
    """
    found = Path(build_signatures(machine, draws, progress).file)
    signatures, _ = load_with_surrogate(found)
    with workers(machine) as crew:
        crew.compile()
        unseen = make_cases(machine, cases, by_frequency, crew.pool, progress)
        findings = all_findings(setup_of(machine), signatures, unseen)
        jobs = [
            (str(found), [case.known for case in unseen[a : a + BLOCK]], findings[a : a + BLOCK])
            for a in range(0, len(unseen), BLOCK)
        ]
        chances: list[Floats] = []
        for rows in crew.pool.map(rank_block, *zip(*jobs, strict=True)):
            chances += rows
            if progress is not None:
                progress(len(chances), len(unseen))
    return score(signatures, [case.cause for case in unseen], np.array(chances), machine, by_frequency)


def rank_block(
    file: str, known: Sequence[Mapping[str, float]], findings: Sequence[Sequence[Finding]]
) -> list[Floats]:
    """Chances of all causes, in the order of the set in ``file``, for some cases."""
    signatures, surrogate = load_with_surrogate(file)
    return [
        chances_of(signatures, rank(signatures, surrogate, found, known=values))
        for values, found in zip(known, findings, strict=True)
    ]


def chances_of(signatures: SignatureSet, ranking: Ranking) -> Floats:
    """Chances of a ranking in the order of the set's causes."""
    by_id = {item.cause.id: item.probability for item in ranking.causes}
    return np.array([by_id[cause.id] for cause in signatures.causes])


def all_findings(setup: Setup, signatures: SignatureSet, unseen: Sequence[Unseen]) -> list[list[Finding]]:
    """The findings of every case."""
    readings = setup.course.readings
    causes = {cause.id: cause for cause in signatures.causes}
    return [bench_findings(case, readings, causes, unseen, seed) for seed, case in enumerate(unseen)]


def score(
    signatures: SignatureSet, truth: Sequence[str], chances: Floats, machine: str, by_frequency: bool
) -> Evaluation:
    """The figures of ``chances[n, c]`` against the causes that were true.

    Hits and calibration count causes of one repair together.
    """
    causes = signatures.causes
    repairs = sorted({cause.repair for cause in causes})
    member = np.array([[float(cause.repair == name) for name in repairs] for cause in causes])
    of_repair = chances @ member
    true_cause = [signatures.cause_index[name] for name in truth]
    right = np.array([repairs.index(causes[c].repair) for c in true_cause])
    best, confidence = of_repair.argmax(axis=1), of_repair.max(axis=1)
    prior = prior_chances(causes, Background())
    confused = Counter((repairs[a], repairs[b]) for a, b in zip(right, best, strict=True) if a != b)
    return Evaluation(
        machine=machine,
        cases=len(truth),
        by_frequency=by_frequency,
        draws=signatures.known.shape[0],
        first=top_k_hits(chances, truth, causes, 1),
        among_three=top_k_hits(chances, truth, causes, 3),
        log_score=log_score(chances[np.arange(len(truth)), true_cause]),
        log_score_of_prior=log_score(prior[true_cause]),
        calibration_error=calibration_error(confidence, best == right),
        calibration_of_perfect=perfectly_calibrated_band(confidence)[1],
        confused=[(a, b, n) for (a, b), n in confused.most_common()],
    )


def make_cases(
    machine: str, count: int, by_frequency: bool, pool: Executor, progress: Progress | None = None
) -> list[Unseen]:
    """So many unseen cases, block by block; blocks in the cache are not made again."""
    blocks = range((count + BLOCK - 1) // BLOCK)
    place = folder() / key_of(machine) / ("cases" if by_frequency else "cases-uniform")
    place.mkdir(parents=True, exist_ok=True)
    missing = [number for number in blocks if not _file(place, number).is_file()]
    jobs = {pool.submit(make_block, machine, number, by_frequency): number for number in missing}
    for done, job in enumerate(as_completed(jobs), len(blocks) - len(missing) + 1):
        _file(place, jobs[job]).write_text(json.dumps(job.result()), encoding="utf-8")
        if progress is not None:
            progress(done * BLOCK, len(blocks) * BLOCK)
    cases = [
        case for number in blocks for case in json.loads(_file(place, number).read_text(encoding="utf-8"))
    ]
    return [Unseen(**case) for case in cases[:count]]


def _file(place: Path, number: int) -> Path:
    return place / f"block-{number:04d}.json"


def make_block(machine: str, number: int, by_frequency: bool) -> list[dict[str, object]]:
    """One block of cases, as plain values."""
    setup = setup_of(machine)
    numbers = range(number * BLOCK, (number + 1) * BLOCK)
    return [asdict(make_case(setup, n, by_frequency, SIGNATURE_RTOL)) for n in numbers]
