"""The machines at hand: those of the library, and one's own, which lie as files in a folder.

A machine of one's own is named by its id alone, and its file may stand only on the library or on other files
of the same folder: whatever is asked for through a face that others can reach, no file outside is read.
"""

from __future__ import annotations

import re
import stat
from pathlib import Path

from collaudo.errors import MachineFileError, Problem, near_misses, unknown_name
from collaudo.machine.library import library_ids
from collaudo.machine.like import MAX_STEPS
from collaudo.machine.load import MACHINE_ID
from collaudo.machine.source import MAX_BYTES, Node, read_source
from collaudo.records.place import data_folder

ENDING = ".yaml"
LONGEST_ID = 60


class Shelf:
    """Finds machines by id. A file of one's own is called after the id in it."""

    def __init__(self, data: Path | None = None) -> None:
        self.folder = (data or data_folder()) / "machines"

    def place_of(self, machine: str) -> str:
        """What the functions of the bench take for it: the library's id, or the place of the file.

        `UnknownNameError` for anything that is neither, so that no other file can be named;
        `MachineFileError` for a file that stands on one outside the folder.
        """
        if machine in library_ids():
            return machine
        file = self.own_file(machine)
        self.fence(start_of(file), file.name)
        return str(file)

    def own_file(self, machine: str) -> Path:
        """The file of a machine of one's own, which is there; `UnknownNameError` otherwise."""
        if self.is_own(machine):
            return self.folder / f"{machine}{ENDING}"
        raise unknown_name("machine", machine[:60], [*library_ids(), *self.own_ids()])

    def is_own(self, machine: str) -> bool:
        """Whether there is a machine of one's own with this id."""
        return _is_id(machine) and _is_plain_file(self.folder / f"{machine}{ENDING}")

    def own_ids(self) -> list[str]:
        """Ids of one's own machines."""
        if not self.folder.is_dir():
            return []
        files = self.folder.glob(f"*{ENDING}")
        return sorted(file.stem for file in files if _is_id(file.stem) and _is_plain_file(file))

    def likes(self, text: bytes | str, name: str) -> str:
        """The id of the machine a text is like, of the library or one's own; empty where it is whole.

        `MachineFileError` where it names something else.
        """
        root = read_source(text, name=name, error=MachineFileError)
        entry = root.value.get("like") if isinstance(root.value, dict) else None
        if entry is None:
            return ""
        word = entry.value
        if isinstance(word, str) and word in library_ids():
            return word
        if isinstance(word, str) and word.endswith(ENDING) and self.is_own(word.removesuffix(ENDING)):
            return word.removesuffix(ENDING)
        raise MachineFileError(self._outside(entry))

    def fence(self, text: bytes | str, name: str) -> None:
        """`MachineFileError` where a text stands, through others or at once, on a file outside the folder."""
        for _ in range(MAX_STEPS + 1):  # a longer chain, or a circle, is refused when it is read
            below = self.likes(text, name)
            if not self.is_own(below) or below in library_ids():
                return
            file = self.own_file(below)
            text, name = start_of(file), file.name

    def text_of(self, machine: str) -> bytes:
        """What a machine is read from: its file and those of one's own it is like; empty for the library's.

        `UnknownNameError` where there is no such machine."""
        found = b""
        for _ in range(MAX_STEPS + 1):
            if machine in library_ids():
                break
            file = self.own_file(machine)
            text = start_of(file)
            found += text
            try:
                machine = self.likes(text, file.name)
            except MachineFileError:
                break
            if not machine:
                break
        return found

    def like_this(self, machine: str) -> list[str]:
        """One's own machines that stand at once on this one."""
        found = []
        for other in self.own_ids():
            file = self.own_file(other)
            try:
                if other != machine and self.likes(start_of(file), file.name) == machine:
                    found.append(other)
            except MachineFileError:
                continue  # what is wrong with it is told where it is looked at
        return found

    def _outside(self, entry: Node) -> Problem:
        own = [f"{one}{ENDING}" for one in self.own_ids()]
        said = f"like: {str(entry.value)[:60]!r} is neither in the library nor one of your own machines"
        word = str(entry.value)[:60]
        return Problem(said, near_misses(word, [*library_ids(), *own]), entry.file, entry.line)


def start_of(file: Path) -> bytes:
    """A file, or as much of it as shows that it is too long."""
    with file.open("rb") as stream:
        return stream.read(MAX_BYTES + 1)


def _is_id(word: str) -> bool:
    return len(word) <= LONGEST_ID and re.fullmatch(MACHINE_ID, word) is not None


def _is_plain_file(path: Path) -> bool:
    """A file itself, no link to another."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:
        return False
