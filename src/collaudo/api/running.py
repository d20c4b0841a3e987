"""Running the twin: a whole session at once, or a machine that is worked step by step."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from collaudo.api.machines import MachineLike, machine

if TYPE_CHECKING:
    from collaudo.bench.runs.live import Live
    from collaudo.bench.runs.recording import Operations, Progress, Recording

Words = Mapping[str, float | str]
"""Keys of a site or names of settings; numbers, or texts."""


def texts(given: Words | None) -> dict[str, str]:
    """As they would stand in a file."""
    return {key: str(value) for key, value in (given or {}).items()}


def run(
    of: MachineLike,
    session: str | os.PathLike[str] | Operations,
    *,
    site: Words | None = None,
    settings: Words | None = None,
    rtol: float | None = None,
    progress: Progress | None = None,
) -> Recording:
    """Perform a session on a cold machine and give what every instrument would have shown.

    ``session``: a session file, or its operations as a list (``[{"power": "on"}, {"wait": "25 min"}]``).
    ``site``: ``mains_V``, ``mains_Hz``, ``altitude_m``, ``room_degC``, ``feed_bar``, ``feed_degC``,
    ``conductivity_uS_per_cm``; it goes before what the file says. ``settings``: by name, numbers in the
    setting's unit or texts with their own; what a session file sets goes before. ``rtol``: relative tolerance
    of each step. ``progress``: told the time [s] passed, and in all.

    The result's series have one value for each step of the twin, all along the same times [s];
    ``result["brew_gauge_bar"].at(30.0)`` reads between them, ``result.dataset`` is an `xarray.Dataset`.
    Raises `InputError` for what cannot be used, `RunError` naming state, part and time where the twin cannot
    go on.
    """
    from collaudo.bench.runs.recording import record_session

    what = Path(session) if isinstance(session, str | os.PathLike) else session
    chosen = machine(of).with_values(settings) if settings else machine(of)
    return record_session(chosen, what, site=texts(site), rtol=rtol, progress=progress)


def live(of: MachineLike, *, site: Words | None = None, settings: Words | None = None) -> Live:
    """A cold machine to be worked: ``operate``, ``advance(seconds)``, ``read(name)``, ``put_in(cause)``.

    ``site`` and ``settings`` as for `run`. Faults put in are for teaching; a recording of such a machine says
    so, and none of its readings is a finding.
    """
    from collaudo.bench.runs.live import Live as Running

    chosen = machine(of).with_values(settings) if settings else machine(of)
    return Running(chosen, texts(site))
