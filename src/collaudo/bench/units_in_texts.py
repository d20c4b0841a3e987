"""Quantities in the library's sentences, told in the reader's units.

The library is written in bar, degC, K and ml: "steam, water and metal above 100 degC". Whoever has chosen psi
and degF reads 212 °F there. Numbers are kept as written where the unit stays.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar

from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import Choice, from_si, to_si, unit_of

__all__ = ["in_chosen_units", "told_in_units"]

T = TypeVar("T")

_NUMBER = r"[\N{MINUS SIGN}-]?\d+(?:\.\d+)?"
_QUANTITY = re.compile(
    rf"(?<![\w.])({_NUMBER}(?:(?:, | to | and | or ){_NUMBER})*)[ \u00a0\u202f]"
    r"(bar|degC|°C|K|ml)(?![\w/]| per\b)"
)
_UNITS = {"°C": "degC"}
_TEXTS = frozenset({"title", "check_title", "why", "steps", "cautions", "remedy", "text", "first"})
"""Fields that hold the library's sentences; what a person has typed is never changed."""


@lru_cache(maxsize=4096)
def in_chosen_units(text: str, choice: Choice) -> str:
    """A sentence with every pressure, temperature, difference of temperature and volume in the chosen units,
    as an instrument shows it: ``9 to 12 bar`` is ``131 to 174 psi``."""
    return _QUANTITY.sub(lambda found: _quantity(found[1], _UNITS.get(found[2], found[2]), choice), text)


def told_in_units(told: T, choice: Choice) -> T:
    """The same, with the sentences in it, and in all it holds, in the chosen units."""
    found: T = _told(told, choice, is_text=False)
    return found


def _told(told: Any, choice: Choice, *, is_text: bool) -> Any:
    if isinstance(told, str):
        return in_chosen_units(told, choice) if is_text else told
    if isinstance(told, list):
        return [_told(one, choice, is_text=is_text) for one in told]
    if not is_dataclass(told) or isinstance(told, type):
        return told
    given = {field.name: getattr(told, field.name) for field in fields(told)}
    changed = {name: _told(value, choice, is_text=name in _TEXTS) for name, value in given.items()}
    return replace(told, **{name: value for name, value in changed.items() if value is not given[name]})


def _quantity(numbers: str, unit: str, choice: Choice) -> str:
    chosen = choice.unit_for(unit)
    if chosen != unit:
        numbers = re.sub(_NUMBER, lambda found: _number(found[0], unit, chosen), numbers)
    return f"{numbers}\N{NO-BREAK SPACE}{unit_of(chosen).text}"


def _number(number: str, unit: str, chosen: str) -> str:
    value = from_si(to_si(float(number.replace("\N{MINUS SIGN}", "-")), unit), chosen)
    text = with_digits(value, digits_of(value, chosen)).replace("-", "\N{MINUS SIGN}")
    return text.removesuffix(".0")
