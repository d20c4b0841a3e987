"""What a run gave: every quantity over time, what switched when, what is missing from the balances."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from collaudo.bench.machines.handle import Machine
from collaudo.bench.runs.events import Event, events_of
from collaudo.errors import unknown_name
from collaudo.machine.site import KEYS, site_from
from collaudo.machine.writer import dump
from collaudo.parts.circuit import Site
from collaudo.quantities.units import from_si
from collaudo.twin.operations import perform, read_session

if TYPE_CHECKING:
    import numpy as np
    import xarray
    from numpy.typing import NDArray

    from collaudo.twin.run import Run

    Floats = NDArray[np.float64]

Progress = Callable[[float, float], None]
"""Told the time [s] that has passed on the machine, and the time the session takes."""
Operations = Sequence[Mapping[str, Any]]
"""As a session file lists them: ``[{"power": "on"}, {"wait": "25 min"}]``."""


@dataclass(frozen=True)
class Series:
    """One quantity over time; ``time_s`` and ``values`` are equally long. A jump stands as two rows of the
    same time, before and after."""

    name: str
    unit: str
    """Suffix of the unit of ``values``."""
    title: str
    part: str
    time_s: Floats = field(repr=False)
    values: Floats = field(repr=False)

    def at(self, time_s: float) -> float:
        """Value at a time, linear between the run's own steps."""
        import numpy as np

        return float(np.interp(time_s, self.time_s, self.values))

    def between(self, start_s: float, end_s: float) -> Floats:
        """Values of the steps from ``start_s`` to ``end_s``, these two included."""
        inside = self.values[(self.time_s > start_s) & (self.time_s < end_s)]
        import numpy as np

        found: Floats = np.concatenate([[self.at(start_s)], inside, [self.at(end_s)]])
        return found

    def first_time(self, above: float, since_s: float = 0.0) -> float:
        """Time [s] at which it first goes above a value, from ``since_s`` on; not a number if it never
        does."""
        import numpy as np

        times = np.concatenate([[since_s], self.time_s[self.time_s > since_s]])
        values = np.interp(times, self.time_s, self.values)
        over = np.flatnonzero(values > above)
        if not over.size:
            return float("nan")
        n = int(over[0])
        if n == 0 or times[n] == times[n - 1]:
            return float(times[n])
        share = (above - values[n - 1]) / (values[n] - values[n - 1])
        return float(times[n - 1] + share * (times[n] - times[n - 1]))


@dataclass(frozen=True)
class Recording:
    """What a run gave."""

    machine: str
    title: str
    site: dict[str, float]
    """Where it stands, by keys with units as a session file has them; for the altitude the air's pressure."""
    duration_s: float
    events: list[Event]
    marks: dict[str, float]
    """Moments named by ``mark`` in the session [s]."""
    balances: dict[str, float]
    """What is missing of water, air and energy, as a share of all that went in and out."""
    wall_s: float
    """Time the computer took."""
    steps: int
    series: dict[str, Series] = field(repr=False)
    """Every quantity by name; a name ends in its unit."""
    faults: dict[str, float] = field(default_factory=dict)
    """Causes that were put in for teaching, and their severity."""

    def __getitem__(self, name: str) -> Series:
        if name not in self.series:
            raise unknown_name("series", name[:60], self.series)
        return self.series[name]

    @property
    def dataset(self) -> xarray.Dataset:
        """All of it as an `xarray.Dataset`; needs the extra ``frames``. See `collaudo.bench.runs.frames`."""
        from collaudo.bench.runs.frames import dataset_of

        return dataset_of(self)


def record_session(
    machine: Machine,
    session: Path | Operations,
    *,
    site: Mapping[str, str] | None = None,
    rtol: float | None = None,
    progress: Progress | None = None,
) -> Recording:
    """Perform a session file, or a list of operations, on a cold machine and keep everything.

    ``site`` goes before what a session file says of it. Raises `InputError` for what cannot be used,
    `RunError` where the twin cannot go on.
    """
    if isinstance(session, Path):
        read = read_session(session, machine.model, name=str(session))
    else:
        told = {"operations": [dict(operation) for operation in session]}
        read = read_session(dump(told), machine.model, name="the operations")
    place = placed(read.site, site or {}, machine)
    # Only now, for loading the compiled twin takes longer than refusing a wrong file.
    from collaudo.twin.run import DEFAULT_RTOL, Run

    run = Run.of(read.machine, place, rtol=rtol or DEFAULT_RTOL)
    total_s, marks = read.duration_s, dict[str, float]()
    perform(
        run, read.operations, None if progress is None else lambda time_s: progress(time_s, total_s), marks
    )
    return recording_of(run, marks)


def placed(place: Site, given: Mapping[str, str], machine: Machine) -> Site:
    """``place`` with what ``given`` says by keys of a site; `InputError` where that cannot be."""
    new = site_from(given, machine.model)
    fields = [KEYS[key][0] for key in given]
    return replace(place, **{name: getattr(new, name) for name in fields})


def recording_of(
    run: Run, marks: Mapping[str, float] | None = None, faults: Mapping[str, float] | None = None
) -> Recording:
    """What a run has given up to now."""
    from collaudo.bench.runs.channels import channels_of, recorded
    from collaudo.twin.audit import balances

    channels = channels_of(run)
    time_s, values = recorded(run, channels)
    return Recording(
        machine=run.machine.id,
        title=run.machine.title,
        site=_site_told(run.assembly.site),
        duration_s=run.time_s,
        events=events_of(run),
        marks=dict(marks or {}),
        balances=balances(run),
        wall_s=run.wall_s,
        steps=run.steps,
        series={
            name: Series(name, channel.unit, channel.title, channel.part, time_s, values[name])
            for name, channel in channels.items()
        },
        faults=dict(faults or {}),
    )


def _site_told(site: Site) -> dict[str, float]:
    told = {"atmosphere_hPa": from_si(site.atmosphere_Pa, "hPa")}
    for key, (name, unit, _, _) in KEYS.items():
        if key != "altitude_m":
            value = float(getattr(site, name))
            told[key] = from_si(value, unit) if unit else value
    return told
