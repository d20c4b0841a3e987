"""Quantities in pages: each carries its value and unit, so that the browser can show it in others at once."""

from __future__ import annotations

import json
from functools import cache

from fastapi import Request
from markupsafe import Markup, escape

from collaudo.errors import QuantityError
from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import UNITS, Choice, from_si, to_si, unit_of

COOKIE = "units"
"""Pressure, temperature and volume as chosen, with dots between: ``psi.degF.ml``."""
CHOICES = {"pressure": ("bar", "psi"), "temperature": ("degC", "degF"), "volume": ("ml", "fl_oz")}
NARROW = "\N{NARROW NO-BREAK SPACE}"


def choice_of(request: Request) -> Choice:
    """The visitor's units; the usual ones where none were chosen."""
    words = request.cookies.get(COOKIE, "").split(".")
    chosen = dict(zip(CHOICES, words, strict=False))
    try:
        return Choice(**chosen)  # type: ignore[arg-type]  # Choice refuses every other word
    except QuantityError:
        return Choice()


def converted(value: float, unit: str, choice: Choice) -> tuple[float, str]:
    """A value in the visitor's unit, and that unit. A ``K`` is a difference."""
    chosen = choice.unit_for(unit) if unit else ""
    return (value, unit) if chosen == unit else (from_si(to_si(value, unit), chosen), chosen)


def number_text(value: float, unit: str = "", digits: int | None = None) -> str:
    """With the digits an instrument of the bench shows; thousands apart, a point before fractions."""
    text = with_digits(value, digits_of(value, unit) if digits is None else digits)
    whole, point, rest = text.partition(".")
    sign, whole = ("\N{MINUS SIGN}", whole[1:]) if whole.startswith("-") else ("", whole)
    grouped = f"{int(whole):,}".replace(",", NARROW) if len(whole) > 4 else whole
    return f"{sign}{grouped}{point}{rest}"


def quantity(value: float, unit: str, choice: Choice) -> Markup:
    """``<data class="quantity">`` with the value in the unit the bench has, shown in the visitor's."""
    shown, chosen = converted(value, unit, choice)
    text = f"{number_text(shown, chosen)}{NARROW}{unit_of(chosen).text}" if chosen else number_text(shown)
    return Markup('<data class="quantity" value="{}" data-unit="{}">{}</data>').format(
        f"{value:.6g}", unit, text.rstrip()
    )


def span(low: float, high: float, unit: str, choice: Choice) -> Markup:
    """From low to high, the unit once, both ends to the digits of the coarser."""
    (a, chosen), (b, _) = converted(low, unit, choice), converted(high, unit, choice)
    digits = min(digits_of(a, chosen), digits_of(b, chosen))
    text = f"{number_text(a, chosen, digits)} to {number_text(b, chosen, digits)}"
    text += f"{NARROW}{unit_of(chosen).text}" if chosen else ""
    return Markup('<data class="quantity" value="{}" data-to="{}" data-unit="{}">{}</data>').format(
        f"{low:.6g}", f"{high:.6g}", unit, escape(text.rstrip())
    )


@cache
def unit_table() -> str:
    """What the browser needs to show a value of any unit in any other, as JSON: factor and offset to SI, and
    as printed."""
    return json.dumps(
        {
            name: [float(unit.factor), float(unit.offset), unit.text, unit.dimension]
            for name, unit in UNITS.items()
        },
        ensure_ascii=True,
    ).replace("<", "\\u003c")
