"""The plain machine, and others, changed for a test."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from collaudo.errors import MachineFileError, Problem
from collaudo.machine.load import read_machine
from collaudo.machine.model import Machine

HERE = Path(__file__).parent
PLAIN = (HERE / "plain.yaml").read_text(encoding="utf-8")

Edit = tuple[str, str]
Expected = tuple[str, str, str]
"""Text that stands in the line named, the whole message, how the remedy begins."""


def edited(edits: Sequence[Edit]) -> str:
    """The plain machine's file with texts replaced, each where it stands first."""
    text = PLAIN
    for old, new in edits:
        assert old in text, f"{old!r} is not there"
        text = text.replace(old, new, 1)
    return text


def like(other: str, differs: str) -> str:
    """A file that is like another (a machine of the library, or ``plain.yaml``) but for what is said."""
    return f"machine: mine\ntitle: Mine\nlike: {other}\n{differs}"


def read(text: str) -> Machine:
    """The machine of a text that lies beside the plain one."""
    return read_machine(text, name="mine.yaml", folder=HERE)


def problems_of(text: str) -> tuple[Problem, ...]:
    """What is wrong with a text that lies beside the plain machine."""
    with pytest.raises(MachineFileError) as caught:
        read(text)
    return caught.value.problems


def check_refused(text: str, expected: Sequence[Expected], file: str = "mine.yaml") -> None:
    """Every problem is told, in order, each with its line and what would be right."""
    lines = text.splitlines()
    problems = problems_of(text)
    assert [problem.message for problem in problems] == [message for _, message, _ in expected]
    for problem, (place, _, remedy) in zip(problems, expected, strict=True):
        assert problem.file == file
        assert place in lines[problem.line - 1]
        assert problem.remedy.startswith(remedy)
