"""Chances and findings in words, as they are said at a bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import Choice, from_si, to_si, unit_of

_STEPS = (
    # chance from which it is said so; the borders lie half-way in odds between the chances named
    (0.94, "more than 9 in 10"),
    (0.86, "9 in 10"),
    (0.75, "8 in 10"),
    (0.65, "7 in 10"),
    (0.55, "6 in 10"),
    (0.45, "5 in 10"),
    (0.365, "4 in 10"),
    (0.29, "1 in 3"),
    (0.225, "1 in 4"),
    (0.145, "1 in 5"),
    (0.072, "1 in 10"),
    (0.032, "1 in 20"),
    (0.02, "1 in 50"),
)
LEAST = "less than 1 in 50"


def chance_in_words(chance: float) -> str:
    """A chance (0 to 1) rounded: ``7 in 10``, ``1 in 3``, ``less than 1 in 50``.

    Nothing is ever certain or impossible. Chances of several causes in words need not sum to one.
    """
    return next((words for least, words in _STEPS if chance >= least), LEAST)


def number_in_words(value: float, unit: str, choice: Choice, *, with_unit: bool = True) -> str:
    """``9.6 bar``, in the reader's unit, with the digits an instrument shows."""
    chosen = choice.unit_for(unit) if unit else ""
    shown = value if chosen == unit else from_si(to_si(value, unit), chosen)
    text = with_digits(shown, digits_of(shown, chosen)).replace("-", "\N{MINUS SIGN}")
    return f"{text} {unit_of(chosen).text}".rstrip() if chosen and with_unit else text


def span_in_words(low: float, high: float, unit: str, choice: Choice) -> str:
    """``7.2 to 9.8 bar``, or one number where both are shown alike."""
    first = number_in_words(low, unit, choice, with_unit=False)
    second = number_in_words(high, unit, choice)
    return second if first == number_in_words(high, unit, choice, with_unit=False) else f"{first} to {second}"


def word_in_words(word: str) -> str:
    """An outcome as it is read: ``under-the-group`` is ``under the group``."""
    return word.replace("-", " ")


def finding_in_words(title: str, value: float | str | None, unit: str, choice: Choice) -> str:
    """``Water in 10 s: 45 g``, ``Vacuum valve: blows``, ``Heating lamp first out after: never came about``."""
    if value is None:
        said = "never came about"
    else:
        said = word_in_words(value) if isinstance(value, str) else number_in_words(value, unit, choice)
    return f"{title[:1].upper()}{title[1:]}: {said}"


def reason_in_words(
    finding: str, made: tuple[float, float] | float, sound: tuple[float, float] | float | None,
    unit: str, choice: Choice,
) -> str:  # fmt: skip
    """A finding with what this cause and a sound machine make of it: ranges of a number, chances of a word."""
    if isinstance(made, tuple):
        text = f"{finding}. This cause makes {span_in_words(*made, unit, choice)}"
        if isinstance(sound, tuple):
            text += f", a sound machine {span_in_words(*sound, unit, choice)}"
        return f"{text}."
    text = f"{finding}. With this cause {chance_in_words(made)}"
    if isinstance(sound, float):
        text += f", on a sound machine {chance_in_words(sound)}"
    return f"{text}."


def listed(texts: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return " and ".join(filter(None, [", ".join(texts[:-1]), *texts[-1:]]))


STOP_CAUTIONS: Mapping[str, Sequence[str]] = {
    "wet": (
        "Stop. Wet near mains: do not touch the machine. Switch off at the wall, then pull the plug with dry "
        "hands; where plug or socket are wet, switch off at the fuse board.",
        "Before it is plugged in again: prove dead, dry it, find the leak, and have the qualified measure earth "
        "and insulation. Local rules come first.",
    ),
    "burning": (
        "Stop. Burning smell: switch off at the wall, pull the plug, do not switch on again to see whether it "
        "comes back. Where there is smoke, keep away and clear the room.",
        "Once it is cold and proved dead, the qualified look for the scorched place: plug, terminals, switch, "
        "relay, element. It is not powered before that is found and insulation is measured.",
    ),
    "over-pressure": (
        "Stop. Over-pressure: switch off at the wall and stand clear, of the safety valve's outlet too. Let the "
        "pressure down by cooling alone, an hour and more; open nothing meanwhile.",
        "Never hold the safety valve shut, never adjust it. A gauge at zero is not cold. What let the pressure "
        "rise is found with the power off; a safety valve that has lifted is tested or replaced by the qualified.",
    ),
}
"""What to do first while a stop word is set; common practice, no source."""
