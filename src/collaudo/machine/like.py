"""``like: <other machine>``: finding the files a machine file stands on, one on the other."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from collaudo.errors import MachineFileError, Problem, near_misses
from collaudo.machine.library import library_ids, library_text
from collaudo.machine.overlay import laid_over
from collaudo.machine.source import Node, Problems, read_source

MAX_STEPS = 8
"""Files that may stand one on the other."""


@dataclass(frozen=True)
class Opened:
    """A file as read: its tree, the folder of the files it names (None: a text without one), its key."""

    root: Node
    folder: Path | None
    key: str


def opened(source: Path | str | bytes, name: str = "", folder: Path | None = None) -> Opened:
    """A file or a text, read; `MachineFileError` when it is no YAML."""
    root = read_source(source, name=name, error=MachineFileError)
    if isinstance(source, Path):
        return Opened(root, source.parent, str(source.resolve()))
    return Opened(root, folder, str((folder / name).resolve()) if folder else name)


def expanded(first: Opened, problems: Problems) -> Node:
    """The whole machine a file means, laid over the files it is like.

    `MachineFileError` where one of these cannot be had; what does not fit together is noted.
    """
    chain = [first]
    while isinstance(value := chain[-1].root.value, dict) and "like" in value:
        entry = value["like"]
        below = _below(chain[-1], entry)
        if below.key in {file.key for file in chain}:
            said = f"{str(entry.value)[:60]!r} is in turn like this machine"
            _refuse(said, entry, "break the circle: one of the files must be whole")
        chain.append(below)
        if len(chain) > MAX_STEPS:
            remedy = "name the machine at the bottom itself"
            _refuse(f"more than {MAX_STEPS} files stand one on the other", entry, remedy)
    whole = chain.pop().root
    while chain:
        whole = laid_over(whole, chain.pop().root, problems)
    return whole


def _below(file: Opened, entry: Node) -> Opened:
    """The file that ``entry`` names: a machine of the library, or a file beside the one that names it."""
    word = entry.value
    if not isinstance(word, str):
        _refuse("this is no text", entry, "write the id of a machine of the library, or the name of a file")
    if word in library_ids():
        return opened(library_text(word), f"{word}.yaml")
    if not word.endswith((".yaml", ".yml")):
        _refuse(f"unknown machine {word[:60]!r}", entry, near_misses(word[:60], library_ids()))
    if file.folder is None:
        remedy = "name a machine of the library, or read this from a file beside that one"
        _refuse(f"a text without a folder cannot name the file {word[:60]!r}", entry, remedy)
    try:
        return opened(file.folder / word)
    except MachineFileError as refused:
        fault = refused.problems[0]
        if fault.line:
            raise
        _refuse(f"{word[:60]!r}: {fault.message}", entry, fault.remedy)


def _refuse(message: str, entry: Node, remedy: str) -> NoReturn:
    raise MachineFileError(Problem(f"like: {message}", remedy, entry.file, entry.line)) from None
