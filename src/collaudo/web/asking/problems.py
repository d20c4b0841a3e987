"""What is wrong, as other programs read it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from collaudo.errors import Problem


@dataclass(frozen=True)
class ToldProblem:
    """One thing wrong: what, what would be right, and where."""

    message: str
    remedy: str
    file: str
    line: int


@dataclass(frozen=True)
class Refusal:
    """The answer to what cannot be done."""

    problems: list[ToldProblem]


def told_problems(problems: Sequence[Problem]) -> list[ToldProblem]:
    """As they are answered."""
    return [ToldProblem(one.message, one.remedy, one.file, one.line) for one in problems]
