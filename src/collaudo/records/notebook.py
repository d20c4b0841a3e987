"""The notebook: sheets of entries that are only ever added to, each on the disk before it is confirmed.

A sheet is a file of lines, one entry a line, as JSON. Whoever sends an entry gives it an id; sent again after
a lost answer, it is confirmed again and not written twice. A line that a power cut tore has no end: it was
never confirmed, is passed over, and taken off before the next one is written. Nothing is ever overwritten.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from filelock import FileLock

from collaudo.errors import InputError, Problem, UnknownNameError

SHEET_ID = r"(?:\d{4}-\d{2}-\d{2}-[1-9]\d{0,4}|demo-[a-z]+(?:-[a-z]+){0,5})"
"""Day and a number, or a demonstration."""
ENTRY_ID = r"[0-9A-Za-z][0-9A-Za-z-]{7,63}"
LONGEST_LINE = 16_000
"""Bytes of one entry."""
MOST_BYTES = 2_000_000
"""Of one sheet: some ten thousand entries."""
REMOVED = "removed"
ENDING = ".jsonl"

Entry = dict[str, Any]
"""What was written down: ``entry`` (its id), ``at``, ``kind`` and what the kind holds."""


class Notebook:
    """The sheets in one folder. Several servers may write into it at once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def sheets(self) -> list[str]:
        """Ids of all sheets that are not removed, the oldest first."""
        return sorted((file.stem for file in self._files(self.folder)), key=_in_order)

    def begin(self, first: Mapping[str, Any], *, day: date | None = None, sheet: str = "") -> str:
        """A new sheet with its first entry; the sheet that begins with it already, where it was sent again.

        ``sheet``: the id it shall have; else that of the ``day`` with the next number.
        """
        line = _line_of(first)
        with self._lock():
            if again := self._begun_by(str(first["entry"])):
                return again
            name = sheet or self._next_id(day or date.today())
            file = self._file(name)
            with file.open("xb") as out:
                _write(out, line)
            _sync_folder(self.folder)
        return name

    def entries(self, sheet: str) -> list[Entry]:
        """Every entry of a sheet as they came in; `UnknownNameError` where there is no such sheet."""
        return _read(self._there(sheet))[0]

    def add(self, sheet: str, entries: Iterable[Mapping[str, Any]]) -> list[Entry]:
        """Write entries down, all or none, and give everything the sheet then holds.

        Entries whose id is there already are passed over.
        """
        with self._lock():
            file = self._there(sheet)
            there, sound_bytes = _read(file)
            known = {entry["entry"] for entry in there}
            lines = b""
            for entry in entries:
                if entry["entry"] not in known:
                    known.add(entry["entry"])
                    lines += _line_of(entry)
            if lines:
                if sound_bytes + len(lines) > MOST_BYTES:
                    raise InputError(Problem(f"sheet {sheet} is full", "begin another one"))
                with file.open("r+b") as out:
                    out.truncate(sound_bytes)
                    out.seek(sound_bytes)
                    _write(out, lines)
                there, _ = _read(file)
            return there

    def remove(self, sheet: str) -> None:
        """Put a sheet aside; it can be brought back."""
        self._move(self._there(sheet), self.folder / REMOVED)

    def bring_back(self, sheet: str) -> None:
        """Take a removed sheet up again; `UnknownNameError` where it was not removed."""
        self._move(self._there(sheet, self.folder / REMOVED), self.folder)

    def is_removed(self, sheet: str) -> bool:
        """Whether there was such a sheet and it was put aside."""
        return _is_id(sheet) and (self.folder / REMOVED / f"{sheet}{ENDING}").is_file()

    def erase(self, sheet: str) -> None:
        """Do away with a sheet for good, removed or not: a demonstration that begins anew."""
        if _is_id(sheet):
            for folder in (self.folder, self.folder / REMOVED):
                (folder / f"{sheet}{ENDING}").unlink(missing_ok=True)

    def _lock(self) -> FileLock:
        self.folder.mkdir(parents=True, exist_ok=True)
        return FileLock(self.folder / ".lock", timeout=10)

    def _file(self, sheet: str, folder: Path | None = None) -> Path:
        if not _is_id(sheet):
            raise _unknown(sheet)
        return (folder or self.folder) / f"{sheet}{ENDING}"

    def _there(self, sheet: str, folder: Path | None = None) -> Path:
        file = self._file(sheet, folder)
        if not file.is_file():
            raise _unknown(sheet)
        return file

    def _files(self, folder: Path) -> list[Path]:
        return [file for file in folder.glob(f"*{ENDING}") if _is_id(file.stem)] if folder.is_dir() else []

    def _begun_by(self, entry: str) -> str:
        for folder in (self.folder, self.folder / REMOVED):
            for file in self._files(folder):
                with file.open("rb") as lines:
                    first = _entry_in(lines.readline(LONGEST_LINE + 2))
                if first and first["entry"] == entry:
                    return file.stem
        return ""

    def _next_id(self, day: date) -> str:
        start = f"{day.isoformat()}-"
        every = [*self._files(self.folder), *self._files(self.folder / REMOVED)]
        numbers = [int(file.stem.removeprefix(start)) for file in every if file.stem.startswith(start)]
        return f"{start}{max(numbers, default=0) + 1}"

    def _move(self, file: Path, folder: Path) -> None:
        with self._lock():
            folder.mkdir(parents=True, exist_ok=True)
            if (folder / file.name).exists():
                raise InputError(Problem(f"sheet {file.stem} is there already", "remove that one first"))
            file.rename(folder / file.name)
            _sync_folder(folder)
            _sync_folder(file.parent)


def _is_id(sheet: str) -> bool:
    return re.fullmatch(SHEET_ID, sheet, re.ASCII) is not None


def _in_order(sheet: str) -> tuple[str, int]:
    day, _, number = sheet.rpartition("-")
    return (day, int(number)) if number.isdigit() else ("", 0)


def _unknown(sheet: str) -> UnknownNameError:
    return UnknownNameError(Problem(f"there is no sheet {sheet[:40]!r}", "see the list of findings"))


def _line_of(entry: Mapping[str, Any]) -> bytes:
    line = json.dumps(entry, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() + b"\n"
    if len(line) > LONGEST_LINE:
        raise InputError(Problem("an entry is too long", f"at most {LONGEST_LINE} bytes"))
    return line


def _write(out: Any, lines: bytes) -> None:
    out.write(lines)
    out.flush()
    os.fsync(out.fileno())


def _sync_folder(folder: Path) -> None:
    """A new name is on the disk only when its folder is; where folders cannot be opened it already is."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _read(file: Path) -> tuple[list[Entry], int]:
    """The entries of a file, and how many of its bytes are whole lines. Lines that are damaged are passed
    over, and stay where they are."""
    raw = file.read_bytes()
    sound = raw.rfind(b"\n") + 1
    found = (_entry_in(line) for line in raw[:sound].split(b"\n"))
    return [entry for entry in found if entry is not None], sound


def _entry_in(line: bytes) -> Entry | None:
    try:
        found = json.loads(line)
    except (ValueError, RecursionError):
        return None
    named = isinstance(found, dict) and all(
        isinstance(found.get(key), str) for key in ("entry", "kind", "at")
    )
    return found if named else None
