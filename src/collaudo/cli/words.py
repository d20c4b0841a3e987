"""Chances, values and times as they are read out at the bench."""

from __future__ import annotations

import math
import textwrap

from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import unit_of

WIDTH = 100
"""Columns of printed answers."""


def chance_in_words(chance: float) -> str:
    """A rounded chance: ``7 in 10``, ``3 in 100``; never more exact than it is known, never certain."""
    if chance < 0.01:
        return "under 1 in 100"
    if chance < 0.095:
        return f"{round(100 * chance)} in 100"
    if chance < 0.95:
        return f"{min(9, math.floor(10 * chance + 0.5))} in 10"
    return "over 9 in 10" if chance <= 0.99 else "over 99 in 100"


def value_in_words(value: float | str | None, unit: str) -> str:
    """A reading as it was taken: ``9.6 bar``, ``dry``, ``never``."""
    if value is None:
        return "never"
    return value if isinstance(value, str) else f"{value:.4g} {unit_of(unit).text}".rstrip()


def range_in_words(low: float, high: float, unit: str) -> str:
    """``9.1 to 9.8 bar``, with the digits an instrument of the bench shows."""
    digits = digits_of(high, unit)
    first, last = with_digits(low, digits), with_digits(high, digits)
    span = first if first == last else f"{first} to {last}"
    return f"{span} {unit_of(unit).text}".rstrip()


def minutes_in_words(minutes: float, waiting: float = 0.0) -> str:
    """``4 min``, or ``4 min and 8 min waiting``."""
    at_work = f"{max(1, round(minutes))} min"
    return f"{at_work} and {round(waiting)} min waiting" if waiting >= 0.5 else at_work


def wrapped(text: str, first: str, rest: str | None = None) -> list[str]:
    """``text`` in lines of `WIDTH` behind ``first``, further lines behind ``rest`` (as wide as ``first``)."""
    hanging = " " * len(first) if rest is None else rest
    lines = textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=hanging, break_on_hyphens=False
    )
    return lines or [first.rstrip()]
