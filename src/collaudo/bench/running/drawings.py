"""The three diagrams of a machine for the screen of a stand."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.drawing.draw import KINDS
from collaudo.drawing.screen import ScreenDrawing, screen_drawing
from collaudo.machine.model import Machine


@dataclass(frozen=True)
class StandDrawings:
    """Water, current and heat of one machine."""

    water: ScreenDrawing
    current: ScreenDrawing
    heat: ScreenDrawing


def drawings_of(machine: Machine) -> StandDrawings:
    """All three; each takes some tenths of a second."""
    return StandDrawings(**{of: screen_drawing(machine, of) for of in KINDS})
