"""The paper: size, frame, title block, legend."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.drawing.items import Text
from collaudo.drawing.letters import text_width, wrapped
from collaudo.drawing.plane import Box
from collaudo.drawing.svg import number, text_svg

# ISO 216 sheets in quarters of a millimetre.
SHEETS = {
    "A4": (1188.0, 840.0),
    "A4 upright": (840.0, 1188.0),
    "A3": (1680.0, 1188.0),
    "A3 upright": (1188.0, 1680.0),
}
# ISO 5457: borders of 20 mm at the left, where sheets are filed, and 10 mm elsewhere.
LEFT, BORDER = 80.0, 40.0
TITLE_WIDTH, TITLE_HEIGHT = 560.0, 96.0
"""The title block at the lower right (ISO 7200: no wider than 180 mm)."""
SHARES = (0.36, 0.24, 0.2, 0.2)
"""Of the title block's width for each heading."""
LEAST_SCALE = 0.8
"""A sheet on which the drawing must be made smaller than this is too small where there is a larger one."""


@dataclass(frozen=True)
class Page:
    """A sheet of paper with the drawing's place and scale on it."""

    name: str
    width: float
    height: float
    scale: float
    x: float
    y: float

    @property
    def title_block(self) -> Box:
        """Where the title block stands."""
        right, bottom = self.width - BORDER, self.height - BORDER
        return Box(right - TITLE_WIDTH, bottom - TITLE_HEIGHT, right, bottom)


def page_for(drawing: Box) -> Page:
    """The smallest sheet that takes a drawing; on the largest it is made smaller if it must be."""
    pages = [_fitted(name, drawing) for name in SHEETS]
    small = max(pages[:2], key=lambda page: page.scale)
    return small if small.scale >= LEAST_SCALE else max(pages[2:], key=lambda page: page.scale)


def _fitted(name: str, drawing: Box) -> Page:
    width, height = SHEETS[name]
    free = Box(LEFT + 12, BORDER + 12, width - BORDER - 12, height - BORDER - TITLE_HEIGHT - 12)
    scale = min(1.0, free.width / drawing.width, free.height / drawing.height)
    x = free.left + (free.width - scale * drawing.width) / 2 - scale * drawing.left
    y = free.top + (free.height - scale * drawing.height) / 2 - scale * drawing.top
    return Page(name, width, height, scale, x, y)


def title_texts(page: Page, title: str, rows: list[tuple[str, str]]) -> list[Text]:
    """The title block's lines: the title, then pairs of a heading and what is under it."""
    box = page.title_block
    lines = wrapped(title, TITLE_WIDTH - 24, 16.0, bold=True)[:2]
    texts = [
        Text(line, box.left + 12, box.top + 24 + 20 * k, css="label head", size=16.0)
        for k, line in enumerate(lines)
    ]
    x = box.left + 12
    for (head, value), share in zip(rows, SHARES, strict=False):
        room = (TITLE_WIDTH - 24) * share
        texts.append(Text(head, x, box.top + 68, css="label", size=10.0))
        texts.append(Text(_cut(value, room - 8), x, box.top + 84))
        x += room
    return texts


def _cut(text: str, room: float) -> str:
    while text_width(text) > room:
        text = text[:-2].rstrip() + "…" if len(text) > 2 else ""
    return text


def frame_svg(page: Page, texts: list[Text]) -> str:
    """Frame and title block."""
    box = page.title_block
    right, bottom = number(page.width - BORDER), number(page.height - BORDER)
    edge = f"M{LEFT:g} {BORDER:g}H{right}V{bottom}H{LEFT:g}Z"
    block = f"M{number(box.left)} {number(box.bottom)}V{number(box.top)}H{number(box.right)}"
    rule = f"M{number(box.left)} {number(box.top + 54)}H{number(box.right)}"
    words = "".join(text_svg(text) for text in texts)
    return (
        f'<g class="frame"><path class="edge" d="{edge}"/><path class="edge" d="{block}"/>'
        f'<path class="rule" d="{rule}"/>{words}</g>'
    )
