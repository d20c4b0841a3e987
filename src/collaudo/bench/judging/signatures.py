"""Signatures of a machine: building them with all cores, going on with a build that stopped, what is kept."""

from __future__ import annotations

import time
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from collaudo.bench.judging.workers import workers
from collaudo.diagnosis.cache import DRAWS, best_set, draw_file, draws_in, folder, key_of, set_file
from collaudo.diagnosis.signature_set import SignatureSet
from collaudo.diagnosis.surrogate import Surrogate, load_with_surrogate
from collaudo.errors import CatalogueError, RunError

Progress = Callable[[int, int], None]
"""Told how many drawn machines are done, and of how many."""
LEAST_DRAWS = 2


@dataclass(frozen=True)
class Built:
    """A finished build."""

    machine: str
    draws: int
    wall_s: float
    file: str


@dataclass(frozen=True)
class Kept:
    """What the cache holds of one machine of the library, as it is now."""

    machine: str
    draws: int
    """Drawn machines of the finished signatures; 0 where there are none."""
    begun: int
    """Drawn machines that are done, finished signatures or not."""


def build_signatures(machine: str, draws: int | None = None, progress: Progress | None = None) -> Built:
    """Build the signatures of ``machine`` with so many drawn machines, or find them built.

    A build that is broken off keeps what is done. Raises `InputError` for what cannot be used.
    """
    begin = time.monotonic()
    key, wanted = key_of(machine), draws or DRAWS
    _mended(set_file(key, wanted))
    with builder(machine, key, progress) as build:
        file = build(wanted)
    return Built(machine, wanted, time.monotonic() - begin, str(file))


@contextmanager
def builder(
    machine: str, key: str, progress: Progress | None = None, *, sound_only: bool = False
) -> Iterator[Callable[[int], Path]]:
    """Gives a function that builds with so many draws; its calls share compiled code and processes."""
    # Only now, for loading the compiled twin takes longer than an answer from the cache.
    from collaudo.diagnosis.building import build

    with workers(machine) as crew:

        def build_with(draws: int) -> Path:
            if progress is not None:
                progress(_done(f"{key}-sound" if sound_only else key, draws), draws)
            crew.compile()
            try:
                return build(machine, key, draws, crew.pool, progress, sound_only)
            except BrokenProcessPool:
                raise RunError(
                    "a process that draws machines ended by itself -- free memory, then build again: "
                    "what is done is kept"
                ) from None

        yield build_with


def _done(key: str, draws: int) -> int:
    return sum(draw_file(key, number).is_file() for number in range(draws))


def load_best(key: str) -> tuple[SignatureSet, Surrogate] | None:
    """The signatures of most draws under a key; a file that cannot be read is put away."""
    while (file := best_set(key)) is not None:
        if (found := _read(file)) is not None:
            return found
        file.unlink()
    return None


def _mended(file: Path) -> None:
    """Put a file away that cannot be read."""
    if file.is_file() and _read(file) is None:
        file.unlink()


def _read(file: Path) -> tuple[SignatureSet, Surrogate] | None:
    try:
        with zipfile.ZipFile(file):  # NumPy would leave a damaged file open
            pass
        return load_with_surrogate(file)
    except (ValueError, KeyError, EOFError, zipfile.BadZipFile, CatalogueError):
        return None


def kept_signatures() -> list[Kept]:
    """What the cache holds of each machine of the library."""
    from collaudo.machine.load import library_ids

    found = []
    for machine in library_ids():
        key = key_of(machine)
        file = best_set(key)
        begun = len(list((folder() / key).glob("draw-*.json")))
        found.append(Kept(machine, draws_in(file) if file else 0, begun))
    return found


def kept_otherwise_bytes() -> int:
    """Size of signatures of other machines, and of these as they were before a change."""
    from collaudo.machine.load import library_ids

    current = {key_of(machine) for machine in library_ids()}
    current |= {f"{key}-sound" for key in current}
    if not folder().is_dir():
        return 0
    others = [place for place in folder().iterdir() if place.is_dir() and place.name not in current]
    return sum(file.stat().st_size for place in others for file in place.rglob("*") if file.is_file())
