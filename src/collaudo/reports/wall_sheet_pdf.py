"""The wall sheet as a PDF, as large as it can be on the pages a wall has room for."""

from __future__ import annotations

import datetime
from dataclasses import asdict
from typing import Any

from collaudo.reports.typeset import pages, typeset
from collaudo.reports.wall_sheet import WallSheet
from collaudo.reports.wording import ALWAYS, CLEARS_NOTHING, PROVES_NOTHING

MOST_PAGES = 4
SCALES = (1.1, 1.05, 1.0, 0.96, 0.92, 0.88, 0.85, 0.82)
"""Tried from the largest on. Smaller than the last is not read at arm's length; then a page more is taken."""
_TEMPLATE = "wall_sheet.typ"


def wall_sheet_pdf(sheet: WallSheet, on: datetime.date) -> bytes:
    """The sheet on A4 as a PDF, dated ``on``."""
    scale = next((scale for scale in SCALES if _fits(sheet, scale)), SCALES[-1])
    return typeset(_TEMPLATE, _content(sheet, scale), on)


def _fits(sheet: WallSheet, scale: float) -> bool:
    return pages(_TEMPLATE, _content(sheet, scale)) <= MOST_PAGES


def _content(sheet: WallSheet, scale: float) -> dict[str, Any]:
    return {
        "sheet": asdict(sheet),
        "scale": scale,
        "always": ALWAYS,
        "proves_nothing": PROVES_NOTHING,
        "clears_nothing": CLEARS_NOTHING,
    }
