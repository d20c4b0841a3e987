"""Checks and causes, what a sound machine shows, what findings say."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from collaudo.api.machines import MachineLike, machine
from collaudo.api.running import Words, texts

if TYPE_CHECKING:
    import xarray

    from collaudo.bench.judging.answer import Answer
    from collaudo.bench.judging.catalogue import ListedCause, ListedCheck
    from collaudo.bench.sound.expected import Expectations

Progress = Callable[[int, int], None]
"""Told how many drawn machines are done, and of how many."""


def checks(of: MachineLike | None = None) -> list[ListedCheck]:
    """The checks of the library, or those that can be made on a machine: steps, tools, minutes, the condition
    needed, cautions, and the readings they give with their units."""
    from collaudo.bench.judging.catalogue import list_checks

    if of is None:
        return list_checks()
    with machine(of).as_file() as name:
        return list_checks(name)


def causes(of: MachineLike | None = None) -> list[ListedCause]:
    """The causes of the library, or those that can occur on a machine: part, reason, remedy with its minutes
    and cautions, how often among 1000 jobs."""
    from collaudo.bench.judging.catalogue import list_causes

    if of is None:
        return list_causes()
    with machine(of).as_file() as name:
        return list_causes(name)


def expect(
    of: MachineLike,
    *,
    site: Words | None = None,
    settings: Words | None = None,
    progress: Progress | None = None,
) -> xarray.Dataset:
    """What a sound machine shows in every check: an `xarray.Dataset` along ``reading`` (``check.reading``).

    ``low``, ``typical``, ``high`` in the reading's ``unit`` (nine of ten sound machines lie between low and
    high); ``outcome`` for readings in words, ``chance`` of each word. ``settings``: numbers in the setting's
    unit, or texts with their own. The first time sound machines are drawn and run, which takes some minutes
    and all cores; ``progress`` is told. Needs the extra ``frames``.
    """
    from collaudo.bench.runs.frames import expected_dataset, needs_xarray

    needs_xarray()
    return expected_dataset(_expectations(of, site, settings, progress))


def wall_sheet(
    of: MachineLike,
    file: str | os.PathLike[str],
    *,
    site: Words | None = None,
    settings: Words | None = None,
    pressure: str = "bar",
    temperature: str = "degC",
    on: datetime.date | None = None,
    progress: Progress | None = None,
) -> None:
    """Write the sheet of expected readings for the wall: ``file`` ends in ``.html`` or ``.pdf``.

    ``pressure``: ``bar`` or ``psi``; ``temperature``: ``degC`` or ``degF``; ``on``: its date, today if not
    given.
    """
    from collaudo.bench.sound.expected import in_units
    from collaudo.quantities.units import Choice
    from collaudo.reports.files import form_of, write_wall_sheet

    form_of(os.fspath(file))  # a name that cannot be is refused before machines are drawn
    chosen = Choice(pressure=pressure, temperature=temperature)  # type: ignore[arg-type]
    write_wall_sheet(os.fspath(file), in_units(_expectations(of, site, settings, progress), chosen), on)


def diagnose(
    findings: str | os.PathLike[str] | Mapping[str, Any],
    *,
    first_only: bool = False,
    draws: int | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Causes of what was found, best first, what speaks for and against them, and what to check next.

    ``findings``: a findings file, or what would stand in one (``{"machine": "hx-vibration", "complaint":
    "slow", "findings": {"free-flow": {"water": "45 g"}}}``). ``first_only``: be content with a few drawn
    machines; ``draws``: how many, 64 if not given. What the answer rests on is built once for each machine,
    which takes some minutes and all cores. The answer gives chances, not proof. Raises `FindingsFileError`
    listing everything that cannot be used.
    """
    from collaudo.bench.judging.diagnosis import diagnose as from_file
    from collaudo.bench.judging.diagnosis import diagnose_told

    if isinstance(findings, Mapping):
        return diagnose_told(findings, first_only=first_only, draws=draws, progress=progress)
    return from_file(os.fspath(findings), first_only=first_only, draws=draws, progress=progress)


def _expectations(
    of: MachineLike, site: Words | None, settings: Words | None, progress: Progress | None
) -> Expectations:
    from collaudo.bench.sound.expect import expect as expected

    chosen = machine(of)
    told = chosen.setting_texts(settings or {})
    with chosen.as_file() as name:
        return expected(name, texts(site), told, progress)
