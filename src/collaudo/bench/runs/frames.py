"""Results as tables with labels, for those who work with xarray (the extra ``frames``)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from collaudo.errors import InputError, Problem
from collaudo.quantities.units import unit_of

if TYPE_CHECKING:
    import numpy as np
    import xarray
    from numpy.typing import NDArray

    from collaudo.bench.runs.recording import Recording
    from collaudo.bench.sound.expected import Expectations

    Floats = NDArray[np.float64]


def _xarray() -> Any:
    """The library, imported when a table is asked for."""
    try:
        import xarray
    except ImportError:
        message = "a dataset needs xarray, which is not installed"
        raise InputError(Problem(message, "install it with the extra 'frames': collaudo[frames]")) from None
    return xarray


def needs_xarray() -> None:
    """`InputError` where xarray is not installed, before anything long is begun."""
    _xarray()


def dataset_of(recording: Recording) -> xarray.Dataset:
    """A recording as a dataset.

    Every series is a variable along ``time_s``, with ``long_name``, ``unit`` (the suffix), ``units`` (as
    printed) and ``part``. Events are along ``event``: ``event_time_s``, ``event_device``, ``event_state``.
    What is missing from the balances stands in the attributes ``missing_water_share`` and so on, the site as
    ``site_mains_V`` and so on, faults put in for teaching as ``put_in``.

    ``time_s`` strictly increases: the second row of a jump stands a rounding step of the clock later.
    """
    frames = _xarray()
    variables: dict[str, Any] = {
        series.name: (
            "time_s",
            series.values,
            {
                "long_name": series.title,
                "unit": series.unit,
                "units": unit_of(series.unit).text,
                "part": series.part,
            },
        )
        for series in recording.series.values()
    }
    events = recording.events
    seconds = {"long_name": "time of the event", "unit": "s", "units": "s"}
    variables["event_time_s"] = ("event", [event.time_s for event in events], seconds)
    variables["event_device"] = ("event", [event.device for event in events], {"long_name": "what switched"})
    variables["event_state"] = (
        "event",
        [event.state for event in events],
        {"long_name": "and how it stands"},
    )
    time = {"long_name": "time since the machine stood cold", "unit": "s", "units": "s"}
    first = next(iter(recording.series.values()))
    attributes: dict[str, Any] = {"machine": recording.machine, "title": recording.title}
    attributes |= {f"site_{key}": value for key, value in recording.site.items()}
    attributes |= {f"missing_{name}_share": share for name, share in recording.balances.items()}
    if recording.faults:
        said = ", ".join(f"{cause} {severity:g}" for cause, severity in recording.faults.items())
        attributes["put_in"] = f"for teaching, not a finding: {said}"
    found: xarray.Dataset = frames.Dataset(
        variables, {"time_s": ("time_s", _increasing(first.time_s), time)}, attributes
    )
    return found


def _increasing(time_s: Floats) -> Floats:
    """Times of which none is there twice, or no row could be picked by its time."""
    import numpy as np

    found: Floats = time_s.copy()
    while (late := np.flatnonzero(np.diff(found) <= 0.0) + 1).size:
        for n in late:
            found[n] = np.nextafter(found[n - 1], np.inf)
    return found


def expected_dataset(found: Expectations) -> xarray.Dataset:
    """Expectations as a dataset along ``reading`` (``check.reading``).

    ``low``, ``typical``, ``high`` are numbers in ``unit``, not a number where a reading is a word;
    ``outcome`` is the usual word (``never`` where it does not occur), empty for numbers; ``chance`` is along
    ``reading`` and ``word``: the chance of each outcome, not a number where it is none of the reading's.
    """
    frames = _xarray()
    rows = found.readings
    words = list(dict.fromkeys(word for row in rows for word in row.chances))
    chance = [[row.chances.get(word, math.nan) for word in words] for row in rows]
    numbers = {
        "low": [_number(row.low) for row in rows],
        "typical": [_number(row.typical) for row in rows],
        "high": [_number(row.high) for row in rows],
    }
    names = {
        "low": "five of a hundred sound machines show less",
        "typical": "what a sound machine shows",
        "high": "five of a hundred sound machines show more",
    }
    variables: dict[str, Any] = {
        name: ("reading", values, {"long_name": names[name]}) for name, values in numbers.items()
    }
    variables["outcome"] = ("reading", [row.typical if isinstance(row.typical, str) else "" for row in rows])
    variables["unit"] = ("reading", [row.unit for row in rows])
    variables["check"] = ("reading", [row.check for row in rows])
    variables["long_name"] = ("reading", [f"{row.check_title}: {row.title}" for row in rows])
    variables["chance"] = (
        ("reading", "word"),
        chance,
        {"long_name": "chance of the outcome", "unit": "share"},
    )
    attributes: dict[str, Any] = {"machine": found.machine, "title": found.title, "draws": found.draws}
    attributes |= {name.replace(".", "_"): value for name, value in found.known.items()}
    coordinates = {"reading": [f"{row.check}.{row.reading}" for row in rows], "word": words}
    dataset: xarray.Dataset = frames.Dataset(variables, coordinates, attributes)
    return dataset


def _number(value: float | str | None) -> float:
    return value if isinstance(value, int | float) else math.nan
