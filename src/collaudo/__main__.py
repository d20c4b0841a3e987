"""The program: ``collaudo`` and ``python -m collaudo``. Hands the command line what the other face gives."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from collaudo.cli.main import main as command_line
from collaudo.cli.output import note


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    return command_line(argv, server=_serve)


def _serve(*, data: Path | None, port: int, lan: bool, phrase: str, open_at: str | None) -> int:
    from collaudo.web.serving import serve_folder

    return serve_folder(data, port=port, lan=lan, phrase=phrase, open_at=open_at, say=note)


if __name__ == "__main__":
    sys.exit(main())
