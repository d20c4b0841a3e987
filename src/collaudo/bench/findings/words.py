"""Chances and findings in words, as they are said at a bench."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from collaudo.checks.files import library_file
from collaudo.errors import CatalogueError
from collaudo.machine.source import Problems, read_source, take_list, take_mapping, take_text
from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import Choice, from_si, to_si, unit_of

NEARLY_SURE = 0.94
"""From here on the chance is said to be more than 9 in 10."""
_STEPS = (
    # chance from which it is said so; the borders lie half-way in odds between the chances named
    (NEARLY_SURE, "more than 9 in 10"),
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
_NEVER_NEGATIVE = ("g", "ml", "s", "min", "ohm", "A", "V", "count", "uF")


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


def never_below_nought(value: float, unit: str) -> float:
    """An end of a range, which is worked out as if there were weights and times below nought."""
    return max(value, 0.0) if unit in _NEVER_NEGATIVE else value


def word_in_words(word: str) -> str:
    """An outcome as it is read: ``under-the-group`` is ``under the group``."""
    return word.replace("-", " ")


def finding_in_words(title: str, value: float | str | None, unit: str, choice: Choice) -> str:
    """``Water in 10 s: 45 g``, ``Vacuum valve: blows``, ``First out after: never came about``."""
    if value is None:
        said = "never came about"
    else:
        said = word_in_words(value) if isinstance(value, str) else number_in_words(value, unit, choice)
    return f"{title[:1].upper()}{title[1:]}: {said}"


def reason_in_words(
    finding: str, made: tuple[float, float] | float, sound: tuple[float, float] | float | None,
    unit: str, choice: Choice,
) -> str:  # fmt: skip
    """A finding with what this cause and a sound machine make of it: range of a number, chance of a word."""
    if isinstance(made, tuple):
        text = f"{finding}. This cause makes {span_in_words(*made, unit, choice)}"
        if isinstance(sound, tuple):
            text += f", a sound machine {span_in_words(*sound, unit, choice)}"
        return f"{text}."
    text = f"{finding}. With this cause {chance_in_words(made)}"
    if isinstance(sound, float):
        text += f", on a sound machine {chance_in_words(sound)}"
    return f"{text}."


@dataclass(frozen=True)
class Stop:
    """A danger that ends all work on a machine, and what is done first."""

    title: str
    first: tuple[str, ...]


@cache
def stops() -> dict[str, Stop]:
    """The stop words of ``library/stops.yaml``."""
    root = read_source(library_file("stops.yaml").read_bytes(), name="stops.yaml", error=CatalogueError)
    problems = Problems()
    found = {}
    for word, node in take_mapping(root, "the stops", problems).items():
        given = take_mapping(node, f"stop {word}", problems, required=("title", "first"))
        title = take_text(given["title"], "title", problems) or ""
        first = (take_text(one, word, problems) or "" for one in take_list(given["first"], word, problems))
        found[word] = Stop(title, tuple(first))
    problems.raise_if_any(CatalogueError)
    return found


@cache
def complaints() -> dict[str, str]:
    """Complaints as they are read, of ``library/complaints.yaml``."""
    name = "complaints.yaml"
    root = read_source(library_file(name).read_bytes(), name=name, error=CatalogueError)
    problems = Problems()
    found = {
        word: take_text(node, word, problems) or ""
        for word, node in take_mapping(root, "the complaints", problems).items()
    }
    problems.raise_if_any(CatalogueError)
    return found


def complaint_in_words(word: str) -> str:
    """A complaint as it is read on a tile."""
    return complaints().get(word) or word_in_words(word)
