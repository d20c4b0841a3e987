"""From a template and its content to a PDF. No other module knows by what it is set (decision 0009).

A template is a file of ``templates``; its content reaches it as data, never as markup, so that no text can
change the page or read a file. The same content gives the same bytes: fonts come with the package, the date
with the content. PDFs are tagged, and are PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1) at once where
every sign has a glyph.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import typst

from collaudo.errors import RunError

_HERE = Path(__file__).parent
TEMPLATES, FONTS = _HERE / "templates", _HERE / "fonts"
_ATTEMPTS = ((True, True), (False, True), (False, False))
"""Whether only the package's own fonts are used, and whether the standards are kept."""


def typeset(template: str, content: Mapping[str, Any], on: datetime.date) -> bytes:
    """The PDF of ``template`` filled with ``content`` (what JSON can say), dated ``on``.

    A text with signs that no font of the package has is set with fonts of this computer, and, where these
    lack them too, without the standards, which ask for a glyph for every sign. Raises `RunError` where no
    page can be made.
    """
    stamp = datetime.datetime.combine(on, datetime.time(), datetime.UTC)
    fault = ""
    for own_fonts_only, keeping_standards in _ATTEMPTS:
        compiler = _compiler(template, content, own_fonts_only=own_fonts_only)
        try:
            made = compiler.compile(
                format="pdf", pdf_standards=["a-2a", "ua-1"] if keeping_standards else [], timestamp=stamp
            )
        except typst.TypstError as error:
            fault = str(error)
            continue
        if isinstance(made, bytes):
            return made
    raise RunError(f"{template}: the page cannot be set: {fault[:500]}")


def pages(template: str, content: Mapping[str, Any]) -> int:
    """How many pages ``template`` takes with ``content``; it says so itself, by its metadata ``<pages>``."""
    compiler = _compiler(template, content, own_fonts_only=True)
    return int(json.loads(compiler.query("<pages>", field="value", one=True)))


def _compiler(template: str, content: Mapping[str, Any], *, own_fonts_only: bool) -> typst.Compiler:
    return typst.Compiler(
        TEMPLATES / template,
        root=TEMPLATES,
        font_paths=[FONTS],
        ignore_system_fonts=own_fonts_only,
        sys_inputs={"content": json.dumps(content)},
    )
