"""Self-contained HTML: one file, no script, nothing asked for from outside, every text escaped.

Elements are made by `tag`, which escapes; only what it returned stands unescaped inside another. The page is
well-formed XML too, so that any reader of XML can take values out of it.
"""

from __future__ import annotations

import html
from pathlib import Path

_STYLES = Path(__file__).parent / "templates"
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""Whatever a page holds, a browser loads nothing and runs nothing for it."""


class Markup(str):
    """Text that is markup already."""

    __slots__ = ()


def tag(element: str, /, *inside: str | None, **attributes: str | int | None) -> Markup:
    """An element; texts inside are escaped, `Markup` is not, None is left out.

    Attributes are written without the underscore that keeps them apart from Python's words (``class_``).
    """
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{html.escape(str(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    content = "".join(
        item if isinstance(item, Markup) else html.escape(item) for item in inside if item is not None
    )
    if element in ("meta", "br"):
        return Markup(f"<{element}{written} />")
    return Markup(f"<{element}{written}>{content}</{element}>")


def page(title: str, style: str, *body: str) -> str:
    """A whole page; ``style`` names a file of ``templates`` that goes behind ``paper.css``."""
    css = "".join((_STYLES / name).read_text(encoding="utf-8") for name in ("paper.css", style))
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", title),
        tag("style", Markup(css)),
    )
    whole = tag("html", head, Markup("\n"), tag("body", tag("main", *body)), lang="en")
    return f"<!DOCTYPE html>\n{whole}\n"
