"""The machines at hand: those of the library, and one's own, which lie as files in a folder."""

from __future__ import annotations

import re
from pathlib import Path

from collaudo.errors import unknown_name
from collaudo.machine.library import library_ids
from collaudo.machine.load import MACHINE_ID
from collaudo.records.place import data_folder

ENDING = ".yaml"


class Shelf:
    """Finds machines by id. A file of one's own is called after the id in it."""

    def __init__(self, data: Path | None = None) -> None:
        self.folder = (data or data_folder()) / "machines"

    def place_of(self, machine: str) -> str:
        """What the functions of the bench take for it: the library's id, or the place of the file.

        `UnknownNameError` for anything that is neither, so that no other file can be named.
        """
        known = library_ids()
        if machine in known:
            return machine
        file = self.folder / f"{machine}{ENDING}"
        if re.fullmatch(MACHINE_ID, machine) and file.is_file():
            return str(file)
        raise unknown_name("machine", machine[:60], [*known, *self.own_ids()])

    def own_ids(self) -> list[str]:
        """Ids of one's own machines."""
        if not self.folder.is_dir():
            return []
        return sorted(file.stem for file in self.folder.glob(f"*{ENDING}") if file.is_file())
