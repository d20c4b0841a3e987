"""Where a person's own things are kept, and how a file is written so that a power cut leaves the old or the
new one, never half of either."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

VARIABLE = "COLLAUDO_DATA"


def data_folder() -> Path:
    """Folder of everything that was entered and cannot be made again; ``COLLAUDO_DATA`` names another."""
    if chosen := os.environ.get(VARIABLE):
        return Path(chosen)
    if sys.platform == "win32":
        base = Path(os.environ.get("APPDATA", Path.home() / "AppData" / "Roaming"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME", Path.home() / ".local" / "share"))
    return base / "collaudo"


def write_whole(file: Path, text: str) -> None:
    """Put ``text`` in place of what a file holds, on the disk before this returns."""
    file.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}-", suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        Path(name).replace(file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
