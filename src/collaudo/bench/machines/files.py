"""Files of one's own machines: read, saved with their older versions, removed and brought back.

A file is never half written and never replaced by one that cannot be used. What was replaced stays beside it
as ``<id>.yaml.1`` (the last) and so on; what was removed lies in the folder ``removed``.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import tempfile
import threading
import time
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from collaudo.bench.machines.check import read_own
from collaudo.bench.machines.shelf import ENDING, Shelf, start_of
from collaudo.errors import InputError, MachineFileError, Problem, unknown_name
from collaudo.machine.source import MAX_BYTES
from collaudo.records.place import write_whole

KEPT_VERSIONS = 20
REMOVED = "removed"
_STAMP = "[0-9]{8}-[0-9]{6}(-[0-9]+)?"
_LOCK = threading.Lock()


class ChangedMeanwhileError(InputError):
    """The file is no longer the one that was opened."""


@dataclass(frozen=True)
class Written:
    """A file as it lies there."""

    machine: str
    text: str
    mark: str
    """Changes with the text."""


@dataclass(frozen=True)
class Version:
    """An older version of a file."""

    number: int
    """1: the one before; the higher, the older."""
    replaced: str
    """When it was written, date and time of this computer."""
    lines: int


@dataclass(frozen=True)
class Removed:
    """A machine that was removed."""

    key: str
    machine: str
    when: str
    """Date and time of this computer."""


class MachineFiles:
    """Keeps the files of a shelf."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf

    def read(self, machine: str) -> Written:
        """The file of a machine of one's own; `UnknownNameError` where there is none."""
        text = _text(self.shelf.own_file(machine))
        return Written(machine, text, mark_of(text))

    def save(self, machine: str, text: str, seen: str) -> Written:
        """Put ``text`` in place of the file, if it can be used and the file is still the one with the mark
        ``seen``. `MachineFileError`, `ChangedMeanwhileError` otherwise; then nothing has changed."""
        text = tidy(text)
        read_own(self.shelf, text, machine=machine)
        with _LOCK:
            file = self.shelf.own_file(machine)
            before = _text(file)
            if mark_of(before) != seen:
                raise ChangedMeanwhileError(
                    Problem(
                        "the file was changed meanwhile, elsewhere", "look at that version, then save again"
                    )
                )
            if before != text:
                self._keep_others_good(machine, text)
                _shift(file)
                write_whole(file.with_name(f"{file.name}.1"), before)
                write_whole(file, text)
        return Written(machine, text, mark_of(text))

    def add(self, text: str) -> Written:
        """A new machine; its id is in the text. `MachineFileError` where it cannot be used or is there."""
        text = tidy(text)
        machine = read_own(self.shelf, text).id
        with _LOCK:
            file = self.shelf.folder / f"{machine}{ENDING}"
            if file.exists() or file.is_symlink():
                said = f"there is a machine {machine!r} already"
                raise MachineFileError(Problem(said, "give this one another id, or edit that one"))
            write_whole(file, text)
        return Written(machine, text, mark_of(text))

    def versions(self, machine: str) -> list[Version]:
        """Older versions, the last replaced first."""
        file = self.shelf.own_file(machine)
        return [Version(n, _when(one), _text(one).count("\n")) for n, one in _versions(file)]

    def older(self, machine: str, number: int) -> str:
        """The text of an older version."""
        known = dict(_versions(self.shelf.own_file(machine)))
        if number not in known:
            raise unknown_name("version", str(number), [str(n) for n in known])
        return _text(known[number])

    def remove(self, machine: str) -> Removed:
        """Move the file and its versions away; `InputError` while others are like it."""
        with _LOCK:
            file = self.shelf.own_file(machine)
            if others := self.shelf.like_this(machine):
                said = f"{', '.join(others)} {'is' if len(others) == 1 else 'are'} like this machine"
                raise InputError(Problem(said, "remove or change those first"))
            folder = self._new_folder()
            for _, version in _versions(file):
                version.rename(folder / version.name)
            file.rename(folder / file.name)
        return Removed(folder.name, machine, _when(folder / file.name))

    def removed(self) -> list[Removed]:
        """What was removed, the last first."""
        top = self.shelf.folder / REMOVED
        folders = sorted((one for one in top.glob("*") if one.is_dir()), reverse=True)
        return [
            Removed(folder.name, file.stem, _told(folder.name))
            for folder in folders
            for file in sorted(folder.glob(f"*{ENDING}"))
        ]

    def bring_back(self, key: str) -> str:
        """Put a removed machine back with its versions; its id. `InputError` where its place is taken."""
        with _LOCK:
            known = {one.key: one for one in self.removed()}
            if not re.fullmatch(_STAMP, key) or key not in known:
                raise unknown_name("removed machine", key[:60], known)
            machine = known[key].machine
            if self.shelf.is_own(machine):
                said = f"there is a machine {machine!r} again"
                raise InputError(Problem(said, "remove that one first, or rename it"))
            folder = self.shelf.folder / REMOVED / key
            for file in sorted(folder.iterdir(), reverse=True):
                file.rename(self.shelf.folder / file.name)
            folder.rmdir()
        return machine

    def _keep_others_good(self, machine: str, text: str) -> None:
        """`MachineFileError` where a machine that stands on this one works now and would no longer."""
        with tempfile.TemporaryDirectory() as place:
            trial = Shelf(Path(place))
            trial.folder.mkdir()
            for own in self.shelf.own_ids():
                shutil.copyfile(self.shelf.own_file(own), trial.folder / f"{own}{ENDING}")
            (trial.folder / f"{machine}{ENDING}").write_text(text, encoding="utf-8", newline="\n")
            for other in _standing_on(trial, machine):
                there = _text(trial.folder / f"{other}{ENDING}")
                if fault := _fault(trial, there, other):
                    if _fault(self.shelf, there, other):
                        continue  # it did not work before
                    said = f"{other}, which is like this machine, would no longer work: {fault.message}"
                    raise MachineFileError(replace(fault, message=said))

    def _new_folder(self) -> Path:
        top = self.shelf.folder / REMOVED
        stamp = time.strftime("%Y%m%d-%H%M%S")
        for again in range(1000):
            folder = top / (f"{stamp}-{again}" if again else stamp)
            try:
                folder.mkdir(parents=True)
            except FileExistsError:
                continue
            return folder
        raise InputError(Problem("too much was removed at once", "wait a second, then try again"))


def _standing_on(shelf: Shelf, machine: str) -> list[str]:
    """Machines that are like this one, at once or through others."""
    found: list[str] = []
    waiting = [machine]
    while waiting:
        new = [one for one in shelf.like_this(waiting.pop()) if one not in found and one != machine]
        found += new
        waiting += new
    return found


def _fault(shelf: Shelf, text: str, machine: str) -> Problem | None:
    """The first thing that is wrong with a file; None where it can be used."""
    try:
        read_own(shelf, text, machine=machine)
    except MachineFileError as fault:
        return fault.problems[0]
    return None


def tidy(text: str) -> str:
    """A text as it is kept: line feeds alone, one at its end. `MachineFileError` where it is too long."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n") + "\n"
    if len(plain.encode("utf-8", "surrogatepass")) > MAX_BYTES:
        said = f"larger than {MAX_BYTES // 1024} kB"
        raise MachineFileError(Problem(said, "a machine file is some kB; this seems to be another file"))
    return plain


def mark_of(text: str) -> str:
    """Changes with the text."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:20]


def _text(file: Path) -> str:
    return start_of(file).decode("utf-8", "replace")


def _versions(file: Path) -> list[tuple[int, Path]]:
    found = ((n, file.with_name(f"{file.name}.{n}")) for n in range(1, KEPT_VERSIONS + 1))
    return [(n, one) for n, one in found if one.is_file() and not one.is_symlink()]


def _shift(file: Path) -> None:
    """Make room for a version 1; the oldest goes."""
    for number, version in reversed(_versions(file)):
        if number < KEPT_VERSIONS:
            version.replace(file.with_name(f"{file.name}.{number + 1}"))


def _when(file: Path) -> str:
    return datetime.fromtimestamp(file.stat().st_mtime, UTC).astimezone().strftime("%Y-%m-%d %H:%M")


def _told(stamp: str) -> str:
    return (
        f"{stamp[:4]}-{stamp[4:6]}-{stamp[6:8]} {stamp[9:11]}:{stamp[11:13]}" if len(stamp) >= 15 else stamp
    )
