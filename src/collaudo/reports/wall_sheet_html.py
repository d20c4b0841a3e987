"""The wall sheet as one HTML file, for the screen and for print."""

from __future__ import annotations

from collaudo.reports.html import Markup, page, tag
from collaudo.reports.wall_sheet import Block, Group, Row, WallSheet
from collaudo.reports.wording import ALWAYS, CLEARS_NOTHING, PROVES_NOTHING

_BY_HAND = ("Machine, number", "Job", "Read on", "Read by")
_COLUMNS = ("reading", "low", "typical", "high", "unit", "found here", "taken with; why")


def wall_sheet_html(sheet: WallSheet) -> str:
    """The sheet as the text of one HTML file."""
    return page(
        f"{sheet.title}: expected readings",
        "wall_sheet.css",
        _head(sheet),
        *(_group(group) for group in sheet.groups),
        tag("footer", tag("p", PROVES_NOTHING), tag("p", f"collaudo {sheet.version} · {sheet.date}")),
    )


def _head(sheet: WallSheet) -> Markup:
    facts = [("Site", sheet.site), ("Settings", sheet.settings)]
    if sheet.open:
        facts.append(("Not said; known, it would narrow the ranges", sheet.open))
    return tag(
        "header",
        tag("p", "Expected readings of a sound machine", class_="small"),
        tag("h1", sheet.title),
        tag("dl", *(tag("div", tag("dt", name), tag("dd", value)) for name, value in facts)),
        tag("div", *(tag("span", name) for name in _BY_HAND), class_="fill-in"),
        tag(
            "div",
            tag(
                "p",
                tag("strong", "Nine of ten sound machines lie between low and high"),
                f", from {sheet.draws} machines drawn and run. {PROVES_NOTHING} {CLEARS_NOTHING}",
            ),
            tag("ul", *(tag("li", text) for text in ALWAYS)),
            class_="notice",
        ),
    )


def _group(group: Group) -> Markup:
    cautions = (tag("p", _warning(word), " ", text, class_="caution") for word, text in group.cautions)
    return tag(
        "section",
        tag("h2", group.title, tag("span", f" {group.when}", class_="small") if group.when else None),
        *cautions,
        *(_block(block) for block in group.blocks),
        class_=group.condition,
    )


def _block(block: Block) -> Markup:
    heading = tag(
        "h3",
        block.title,
        *(part for word in block.tags for part in (" ", _warning(word))),
        tag("span", f" {block.takes}", class_="takes"),
    )
    tools = tag("p", f"Tools: {block.tools}.") if block.tools else None
    steps = tag("ol", *(tag("li", step) for step in block.steps))
    how = tag("details", tag("summary", "How it is made"), tools, steps)
    columns = tag("thead", tag("tr", *(tag("th", name, scope="col") for name in _COLUMNS)))
    table = tag("table", columns, tag("tbody", *(_row(row) for row in block.rows)))
    return tag("article", heading, tag("p", block.why, class_="why"), how, table)


def _row(row: Row) -> Markup:
    others = f"else {row.others}" if row.others else ""
    notes = ": ".join(part for part in (row.instrument, row.why, others) if part)
    if row.typical:
        shown = [
            tag("td", row.low, class_="number"),
            tag("td", row.typical, class_="number typical"),
            tag("td", row.high, class_="number"),
            tag("td", row.unit),
        ]
    else:
        shown = [tag("td", row.usual, colspan=4, class_="usual")]
    return tag(
        "tr",
        tag("th", row.title, scope="row"),
        *shown,
        tag("td", class_="here"),
        tag("td", notes, class_="notes"),
    )


def _warning(word: str) -> Markup:
    return tag("span", word, class_="warning")
