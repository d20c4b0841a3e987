"""Values a machine file declares: with the digits they are given with, in the visitor's units."""

from __future__ import annotations

from markupsafe import Markup, escape

from collaudo.quantities.units import Choice, unit_of
from collaudo.web.asking.units import NARROW, converted

DIGITS = 4


def declared(value: float | str, unit: str, choice: Choice) -> Markup:
    """``<data class="declared">`` with the value as the file has it, shown to four digits; words as they
    are."""
    if isinstance(value, str):
        return Markup("{}").format(value or "–")
    shown, chosen = converted(value, unit, choice)
    text = f"{plain(shown)}{NARROW}{unit_of(chosen).text if chosen else ''}".rstrip()
    return Markup('<data class="declared" value="{}" data-unit="{}">{}</data>').format(
        f"{value:.10g}", unit, text
    )


def declared_span(low: float, high: float, unit: str, choice: Choice) -> Markup:
    """From low to high, the unit once."""
    (a, chosen), (b, _) = converted(low, unit, choice), converted(high, unit, choice)
    text = f"{plain(a)} to {plain(b)}{NARROW}{unit_of(chosen).text if chosen else ''}".rstrip()
    return Markup('<data class="declared" value="{}" data-to="{}" data-unit="{}">{}</data>').format(
        f"{low:.10g}", f"{high:.10g}", unit, escape(text)
    )


def plain(value: float) -> str:
    """A number to four digits, with a true minus, never with an exponent but for very small or large ones."""
    text = f"{value:.{DIGITS}g}"
    if "e" in text and 1e4 <= abs(value) < 1e7:
        text = f"{float(text):.0f}"
    return text.replace("-", "\N{MINUS SIGN}", 1) if value < 0 else text
