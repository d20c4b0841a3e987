"""Where the library's data files are, and what is asked of them by name."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable

COMPLAINT = "complaint.complaint"
"""Reading that holds what is complained of."""


def library_file(*path: str) -> Traversable:
    """A file or folder of the library."""
    found = resources.files("collaudo.library")
    for name in path:
        found = found / name
    return found


def library_folder(name: str) -> list[Traversable]:
    """The YAML files of one folder of the library, by name."""
    files = [file for file in library_file(name).iterdir() if file.name.endswith(".yaml")]
    return sorted(files, key=lambda file: file.name)
