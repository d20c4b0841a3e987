"""Which machines there are, and whether a machine file can be used."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine, read_machine, whole_machine
from collaudo.machine.model import Machine
from collaudo.machine.writer import dump


@dataclass(frozen=True)
class MachineSummary:
    """A machine in a few words."""

    id: str
    title: str
    parts: int
    lines: int
    wires: int
    settings: tuple[str, ...]


def machines() -> list[MachineSummary]:
    """The machines of the library, by id."""
    return [_summary(find_machine(name)) for name in library_ids()]


def check_machine(path: str) -> MachineSummary:
    """Read a machine file; `MachineFileError` holds everything that is wrong with it."""
    return _summary(read_machine(Path(path), name=path))


@dataclass(frozen=True)
class WholeMachine:
    """A machine with all it takes from those it is like."""

    data: dict[str, Any]
    """As a machine file holds it."""

    @property
    def text(self) -> str:
        """The machine file."""
        return dump(self.data)


def show_machine(name_or_path: str) -> WholeMachine:
    """A machine of the library or of a file, whole."""
    return WholeMachine(whole_machine(name_or_path))


def _summary(machine: Machine) -> MachineSummary:
    counts = len(machine.parts), len(machine.lines), len(machine.wires)
    return MachineSummary(machine.id, machine.title, *counts, tuple(machine.settings))
