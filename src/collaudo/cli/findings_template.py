"""A findings file in which everything that can be said stands as a comment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from collaudo.cli.words import minutes_in_words
from collaudo.quantities.units import split_suffix, unit_of

if TYPE_CHECKING:
    from collaudo.bench.judging.catalogue import ListedCheck, ListedReading, Words

_HEAD = """\
# What is known of one job. Take the # away from the lines that hold something; write the value for … and
# leave one of several words standing.
# A reading has its unit behind it (9.6 bar, 31 g, 95 degC), or is low, normal or high, or never where it did
# not come about; several readings of one thing: [22 s, 25 s]; one in doubt: {value: 76 degC, doubted: true}.
"""


def findings_template(words: Words) -> str:
    """The text of the file; as it stands it names the machine alone."""
    return "\n".join([*_top(words), *_findings(words), ""])


def _top(words: Words) -> list[str]:
    return [
        f"{_HEAD}machine: {words.machine}  # {words.title}",
        "",
        "# Where it stands, as far as it is known.",
        "# site:",
        *(
            f"#   {key}: …  # {unit_text(split_suffix(key)[1])}, {low:g} to {high:g}"
            for key, (low, high) in words.site.items()
        ),
        "# How it is set, and what is known of this one.",
        "# settings:",
        *(
            f"#   {name}: … {unit_text(unit)}  # {low:g} to {high:g}"
            for name, (unit, low, high) in words.settings.items()
        ),
        "# known:",
        *(f"#   {_stem(name)}: … {unit_text(_suffix(name))}" for name in words.known),
        "",
        "# What is complained of; one word, or several: [slow, loud].",
        f"# complaint: {' | '.join(words.complaints)}",
        "# What happened before; any of:",
        *(f"#   {word}: {text}" for word, text in words.history.items()),
        "# history: []",
        "# The machine now: cold, warm or hot; lid on or off.",
        '# condition: {heat: cold, lid: "on"}',
        "# What was done to parts.",
        "# cleaned: []",
        "# replaced: []",
        "# set_anew: []",
        "# proven_good: []",
        *_wrapped("parts: " + ", ".join(words.parts)),
        "",
    ]


def _findings(words: Words) -> list[str]:
    lines = ["# findings:"]
    for check in words.checks:
        lines += _check(check)
    return lines


def _check(check: ListedCheck) -> list[str]:
    title = f"{check.title}, {minutes_in_words(check.minutes, check.wait_minutes)}"
    return [
        f"#   {check.check}:  # {title}",
        *(f"#     {reading.reading}: {_value(reading)}  # {reading.title}" for reading in check.readings),
    ]


def _value(reading: ListedReading) -> str:
    return " | ".join(reading.outcomes) if reading.outcomes else f"… {unit_text(reading.unit)}".rstrip()


def unit_text(unit: str) -> str:
    """The unit as it is typed: ``degC``, not the degree sign."""
    return unit if unit.startswith("deg") else unit_of(unit).text if unit else ""


def _stem(name: str) -> str:
    part, _, field = name.partition(".")
    return f"{part}.{split_suffix(field)[0]}"


def _suffix(name: str) -> str:
    return split_suffix(name.partition(".")[2])[1]


def _wrapped(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, 110, initial_indent="#   ", subsequent_indent="#   ")
