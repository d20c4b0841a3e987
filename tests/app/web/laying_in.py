"""Things of one's own, laid into the bench's folder as if they had been entered."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

from tests.app.web.walking import EXAMPLES

SCRIPT = "<script>fired()</script>"
"""Runs where a text is taken for a page."""
MARK = "kept as typed"
NASTY = f"""{MARK} {SCRIPT}<img src=x onerror=fired()>"'><svg onload=fired()>{{{{7*7}}}}${{7*7}}"""
"""Short enough for any label."""
OWN_MACHINE = "own-nasty"


def lay_in_sheet(data: Path, sheet: str = EXAMPLES["sheet"], **more: Any) -> str:
    """A findings sheet of the example's machine whose label and note are `NASTY`; its id."""
    file = data / "findings" / f"{sheet}.jsonl"
    if not file.exists():
        file.parent.mkdir(parents=True, exist_ok=True)
        begin = {"kind": "begin", "machine": EXAMPLES["machine"], "label": NASTY} | more
        told = [
            begin,
            {"kind": "complaint", "words": ["slow"]},
            {"kind": "note", "text": NASTY},
            {"kind": "reading", "check": "free-flow", "reading": "water", "value": 31.0, "unit": "g"},
        ]
        lines = [
            json.dumps({"entry": f"laid-in-{sheet}-{n}", "at": "2026-01-01T08:00:00+00:00"} | one)
            for n, one in enumerate(told)
        ]
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return sheet


def lay_in_machine(data: Path) -> str:
    """A machine of one's own with `NASTY` in its title and its comments; its id."""
    file = data / "machines" / f"{OWN_MACHINE}.yaml"
    file.parent.mkdir(parents=True, exist_ok=True)
    title = NASTY.replace("'", "''")
    lines = [f"# {NASTY}", f"machine: {OWN_MACHINE}", f"title: '{title}'", f"like: {EXAMPLES['machine']}"]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return OWN_MACHINE


def lend_signatures(data: Path) -> None:
    """Let the own machine have the made-up signatures of the one it is like: none are built for it."""
    from collaudo.diagnosis.cache import DRAWS, key_of, set_file

    own = set_file(key_of(str(data / "machines" / f"{OWN_MACHINE}.yaml")), DRAWS)
    own.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(set_file(key_of(EXAMPLES["machine"]), DRAWS), own)
