"""Commands that show what the library holds, for writing findings files: checks, causes, a file to fill."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from collaudo.bench.naming import part_in_words
from collaudo.cli.output import note, print_json
from collaudo.cli.words import minutes_in_words, wrapped
from collaudo.errors import InputError, Problem
from collaudo.quantities.units import unit_of

if TYPE_CHECKING:
    from collaudo.bench.judging.catalogue import ListedCause, ListedCheck, ListedReading


def checks(arguments: argparse.Namespace) -> int:
    """List checks, or show one of them."""
    from collaudo.bench.judging.catalogue import list_checks

    found = list_checks(arguments.machine or "", arguments.check or "")
    if arguments.json:
        print_json([asdict(check) for check in found])
        return 0
    if arguments.check:
        print("\n".join(_check_text(found[0])))
        return 0
    width = max(len(check.check) for check in found)
    for check in found:
        print(f"{check.check:{width}}  {check.title}: {minutes_in_words(check.minutes, check.wait_minutes)}")
    return 0


def _check_text(check: ListedCheck) -> list[str]:
    lines = [f"{check.title} ({check.check})", *wrapped(check.why, "")]
    lines.append(f"Takes {minutes_in_words(check.minutes, check.wait_minutes)}.")
    lines += [f"Machine {heat}." for heat in (check.needs,) if heat != "any"]
    lines += [f"Lid {lid}." for lid in (check.lid,) if lid != "any"]
    for text in check.cautions:
        lines += wrapped(text, "CAUTION: ")
    if check.tools:
        lines += wrapped(", ".join(check.tools), "Tools: ")
    for place, text in enumerate(check.steps, 1):
        lines += wrapped(text, f"{place:2}. ")
    lines.append("Readings:")
    width = max(len(reading.reading) for reading in check.readings)
    for reading in check.readings:
        lines += wrapped(f"{reading.title} [{reading_in_words(reading)}]", f"  {reading.reading:{width}}  ")
    return lines


def reading_in_words(reading: ListedReading) -> str:
    """What a reading may be: a unit, or its outcomes."""
    return " | ".join(reading.outcomes) if reading.outcomes else unit_of(reading.unit).text


def causes(arguments: argparse.Namespace) -> int:
    """List causes, or show one of them."""
    from collaudo.bench.judging.catalogue import list_causes

    found = list_causes(arguments.machine or "", arguments.cause or "")
    if arguments.json:
        print_json([asdict(cause) for cause in found])
        return 0
    if arguments.cause:
        print("\n".join(_cause_text(found[0])))
        return 0
    width = max(len(cause.cause) for cause in found)
    for cause in found:
        print(f"{cause.cause:{width}}  {cause.title} ({part_in_words(cause.part)})")
    return 0


def _cause_text(cause: ListedCause) -> list[str]:
    lines = [f"{cause.title} ({cause.cause}), {part_in_words(cause.part)}", *wrapped(cause.why, "")]
    for text in cause.cautions:
        lines += wrapped(text, "CAUTION: ")
    lines += wrapped(cause.remedy, "Remedy: ")
    lines.append(f"Takes {minutes_in_words(cause.minutes)}, parts about {cause.parts_eur:.0f} EUR.")
    return lines


def findings_new(arguments: argparse.Namespace) -> int:
    """Print a findings file to fill in, or write it to a file that is not there yet."""
    from collaudo.bench.judging.catalogue import words_of
    from collaudo.cli.findings_template import findings_template

    output = Path(arguments.output) if arguments.output else None
    if output is not None and output.exists():
        raise InputError(Problem("this file is there already", "name another file", str(output)))
    if output is not None and not output.parent.is_dir():
        raise InputError(Problem(f"there is no folder {str(output.parent)!r}", "make it first", str(output)))
    text = findings_template(words_of(arguments.machine))
    if output is None:
        print(text, end="")
        return 0
    with output.open("x", encoding="utf-8", newline="\n") as file:
        file.write(text)
    note(f"{output}: take the # away from what you have found, then: collaudo diagnose {output}")
    return 0
