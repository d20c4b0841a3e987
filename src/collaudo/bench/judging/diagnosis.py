"""From findings to causes and the next check."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from collaudo.bench.judging.answer import Answer, answer_of
from collaudo.bench.judging.signatures import Progress, builder, load_best
from collaudo.diagnosis.cache import DRAWS, FIRST_DRAWS, key_of
from collaudo.diagnosis.findings_file import Vocabulary, read_case, read_root
from collaudo.diagnosis.surrogate import load_with_surrogate
from collaudo.errors import FindingsFileError, Problem, UnknownNameError
from collaudo.machine.source import Node
from collaudo.machine.writer import dump

Told = Callable[[Answer], None]
"""Given every answer but the last."""


def diagnose(
    file: str,
    *,
    first_only: bool = False,
    draws: int | None = None,
    told: Told | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Causes of what a findings file tells, best first, and what to check next.

    From signatures in the cache the answer is there at once. Else they are built: ``told`` is given a first
    answer from a few drawn machines, and the answer returned is from ``draws`` of them (or is the first, if
    ``first_only``). Raises `InputError` for what cannot be used.
    """
    root, machine = read_root(Path(file), name=file)
    where = _where(root, machine, file)
    key = _key(root, where)
    whole = draws or DRAWS
    wanted = min(FIRST_DRAWS, whole) if first_only else whole
    kept = load_best(key)
    if kept is None:
        # Only now, for loading the compiled twin takes longer than an answer from the cache.
        from collaudo.diagnosis.building import vocabulary_of

        case = read_case(root, machine, vocabulary_of(where))
    else:
        case = read_case(root, machine, Vocabulary.of(kept[0]))
        answer = answer_of(case, *kept, whole)
        if answer.draws >= wanted:
            return answer
        if told is not None:
            told(answer)
    with builder(where, key, progress) as build:
        if kept is None and told is not None and wanted > FIRST_DRAWS:
            told(answer_of(case, *load_with_surrogate(build(FIRST_DRAWS)), whole))
        return answer_of(case, *load_with_surrogate(build(wanted)), whole)


def diagnose_told(
    findings: Mapping[str, Any],
    *,
    first_only: bool = False,
    draws: int | None = None,
    progress: Progress | None = None,
) -> Answer:
    """As `diagnose`, from what would stand in a findings file. A machine file is looked for from here."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "findings.yaml"
        file.write_text(dump(dict(findings)), encoding="utf-8")
        return diagnose(str(file), first_only=first_only, draws=draws, progress=progress)


def _where(root: Node, machine: str, file: str) -> str:
    """A machine of the library by its id; a machine file by its place, seen from the findings file."""
    if not machine.endswith((".yaml", ".yml")):
        return machine
    for place in (Path(file).parent / machine, Path(machine)):
        if place.is_file():
            return str(place)
    node = _node_of_machine(root)
    message, remedy = f"there is no machine file {machine[:60]!r}", "it is looked for beside this file"
    raise FindingsFileError(Problem(message, remedy, node.file, node.line))


def _key(root: Node, machine: str) -> str:
    try:
        return key_of(machine)
    except UnknownNameError as fault:
        node = _node_of_machine(root)
        raise FindingsFileError(
            Problem(problem.message, problem.remedy, node.file, node.line) for problem in fault.problems
        ) from None


def _node_of_machine(root: Node) -> Node:
    return root.value["machine"] if isinstance(root.value, dict) else root
