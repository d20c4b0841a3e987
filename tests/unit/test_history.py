"""The history of a running machine: fine where it is fresh, coarse where it is old, never more memory."""

from __future__ import annotations

import numpy as np
import pytest

from collaudo.bench.running.history import KEPT, History, TIERS_s


def filled(hours: float, each_s: float = 0.2) -> History:
    history = History(["time", "twice"])
    for time_s in np.arange(0.0, hours * 3600.0, each_s).tolist():
        history.add(time_s, np.array([time_s, 2.0 * time_s]))
    return history


def test_the_last_minutes_are_there_as_fine_as_they_were_added() -> None:
    history = filled(0.5)
    strip = history.read(["twice"], 1800.0 - 250.0)
    assert np.diff(strip.t) == pytest.approx(TIERS_s[0], abs=1e-6)
    assert strip.values["twice"] == pytest.approx([2.0 * t for t in strip.t], rel=1e-6)


def test_the_last_hour_is_there_fit_for_a_screen() -> None:
    history = filled(3.0)
    strip = history.read(["time"], 2.0 * 3600.0)
    assert KEPT / 2 < len(strip.t) <= KEPT
    assert strip.t[0] == pytest.approx(7200.0, abs=10.0)
    assert strip.t[-1] == pytest.approx(3.0 * 3600.0, abs=0.5)
    assert max(np.diff(strip.t)) <= 3.0 * TIERS_s[1]
    assert min(np.diff(strip.t)) > 0.0


def test_ten_hours_reach_back_in_no_more_room_than_one() -> None:
    history = filled(10.0, each_s=2.0)
    strip = history.read(["time"], 0.0)
    assert len(strip.t) <= KEPT
    assert strip.t[0] < 600.0
    assert strip.values["time"] == pytest.approx(strip.t, rel=1e-6)


def test_moments_closer_than_the_finest_are_left_out() -> None:
    history = History(["x"])
    times = np.array([0.0, 0.05, 0.19, 0.2, 0.21, 0.45, 0.5])
    assert history.due(times).tolist() == [0, 3, 5]
    for n in history.due(times):
        history.add(float(times[n]), np.array([1.0]))
    assert history.read(["x"], -1.0).t == [0.0, 0.2, 0.45]


def test_going_back_forgets_what_came_after_and_goes_on_from_there() -> None:
    history = filled(0.4)
    history.forget_after(600.0)
    strip = history.read(["time"], 0.0)
    assert strip.t[-1] == pytest.approx(600.0, abs=TIERS_s[1])
    history.add(600.5, np.array([7.0, 7.0]))
    assert history.read(["time"], 600.2).values["time"] == [7.0]


def test_nothing_kept_yet_is_an_empty_strip() -> None:
    strip = History(["x"]).read(["x"], 0.0)
    assert strip.t == []
    assert strip.values == {"x": []}
