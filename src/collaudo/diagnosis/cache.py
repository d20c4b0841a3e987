"""Where signatures are kept, and under which key: everything they depend on, by content.

Nothing here reads a machine or a catalogue: a key is made of the bytes of files alone, so that an answer from
the cache need not wait for them to be read.
"""

from __future__ import annotations

import hashlib
import os
import re
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from collaudo.compiled import cache_folder
from collaudo.errors import unknown_name

FIRST_DRAWS = 8
"""Drawn machines behind a first answer: one of each stratum."""
DRAWS = 64
"""Drawn machines behind a whole one."""

_LONGEST_MACHINE = 2**20
"""Bytes; longer files are refused when they are read."""
_CODE = ("fluid", "laws", "parts", "machine", "twin", "checks", "causes")
_OWN_CODE = ("building.py", "signature_set.py", "surrogate.py", "regression.py", "transform.py", "student.py")
_TABLES = ("roles", "instruments", "cautions", "spreads", "history")
_DATA = ("checks", "causes", *(f"{name}.yaml" for name in _TABLES))


_LIKE = re.compile(rb"""^["']?like["']?\s*:\s*["']?([^"'#\r\n]+?)["']?\s*(?:#.*)?$""", re.MULTILINE)
_MOST_LIKE = 8
"""Files that may stand one on the other."""


def _library() -> dict[str, Traversable]:
    folder = resources.files("collaudo") / "library" / "machines"
    return {f.name.removesuffix(".yaml"): f for f in folder.iterdir() if f.name.endswith(".yaml")}


def machine_bytes(machine: str) -> bytes:
    """The texts of a machine of the library, or of a machine file, and of those it is ``like``."""
    library = _library()
    texts: list[bytes] = []
    folder: Path | None = Path()
    word = machine
    for _ in range(_MOST_LIKE + 1):
        if word in library:
            texts.append(library[word].read_bytes())
            folder = None
        elif folder is not None and word.endswith((".yaml", ".yml")) and (folder / word).is_file():
            with (folder / word).open("rb") as file:
                texts.append(file.read(_LONGEST_MACHINE))
            folder = (folder / word).parent
        elif not texts:
            raise unknown_name("machine", machine[:60], library)
        else:
            break  # what is wrong with it is said when it is read
        if not (found := _LIKE.search(texts[-1])):
            break
        word = found.group(1).decode("utf-8", "replace")
    return b"\0".join(texts)


def key_of(machine: str) -> str:
    """Key of the signatures of a machine; changes with the machine, the twin, checks, causes and spreads."""
    digest = hashlib.sha256(machine_bytes(machine))
    package = resources.files("collaudo")
    for name in _CODE:
        _add(package / name, ".py", digest)
    for name in _OWN_CODE:
        _add(package / "diagnosis" / name, ".py", digest)
    for name in _DATA:
        _add(package / "library" / name, ".yaml", digest)
    return digest.hexdigest()[:24]


def _add(place: Traversable, ending: str, digest: hashlib._Hash) -> None:
    if place.is_file():
        if place.name.endswith(ending):
            digest.update(place.name.encode())
            digest.update(place.read_bytes())
        return
    for inner in sorted(place.iterdir(), key=lambda item: item.name):
        if inner.name != "__pycache__":
            _add(inner, ending, digest)


def folder() -> Path:
    """Folder of all signatures: ``COLLAUDO_SIGNATURES`` where that is set, else one of the cache."""
    chosen = os.environ.get("COLLAUDO_SIGNATURES")
    return Path(chosen) if chosen else cache_folder() / "signatures"


def draw_file(key: str, number: int) -> Path:
    """What one draw gave."""
    return folder() / key / f"draw-{number:03d}.json"


def set_file(key: str, draws: int) -> Path:
    """The finished signatures of so many draws."""
    return folder() / key / f"signatures-{draws:03d}.npz"


def draws_in(file: Path) -> int:
    """How many draws a file of `set_file` holds."""
    return int(file.stem.rpartition("-")[2])


def best_set(key: str) -> Path | None:
    """The finished signatures of most draws, if there are any."""
    files = sorted((folder() / key).glob("signatures-*.npz"))
    return files[-1] if files else None
