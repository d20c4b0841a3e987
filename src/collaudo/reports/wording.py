"""How values, outcomes and texts of the library stand on paper."""

from __future__ import annotations

import re
import sys
import unicodedata

from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import unit_of

ALWAYS = (
    (
        "Cut-outs, safety valve, protective earth and residual-current device are never bridged, adjusted or "
        "left out, not even for a moment; they are tested cold and unplugged."
    ),
    "Fill before power: an element is never energised uncovered, a rotary pump never run dry.",
    "Wet near mains, a smell of burning, pressure beyond the setting: stop, switch off, unplug, let it cool.",
    "Local codes and licensed practice come first.",
)
"""What holds for every check; it stands before the first one."""
PROVES_NOTHING = (
    "Computed for a machine built and set as described. It proves nothing about the machine on the bench."
)
CLEARS_NOTHING = "A reading within its range clears no part, one outside it names none."

_SIGNS = ((r"\bdegC\b", "°C"), (r"\bdegF\b", "°F"), (r"\+-", "±"), (r" -- ", " – "))


def version() -> str:
    """Version of the software that runs."""
    return str(sys.modules["collaudo"].__version__)


def printed(text: str) -> str:
    """A text of the library as it is printed: ``122 °C`` for ``122 degC``, nothing a page cannot show."""
    for pattern, sign in _SIGNS:
        text = re.sub(pattern, sign, text)
    return "".join(letter for letter in text if unicodedata.category(letter) not in ("Cc", "Cs"))


def sentence(text: str) -> str:
    """With a capital letter."""
    return text[:1].upper() + text[1:]


def outcome(word: str) -> str:
    """``trips when hot`` of ``trips-when-hot``."""
    return printed(word.replace("-", " "))


def number(value: float, digits: int) -> str:
    """With a true minus sign, and none before zero."""
    return with_digits(value, digits).replace("-", "−")


def quantity(value: float, unit: str) -> str:
    """``225 V``, ``1.20 bar``."""
    digits = digits_of(value, unit) if value != round(value) or unit == "bar" else 0
    return f"{number(value, digits)} {unit_of(unit).text if unit else ''}".rstrip()


def minutes(at_work: float, waiting: float) -> str:
    """``3 min``, ``4 min + 50 min waiting``."""
    hands = f"{max(1, round(at_work))} min"
    return f"{hands} + {round(waiting)} min waiting" if waiting >= 0.5 else hands
