"""Building signatures: every cause on every drawn machine, every check, on the twin.

Work is shared out draw by draw over any standard executor. What a draw gave is kept in the cache as soon as
it is there, so a build that was interrupted goes on where it stopped, and a few draws give a first answer.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from collaudo.causes.cause import Cause, history_words
from collaudo.causes.draws import Drawn, draw_machines, stratified
from collaudo.causes.faults import causes_for, put_in
from collaudo.checks.check import Reading, cautions, sound_chances
from collaudo.checks.course import Course, Taken, course_for, take_all
from collaudo.diagnosis.cache import DRAWS, draw_file, set_file
from collaudo.diagnosis.findings_file import Vocabulary
from collaudo.diagnosis.signature_set import NO_FAULT, CauseInfo, CheckInfo, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import fit_surrogate, save_with_surrogate
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.machine.site import home_site

SEED = 1
SIGNATURE_RTOL = 1e-3
"""Readings move by less than a hundredth of their spread between this and 1e-6."""

Progress = Callable[[int, int], None]
"""Told how many draws are done, and of how many."""


@dataclass(frozen=True)
class Setup:
    """What all draws of one machine have in common."""

    machine: Machine
    course: Course
    causes: tuple[Cause, ...]


@cache
def setup_of(machine_id: str, sound_only: bool = False) -> Setup:
    """Checks and causes (or "no fault" alone) that apply to a machine of the library or of a file."""
    machine = find_machine(machine_id)
    course = course_for(machine)
    causes = causes_for(machine, course.bound)
    return Setup(machine, course, tuple(x for x in causes if x.id == NO_FAULT) if sound_only else causes)


def severities(cause: Cause, count: int) -> list[float]:
    """Severity of a cause on each drawn machine: its own stratified order, the same in every build."""
    own = int.from_bytes(hashlib.sha256(cause.id.encode()).digest()[:4], "little")
    return [float(x) for x in stratified(max(count, DRAWS), np.random.default_rng(own))[:count]]


def drawn_machines(setup: Setup, count: int) -> list[Drawn]:
    """The drawn machines of a build."""
    return draw_machines(setup.machine, home_site(setup.machine), setup.course.bound, count, SEED)


def take_draw(machine_id: str, number: int, sound_only: bool = False) -> list[Taken]:
    """Readings of all checks under every cause on one drawn machine."""
    return rows_of_draw(setup_of(machine_id, sound_only), number)


def rows_of_draw(setup: Setup, number: int) -> list[Taken]:
    """As `take_draw`, for checks and causes chosen beforehand."""
    drawn = drawn_machines(setup, number + 1)[number]
    rows = []
    for cause in setup.causes:
        severity = severities(cause, number + 1)[number]
        faulty = put_in(cause, severity, drawn.machine, drawn.site, setup.course.bound)
        rows.append(take_all(setup.course, faulty.machine, faulty.site, faulty.held, rtol=SIGNATURE_RTOL))
    return rows


def build(
    machine_id: str,
    key: str,
    draws: int = DRAWS,
    executor: Executor | None = None,
    progress: Progress | None = None,
    sound_only: bool = False,
) -> Path:
    """Build the signatures of a machine with so many draws; returns the file that holds them.

    ``executor`` runs `take_draw`; None makes a pool of one process per core. Draws that are in the cache are
    not made again. ``sound_only``: of sound machines alone, for what they should show.
    """
    key = f"{key}-sound" if sound_only else key
    found = set_file(key, draws)
    if found.is_file():
        return found
    missing = [n for n in range(draws) if not draw_file(key, n).is_file()]
    done = draws - len(missing)
    if progress is not None:
        progress(done, draws)
    for number, rows in _make((machine_id, sound_only), missing, executor):
        _keep(draw_file(key, number), json.dumps(rows))
        done += 1
        if progress is not None:
            progress(done, draws)
    rows_of = [json.loads(draw_file(key, n).read_text(encoding="utf-8")) for n in range(draws)]
    signatures = assemble_set(setup_of(machine_id, sound_only), rows_of)
    partial = found.with_suffix(f".{os.getpid()}")
    save_with_surrogate(partial, signatures, fit_surrogate(signatures))
    partial.replace(found)
    return found


Of = tuple[str, bool]
"""Machine, and whether of sound ones alone."""


def _make(of: Of, numbers: Sequence[int], executor: Executor | None) -> Iterator[tuple[int, list[Taken]]]:
    if not numbers:
        return
    if executor is not None:
        yield from _collect(of, numbers, executor)
        return
    workers = min(len(numbers), os.cpu_count() or 1)
    # Spawned, never forked: compiled code and forked threads do not mix.
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
    try:
        yield from _collect(of, numbers, pool)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _collect(of: Of, numbers: Sequence[int], executor: Executor) -> Iterator[tuple[int, list[Taken]]]:
    machine_id, sound_only = of
    jobs = {executor.submit(take_draw, machine_id, number, sound_only): number for number in numbers}
    for job in as_completed(jobs):
        yield jobs[job], job.result()


def _keep(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    partial = file.with_suffix(f".{os.getpid()}")
    partial.write_text(text, encoding="utf-8")
    partial.replace(file)


def assemble_set(setup: Setup, rows_of: Sequence[Sequence[Taken]]) -> SignatureSet:
    """The signature set of ``rows_of[draw][cause]``."""
    readings = setup.course.readings
    drawn = drawn_machines(setup, len(rows_of))
    names = tuple(drawn[0].known)
    shape = (len(setup.causes), len(rows_of), len(readings))
    number, outcome = np.full(shape, np.nan), np.full(shape, -1, dtype=np.int8)
    for d, rows in enumerate(rows_of):
        for c, taken in enumerate(rows):
            for r, reading in enumerate(readings):
                value = taken.get(reading.id)
                if isinstance(value, str):
                    outcome[c, d, r] = [item.name for item in reading.outcomes].index(value)
                elif value is not None:
                    number[c, d, r] = value
    return SignatureSet(
        causes=tuple(cause_info(cause, setup) for cause in setup.causes),
        readings=tuple(reading_info(reading) for reading in readings),
        checks=check_infos(setup.course),
        known_names=names,
        severity=np.array([severities(cause, len(rows_of)) for cause in setup.causes]),
        known=np.array([[machine.known[name] for name in names] for machine in drawn]),
        number=number,
        outcome=outcome,
        title=setup.machine.title,
        parts=tuple(setup.machine.parts),
        history_words=tuple(history_words()),
    )


def cause_info(cause: Cause, setup: Setup) -> CauseInfo:
    """A cause as the ranking knows it."""
    by_chance = {reading.id: reading for reading in setup.course.readings if reading.by_chance}
    seen = {name: table for name, table in cause.seen.items() if name in by_chance}
    if cause.id == NO_FAULT:
        seen = {name: sound_chances(reading) for name, reading in by_chance.items()} | seen
    return CauseInfo(
        id=cause.id,
        part=setup.course.bound[cause.part],
        title=cause.title,
        per_1000=cause.per_1000,
        repair=cause.repair,
        repair_minutes=cause.minutes,
        parts_cost_eur=cause.parts_eur,
        seen=seen,
        history=cause.history,
        why=cause.why,
        remedy=cause.remedy,
        cautions=tuple(cautions()[hazard] for hazard in cause.hazards),
    )


def reading_info(reading: Reading) -> ReadingInfo:
    """A reading as the ranking knows it."""
    return ReadingInfo(
        id=reading.id,
        check=reading.id.partition(".")[0],
        title=reading.title,
        unit=reading.unit,
        kind="outcome" if reading.outcomes else "number",
        outcomes=tuple(outcome.name for outcome in reading.outcomes),
        scale=reading.scale,  # type: ignore[arg-type]  # the catalogue allows these words alone
        instrument=reading.instrument,
        bias_sd=reading.bias,
        noise_sd=reading.noise,
        relative=reading.relative,
    )


def check_infos(course: Course) -> tuple[CheckInfo, ...]:
    """The checks that can come next."""
    return tuple(
        CheckInfo(
            id=item.check.id,
            title=item.check.title,
            minutes=item.check.minutes,
            wait_minutes=item.check.wait_minutes,
            needs=item.check.needs,  # type: ignore[arg-type]  # the catalogue allows these words alone
            leaves=item.check.leaves,  # type: ignore[arg-type]
            lid=item.check.lid,  # type: ignore[arg-type]
            hazards=item.check.hazards,
            readings=tuple(reading.id for reading in item.readings),
            why=item.check.why,
            steps=item.check.steps,
            tools=item.check.tools,
            cautions=tuple(cautions()[hazard] for hazard in item.check.hazards),
        )
        for item in course.checks
        if item.readings and not item.check.asked
    )


def vocabulary_of(machine_id: str) -> Vocabulary:
    """The words of a findings file for a machine whose signatures are not built yet."""
    setup = setup_of(machine_id)
    return Vocabulary(
        readings={reading.id: reading_info(reading) for reading in setup.course.readings},
        known_names=tuple(drawn_machines(setup, 1)[0].known),
        parts=tuple(setup.machine.parts),
        history_words=tuple(history_words()),
    )
