"""The shapes a portrait is put together from: a data file, and those whose size goes with the part."""

from __future__ import annotations

from functools import cache
from importlib import resources

import yaml

from collaudo.drawing.portrait.features import Heated
from collaudo.drawing.svg import number

FOLDER = "collaudo.drawing.portrait"
LEG_mm = 7.0
"""Height of one leg of an element, in units of the picture."""


def style() -> str:
    """The picture's own style, for light and dark."""
    return (resources.files(FOLDER) / "style.css").read_text(encoding="utf-8")


@cache
def _shapes() -> dict[str, str]:
    text = (resources.files(FOLDER) / "shapes.yaml").read_text(encoding="utf-8")
    found: dict[str, str] = yaml.safe_load(text)
    return found


def placed(name: str, x: float, y: float, *, mirrored: bool = False) -> str:
    """A shape of the data file with the middle of its upper edge at ``x``, ``y``."""
    turn = " scale(-1 1)" if mirrored else ""
    return f'<g transform="translate({number(x)} {number(y)}){turn}">{_shapes()[name].strip()}</g>'


def size_of(heated: Heated) -> tuple[float, float]:
    """Width and height it is drawn with: it grows with the edge of a cube of its volume."""
    if heated.way == "block":
        return 74.0, 40.0
    edge = min(max(heated.volume_l, 0.1), 30.0) ** (1 / 3)
    return 20.0 + 42.0 * edge, 20.0 + 11.0 * edge


def vessel(heated: Heated, x: float, y: float, width: float, height: float) -> str:
    """A boiler from its left upper corner: its water and the legs of its element."""
    round_ = min(11.0, height / 2)
    level = y + height * (1.0 - heated.filled_share)
    out = [f'<rect class="paper" {_box(x, y, width, height)} rx="{number(round_)}"/>']
    if heated.way == "steam":
        low, high = y + height, max(level, y + 2)
        out.append(
            f'<path class="tint" d="M{number(x + 1)} {number(high)}H{number(x + width - 1)}'
            f"V{number(low - round_)}q0 {number(round_ - 1)} {number(-round_)} {number(round_ - 1)}"
            f"H{number(x + 1 + round_)}q{number(-round_)} 0 {number(-round_)} {number(1 - round_)}Z"
            f'"/><path class="thin" d="M{number(x + 1)} {number(high)}H{number(x + width - 1)}"/>'
        )
    else:
        out.append(
            f'<rect class="tint" {_box(x + 1, y + 1, width - 2, height - 2)} rx="{number(round_ - 1)}"/>'
        )
    return "".join([*out, *_legs(heated, x, y, width, height)])


def _legs(heated: Heated, x: float, y: float, width: float, height: float) -> list[str]:
    """Hairpins from the right end, one a leg, above one another from the bottom."""
    reach = width * 0.6
    out = []
    for leg in range(heated.legs):
        low = y + height - 5 - leg * (LEG_mm + 2)
        out.append(
            f'<path class="heavy" d="M{number(x + width + 3)} {number(low)}H{number(x + width - reach)}'
            f'a2.5 2.5 0 0 1 0 -5H{number(x + width + 3)}"/>'
        )
    return out


def block(x: float, y: float, width: float, height: float) -> str:
    """A heated block: the coil of its channel from left to bottom, the element's rods between the turns."""
    turns = 4
    pitch = (height - 12) / (turns - 1)
    left, right = x + 12, x + width - 12
    way = f"M{number(x - 4)} {number(y + 6)}H{number(right)}"
    for turn in range(1, turns):
        down, side = number(pitch), left if turn % 2 == 0 else right
        bulge = number(pitch / 2)
        sweep = 1 if side == right else 0
        way += f"a{bulge} {bulge} 0 0 {sweep} 0 {down}H{number(left if side == right else right)}"
    levels = [y + 6 + pitch * (turn + 0.5) for turn in range(turns - 1)]
    rods = "".join(
        f'<path class="heavy" d="M{number(left + 6)} {number(level)}H{number(right - 6)}"/>'
        for level in levels
    )
    case = f'<rect class="paper" {_box(x, y, width, height)} rx="2"/>'
    return f'{case}<path class="pipe coil" d="{way}"/><path class="bore coil" d="{way}"/>{rods}'


def tube(x: float, top: float, foot: float) -> str:
    """An exchanger tube: up from the group on one side, through the boiler's water, down on the other."""
    way = f"M{number(x - 8)} {number(foot)}V{number(top + 8)}a8 8 0 0 1 16 0V{number(foot)}"
    return f'<path class="pipe" d="{way}"/><path class="bore" d="{way}"/>'


def tank(x: float, y: float, width: float, height: float) -> str:
    """An open tank with water in it."""
    level = y + height * 0.35
    waves = f"M{number(x)} {number(level)}" + "q4 -4 8 0t8 0" * round(width / 16)
    return (
        f'<path class="tint" d="{waves}V{number(y + height)}H{number(x)}Z"/><path class="thin" d="{waves}"/>'
        f'<path d="M{number(x)} {number(y)}V{number(y + height)}H{number(x + width)}V{number(y)}"/>'
    )


def _box(x: float, y: float, width: float, height: float) -> str:
    return f'x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}"'
