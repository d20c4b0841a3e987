"""Which machines there are, one of them in hand, a machine file checked, a new one made."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from collaudo.bench.machines.handle import Machine, refuse_output
from collaudo.errors import InputError, Problem

if TYPE_CHECKING:
    from collaudo.bench.machines.library import MachineSummary
    from collaudo.bench.machines.questions import Question

MachineLike = str | os.PathLike[str] | Machine
"""The id of a machine of the library, a machine file, or a machine in hand."""


def machines() -> list[MachineSummary]:
    """The machines of the library: id, title, how many parts, lines and wires, names of the settings."""
    from collaudo.bench.machines.library import machines as all_machines

    return all_machines()


def machine(name_or_path: MachineLike) -> Machine:
    """The machine of the library called so, or of a machine file; `InputError` where it cannot be used."""
    return name_or_path if isinstance(name_or_path, Machine) else Machine.named(name_or_path)


def check_file(path: str | os.PathLike[str]) -> list[Problem]:
    """Everything wrong with a machine file, each with file, line and remedy; empty: it can be used."""
    from collaudo.bench.machines.library import check_machine

    try:
        check_machine(os.fspath(path))
    except InputError as fault:
        return list(fault.problems)
    return []


def questions(like: MachineLike) -> list[Question]:
    """What can be known of a machine like this one: key, question, how to know it, unit, range, and what the
    other has."""
    from collaudo.bench.machines.own import questions as questions_about

    with machine(like).as_file() as name:
        return questions_about(name)


def new_machine(
    like: str | os.PathLike[str],
    answers: Mapping[str, float | str],
    file: str | os.PathLike[str],
    *,
    overwrite: bool = False,
) -> Machine:
    """Write the ``file`` of a machine ``like`` another (an id or a file) and give the machine.

    ``answers`` are by the keys of `questions`, a number in the question's unit or a text with its own
    (``{"boiler.volume_l": 2.1, "relief_valve.set_bar": "130 psi"}``); ``title`` names the machine. What is
    not answered stays as in the other. `InputError` for an answer that cannot be, or a file that is there
    unless ``overwrite``.
    """
    from collaudo.bench.machines.own import own_machine

    path = Path(file)
    refuse_output(path, overwrite=overwrite)
    told = {key: str(value) for key, value in answers.items()}
    made = own_machine(os.fspath(like), told, file=str(path))
    path.write_text(made.text, encoding="utf-8", newline="\n")
    return Machine.named(path)
