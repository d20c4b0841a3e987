"""What colours and lines of a sheet mean, at its lower left."""

from __future__ import annotations

from collaudo.drawing.flows import BOUNDS_DEGC
from collaudo.drawing.items import Text
from collaudo.drawing.page import BORDER, LEFT, Page
from collaudo.drawing.svg import number, text_svg

SWATCH = 44.0
SIZE = 10.0
HEAT_AT = 190.0
"""Where the second column begins."""


def legend_texts(page: Page, of: str, *, running: bool) -> list[Text]:
    """The words of the legend."""
    y = page.height - BORDER
    if of == "current":
        words = (
            "thick: joined to live; grey: cut off from it"
            if running
            else "drawn without current, pressure or heat"
        )
        return [Text(words, LEFT + 14, y - 16, size=SIZE)]
    texts = [Text("touches, feels or moves", LEFT + 52, y - 16, size=SIZE)]
    if of == "heat":
        texts.append(
            Text("heat; where it ends in nothing: to the room", LEFT + HEAT_AT + 52, y - 16, size=SIZE)
        )
    if running:
        texts.append(Text("nothing flows", LEFT + 52, y - 34, size=SIZE))
        texts.append(Text("temperature of what flows, °C", LEFT + 14, y - 80, size=SIZE))
        texts += [
            Text(f"{bound:g}", LEFT + 14 + SWATCH * (k + 1), y - 52, "middle", size=SIZE)
            for k, bound in enumerate(BOUNDS_DEGC)
        ]
    else:
        texts.append(Text("water or steam", LEFT + 52, y - 34, size=SIZE))
    return texts


def legend_svg(page: Page, of: str, texts: list[Text], *, running: bool) -> str:
    """The legend."""
    y = page.height - BORDER
    pieces = [text_svg(text) for text in texts]
    if of != "current":
        kind = "still" if running else ""
        pieces.append(f'<path class="run {kind}" d="M{LEFT + 14:g} {number(y - 38)}h30"/>')
        pieces.append(f'<g class="link"><path class="run" d="M{LEFT + 14:g} {number(y - 20)}h30"/></g>')
    if of == "heat":
        x, at = LEFT + 14 + HEAT_AT, number(y - 20)
        pieces.append(f'<path class="heat" d="M{x:g} {at}h24"/>')
        pieces.append(f'<path class="heat-head" d="M{x + 32:g} {at}l-10 -4.5v9Z"/>')
    if of != "current" and running:
        pieces += [_swatch(k, y - 68) for k in range(len(BOUNDS_DEGC) + 1)]
    return f'<g class="legend">{"".join(pieces)}</g>'


def _swatch(place: int, y: float) -> str:
    """One colour of the temperature scale."""
    x = LEFT + 14 + SWATCH * place + 2
    return f'<path class="run flows t{place} swatch" d="M{number(x)} {number(y)}h{SWATCH - 4:g}"/>'
