"""The one place where numerical functions are handed to the compiler.

Every law and every kernel function is plain Python that also runs uncompiled: set the
environment variable ``COLLAUDO_UNCOMPILED=1`` before import (coverage, debugging, mutation tests).

The machine code is kept in a folder whose name is a hash of *all* numerical sources, because the
compiler's own cache looks only at the file of the outermost function and would return stale code
when a law in another file changes.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[..., Any])

UNCOMPILED = os.environ.get("COLLAUDO_UNCOMPILED", "") == "1"

# Full fast-math would delete the tests for not-a-number that guard every step.
_FAST = {"contract", "arcp", "nsz", "reassoc"}
_NUMERICAL_FOLDERS = ("fluid", "laws", "twin/kernel")


def cache_folder() -> Path:
    """Folder for everything that can be made again (compiled code, signatures)."""
    if chosen := os.environ.get("COLLAUDO_CACHE"):
        return Path(chosen)
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "collaudo"


def sources_hash() -> str:
    """Hash of every file whose change may change the compiled code."""
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for folder in _NUMERICAL_FOLDERS:
        for path in sorted((root / folder).rglob("*.py")):
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes())
    digest.update(Path(__file__).read_bytes())
    return digest.hexdigest()[:16]


def _kernel_folder() -> Path:
    return cache_folder() / "kernel" / sources_hash()


_taken: set[str] = set()


@contextmanager
def compiled_by_one(name: str) -> Iterator[None]:
    """Around the first call of the compiled function ``name``: one process compiles, the others wait.

    Compiling the kernel takes minutes of one core; processes that start together would each do it. Those that
    waited take the machine code from the folder. Later calls pass at once.
    """
    if UNCOMPILED or name in _taken:
        yield
        return
    # The compiler keeps code by where its source lies, too.
    place = hashlib.sha256(str(Path(__file__).resolve().parent).encode()).hexdigest()[:8]
    done = _kernel_folder() / f"{name}-{place}.done"
    if done.exists():
        yield
    else:
        from filelock import FileLock

        with FileLock(done.with_suffix(".lock")):
            yield
            done.touch()
    _taken.add(name)


def _make_compiler() -> Callable[[F, bool], F]:
    folder = _kernel_folder()
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    import numba

    numba.config.CACHE_DIR = str(folder)

    def compile_function(function: F, inline: bool) -> F:
        compiled_function: F = numba.njit(
            cache=True, nogil=True, fastmath=_FAST, error_model="numpy", forceinline=inline, _nrt=False
        )(function)
        return compiled_function

    return compile_function


_compiler: Callable[[Any, bool], Any] | None = None


def compiled(function: F) -> F:
    """Mark a numerical function for compilation (unchanged when ``COLLAUDO_UNCOMPILED=1``)."""
    return _compile(function, False)


def inlined(function: F) -> F:
    """As `compiled`, for a function called from one or two places with many tables: no call is made of it."""
    return _compile(function, True)


def _compile(function: F, inline: bool) -> F:
    global _compiler
    if UNCOMPILED:
        return function
    if _compiler is None:
        _compiler = _make_compiler()
    result: F = _compiler(function, inline)
    return result
