"""Commands of the main job: from findings to causes, what a sound machine shows, the signatures behind."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import asdict
from typing import TYPE_CHECKING

from collaudo.cli.output import DrawProgress, in_words, note, print_json
from collaudo.cli.words import chance_in_words, wrapped
from collaudo.errors import InputError, Problem
from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import Choice, unit_of

if TYPE_CHECKING:
    from collaudo.bench.judging.answer import Answer
    from collaudo.bench.sound.expected import Expected

STOPPED = 130
_GO_ON = "Stopped. What is done is kept: the same command goes on from there."


def diagnose(arguments: argparse.Namespace) -> int:
    """Rank the causes of a findings file and name the next check."""
    return diagnose_file(
        arguments.findings,
        as_json=arguments.json,
        first_only=arguments.first,
        draws=arguments.draws,
        all_causes=arguments.all,
    )


def diagnose_file(
    file: str,
    *,
    as_json: bool,
    first_only: bool = False,
    draws: int | None = None,
    all_causes: bool = False,
) -> int:
    """Diagnose ``file`` and print the answer; where signatures must be built, a first answer before it."""
    from collaudo.bench.judging.diagnosis import diagnose as ask
    from collaudo.cli.answer_text import answer_text

    progress = DrawProgress()

    def tell(answer: Answer) -> None:
        progress.clear()
        print("\n".join([*answer_text(answer, all_causes=all_causes, refining=True), ""]), flush=True)

    try:
        told = None if as_json else tell
        answer = ask(file, first_only=first_only, draws=draws, told=told, progress=progress)
    except KeyboardInterrupt:
        return _stopped(progress)
    if as_json:
        print_json(asdict(answer))
        return 0
    print("\n".join(answer_text(answer, all_causes=all_causes)))
    return 0


def _stopped(progress: DrawProgress) -> int:
    progress.clear()
    note(_GO_ON)
    return STOPPED


def expect(arguments: argparse.Namespace) -> int:
    """Print what a sound machine shows in every check, or write it on a sheet for the wall."""
    from collaudo.bench.sound.expect import expect as ask
    from collaudo.bench.sound.expected import in_units
    from collaudo.reports.files import form_of, write_wall_sheet

    site, settings = pairs("--site", arguments.site), pairs("--setting", arguments.setting)
    choice = _units(arguments.units)
    if arguments.output:
        form_of(arguments.output)
    progress = DrawProgress()
    try:
        found = in_units(ask(arguments.machine, site, settings, progress), choice)
    except KeyboardInterrupt:
        return _stopped(progress)
    for key in found.unused:
        note(f"site.{key} changes none of these readings")
    if arguments.output:
        write_wall_sheet(arguments.output, found)
        note(f"{arguments.output}: {len(found.readings)} readings of {len(found.checks)} checks")
    if arguments.json:
        print_json([asdict(reading) for reading in found.readings])
    elif not arguments.output:
        print(f"{found.machine}: {found.title}")
        print("What a sound machine shows: nine of ten lie between low and high, the typical one in between.")
        print("\n".join(_expected_text(found.readings)))
    return 0


def _units(given: Iterable[str]) -> Choice:
    """The last word for a pressure and the last for a temperature."""
    words = {unit_of(word).dimension: word for word in given}
    return Choice(words.get("pressure", "bar"), words.get("temperature", "degC"))  # type: ignore[arg-type]


def pairs(option: str, given: Iterable[str]) -> dict[str, str]:
    """``KEY=VALUE`` options as a mapping; `InputError` for what is none or is given twice."""
    found: dict[str, str] = {}
    for text in given:
        key, sign, value = text.partition("=")
        if not (key and sign and value):
            raise InputError(Problem(f"{option} {text[:60]!r} is no KEY=VALUE", f"write {option} key=value"))
        if key in found:
            raise InputError(Problem(f"{option} {key[:60]} is given twice", "give it once"))
        found[key] = value.strip()
    return found


def _expected_text(readings: list[Expected]) -> list[str]:
    width = max(len(reading.title) for reading in readings)
    lines: list[str] = []
    check = ""
    for reading in readings:
        if reading.check != check:
            check = reading.check
            lines += ["", f"{reading.check_title} ({check})"]
        name = f"  {reading.title:{width}}  "
        lines += (
            wrapped(_expected_value(reading), name) if reading.chances else [name + _expected_value(reading)]
        )
    return lines


def _expected_value(reading: Expected) -> str:
    if reading.chances:
        likely = sorted(reading.chances.items(), key=lambda item: -item[1])
        named = [(word, chance) for word, chance in likely if chance >= 0.01] or likely[:1]
        return ", ".join(f"{word} ({chance_in_words(chance)})" for word, chance in named)
    if reading.low is None or reading.high is None or isinstance(reading.typical, str | None):
        return str(reading.typical)
    digits = digits_of(reading.high, reading.unit)
    values = (reading.low, reading.typical, reading.high)
    columns = "".join(f"{with_digits(value, digits):>8}" for value in values)
    return f"{columns}  {unit_of(reading.unit).text}"


def signatures_build(arguments: argparse.Namespace) -> int:
    """Build the signatures of a machine."""
    from collaudo.bench.judging.signatures import build_signatures

    progress = DrawProgress()
    try:
        built = build_signatures(arguments.machine, arguments.draws, progress)
    except KeyboardInterrupt:
        return _stopped(progress)
    if arguments.json:
        print_json(asdict(built))
        return 0
    print(f"{built.machine}: signatures of {built.draws} drawn machines, {in_words(built.wall_s)}")
    print(f"kept in {built.file}")
    return 0


def signatures_list(arguments: argparse.Namespace) -> int:
    """Say which signatures the cache holds."""
    from collaudo.bench.judging.signatures import kept_otherwise_bytes, kept_signatures

    kept = kept_signatures()
    if arguments.json:
        print_json([asdict(item) for item in kept])
        return 0
    width = max(len(item.machine) for item in kept)
    for item in kept:
        print(f"{item.machine:{width}}  {_kept_text(item.draws, item.begun)}")
    other_MB = kept_otherwise_bytes() / 1e6
    if other_MB >= 0.1:
        print(f"Of other machines, and from before changes: {other_MB:.1f} MB")
    return 0


def _kept_text(draws: int, begun: int) -> str:
    finished = f"signatures of {draws} drawn machines" if draws else "none finished"
    return f"{finished}; {begun} drawn machines done" if begun > draws else finished
