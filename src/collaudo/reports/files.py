"""Papers as files: the ending of the name says in which form."""

from __future__ import annotations

import datetime
from pathlib import Path

from collaudo.bench.sound.expected import Expectations
from collaudo.errors import InputError, Problem, near_misses
from collaudo.reports.wall_sheet import wall_sheet
from collaudo.reports.wall_sheet_html import wall_sheet_html

FORMS = (".html", ".pdf")


def form_of(file: str) -> str:
    """The form that the ending of ``file`` asks for; `InputError` for any other, or where no folder is."""
    path = Path(file)
    ending = path.suffix.lower()
    if ending not in FORMS:
        remedy = f"end the name in {' or '.join(FORMS)}" if not ending else near_misses(ending, FORMS)
        raise InputError(Problem(f"a sheet is no {ending or 'file without ending'}", remedy, file))
    if path.is_dir():
        raise InputError(Problem("this is a folder", "name a file in it", file))
    if not path.parent.is_dir():
        raise InputError(Problem(f"there is no folder {str(path.parent)!r}", "make it first", file))
    return ending


def write_wall_sheet(file: str, found: Expectations, on: datetime.date | None = None) -> None:
    """Write the wall sheet of ``found`` to ``file``, as HTML or PDF, dated today unless ``on`` is given."""
    form, on = form_of(file), on or datetime.date.today()
    sheet = wall_sheet(found, on)
    if form == ".html":
        made = wall_sheet_html(sheet).encode()
    else:
        from collaudo.reports.wall_sheet_pdf import wall_sheet_pdf

        made = wall_sheet_pdf(sheet, on)
    Path(file).write_bytes(made)
