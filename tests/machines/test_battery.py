"""Every machine of the library goes through one working day: it heats, brews, steams, fills itself and
cools, and its books balance."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from collaudo.bench.measuring.speed import working_hour
from collaudo.checks.roles import bind_roles
from collaudo.machine.load import find_machine, library_ids
from collaudo.machine.model import Machine
from collaudo.twin.audit import balances
from collaudo.twin.operations import perform
from collaudo.twin.results import Results
from collaudo.twin.run import Run
from tests.machines.construction_bench import WARM_s, do
from tests.machines.construction_readings import readings

EVERY = pytest.mark.parametrize("machine_id", library_ids())
TRIPS = ("residual_current_device", "fuse", "short circuit")


@dataclass(frozen=True)
class Day:
    """A day of work, its marks in time, what the books said at its end."""

    machine: Machine
    run: Run
    results: Results
    role: dict[str, str]
    marks: dict[str, float]
    books: dict[str, float]

    def span(self, name: str, begins: str, ends: str) -> np.ndarray:
        """Values of a series between two marks."""
        found = self.results.series(name)
        return found.between(self.marks[begins], self.marks[ends])

    def gained(self, name: str, begins: str, ends: str) -> float:
        """By how much a series rose between two marks."""
        found = self.results.series(name)
        return found.at(self.marks[ends]) - found.at(self.marks[begins])


def brew(group: int, does: str) -> str:
    """The operation that starts or stops a coffee on a group."""
    return f"brew: {{group: {group}, does: {does}}}"


def fit(group: int, holds: str) -> str:
    """The operation that fits something to a group."""
    return f"fit: {{group: {group}, holds: {holds}}}"


def stages(machine: Machine) -> Iterator[tuple[str, str]]:
    """What is done, stage after stage, as far as the machine can; one shot on each group."""
    role, hands = bind_roles(machine), Run.of(machine).assembly.names.inputs
    yield "warmed up", f"power: on; wait: {WARM_s:g} s"
    groups = sum(part.kind == "portafilter" for part in machine.parts.values())
    # A spring presses on when its lever has been let go; a pump runs until it is stopped.
    seconds = 28 if "check_valve" in role else 40
    for n in range(1, groups + 1):
        if "check_valve" in role:
            yield f"flushed {n}", f"{brew(n, 'on')}; wait: 6 s; {brew(n, 'off')}; wait: 40 s"
        yield f"brewed {n}", f"{fit(n, 'puck')}; {brew(n, 'on')}; wait: {seconds} s"
        yield f"rested {n}", f"{brew(n, 'off')}; wait: 60 s; {fit(n, 'nothing')}; wait: 1 s"
    if "steam" in hands:
        yield "hot for steam", "steam: on; wait: 240 s"
    if "steam_tap" in role:
        yield "steamed", "open: steam_tap; wait: 20 s; close: steam_tap"
    if "steam" in hands:
        yield "steam off", "steam: off; wait: 1 s"
    if "water_tap" in role:
        yield "hot water drawn", "open: water_tap; wait: 15 s; close: water_tap; wait: 1 s"
    elif "water" in hands:
        pumped = "water: on; wait: 10 s; water: off"
        yield "hot water drawn", f"open: steam_tap; {pumped}; close: steam_tap; wait: 1 s"
    yield "rested", "wait: 900 s"
    yield "cooled", "power: off; wait: 10800 s"


@cache
def day(machine_id: str) -> Day:
    """The day of one machine."""
    machine = find_machine(machine_id)
    run, marks = Run.of(machine), {"cold": 0.0}
    for name, text in stages(machine):
        do(run, text)
        marks[name] = run.time_s
    return Day(machine, run, Results(run), bind_roles(machine), marks, balances(run))


@EVERY
def test_nothing_appears_or_vanishes_in_a_day(machine_id: str) -> None:
    """Masses are states, so they balance to round-off; energy follows temperatures, so to the tolerance."""
    books = day(machine_id).books
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9
    assert books["energy"] < 1e-5


@EVERY
def test_no_device_chatters_and_no_protection_trips(machine_id: str) -> None:
    found = day(machine_id)
    names = {name for _, name, _ in found.run.events}
    assert not [name for name in names if "chatters" in name]
    # Trips are events that act; cut-outs of pump and boiler too.
    cut_outs = [p.name for p in found.machine.parts.values() if p.kind in ("cut_out", "pump_cut_out")]
    acted = {name for t, name, state in found.run.events if state == 1.0 and t > 0.0}
    assert not acted & {*TRIPS, *cut_outs}


@EVERY
def test_it_warms_up_from_cold_and_holds(machine_id: str) -> None:
    found = day(machine_id)
    if "boiler" in found.role:
        boiler = found.role["boiler"]
        bar = found.results.series(f"pressure {boiler}").between(WARM_s - 1200.0, WARM_s)
        assert 0.7 < bar.min() < bar.max() < 1.5
        assert found.results.series(f"temperature {boiler}.upper").at(0.0) < 25.0
    group = found.results.series(f"temperature {found.role['group']}")
    late = group.between(WARM_s - 1200.0, WARM_s)
    assert late.min() > 60.0
    assert group.at(0.0) < 25.0
    # A group swings with its thermostat, but neither creeps up nor down.
    half = len(late) // 2
    assert half > 5
    assert abs(late[:half].max() - late[half:].max()) < 2.0


@EVERY
def test_it_brews(machine_id: str) -> None:
    """A coffee of 25 to 50 g at 5 to 11 bar, from every group, and the pressure let off afterwards."""
    found = day(machine_id)
    for n, cup in enumerate(
        p.name for p in found.machine.parts.values() if p.kind == "receiver" and p.name[:3] == "cup"
    ):
        begins = f"flushed {n + 1}" if f"flushed {n + 1}" in found.marks else "warmed up"
        assert 25.0 < found.gained(f"mass {cup}", begins, f"brewed {n + 1}") < 50.0
    above = found.role.get("brew_chamber", found.role["group"])
    brewing = found.span(f"pressure {above}", "warmed up", "brewed 1")
    assert 7.5 < brewing.max() < 11.0
    if "check_valve" in found.role:
        assert abs(found.span(f"pressure {above}", "brewed 1", "rested 1")[-1]) < 0.1


@EVERY
def test_it_flows_freely_without_coffee(machine_id: str) -> None:
    found = day(machine_id)
    for n in (1, 2):
        if f"flushed {n}" in found.marks:
            begins = "warmed up" if n == 1 else "rested 1"
            cup = found.role["cup"] if n == 1 else "cup_2"
            assert 25.0 < found.gained(f"mass {cup}", begins, f"flushed {n}") < 80.0


@EVERY
def test_it_steams(machine_id: str) -> None:
    """0.3 to 2 g/s, and dry: below 5 % of water with it."""
    found = day(machine_id)
    if "steamed" not in found.marks:
        assert "steam_tap" not in found.role
        return
    end = found.marks["steamed"]
    tap = found.role["steam_tap"]
    flow = found.results.series(f"flow {tap}").between(end - 12.0, end - 0.5)
    dry = found.results.series(f"steam {tap}").between(end - 12.0, end - 0.5)
    assert 0.3 < flow.mean() < 2.0
    assert dry.min() > 0.95


@EVERY
def test_it_gives_hot_water(machine_id: str) -> None:
    found = day(machine_id)
    if "hot water drawn" not in found.marks:
        assert "water_tap" not in found.role
        return
    begins = max(t for t in found.marks.values() if t < found.marks["hot water drawn"] - 5.0)
    outlet = found.role.get("water_outlet", "room")
    series = found.results.series(f"mass {outlet}")
    drawn = series.at(found.marks["hot water drawn"]) - series.at(begins)
    assert 60.0 < drawn < 1500.0


@EVERY
def test_its_boiler_fills_itself_and_stops_by_itself(machine_id: str) -> None:
    found, taken = day(machine_id), readings(machine_id)
    if "level_control" not in found.role:
        assert "fill_s" not in taken
        return
    assert taken["fill_ml"] > 10.0
    assert 0.5 < taken["fill_s"] < found.machine.value(f"{found.role['level_control']}.time_out_s")  # type: ignore[operator]
    level = found.results.series(f"level {found.role['boiler']}")
    assert level.between(WARM_s, found.marks["rested"]).max() < 0.85


@EVERY
def test_it_cools_and_draws_no_vacuum_into_a_vented_boiler(machine_id: str) -> None:
    found = day(machine_id)
    ends = {
        cell: float(found.results.series(f"temperature {cell}").values[-1])
        for cell in found.run.assembly.names.cells
    }
    heated = {cell: t for cell, t in ends.items() if cell.partition(".")[0] in vessels(found)}
    assert heated
    assert max(heated.values()) < 60.0
    if "vacuum_valve" in found.role:
        assert found.results.series(f"pressure {found.role['boiler']}").values[-1] > -0.02


def vessels(found: Day) -> list[str]:
    """Heated volumes."""
    kinds = ("boiler", "brew_boiler", "flow_through_heater", "exchanger")
    return [part.name for part in found.machine.parts.values() if part.kind in kinds]


@EVERY
def test_pressures_stay_below_what_relieves_them(machine_id: str) -> None:
    """Steam below its safety valve's stamp, brew water half a bar above its relief
    valve's setting at most."""
    found = day(machine_id)
    for name in vessels(found):
        if found.machine.parts[name].kind == "boiler":
            limit = float(found.machine.value("safety_valve.set_bar")) - 0.1
        else:
            limit = float(found.machine.value("relief_valve.set_bar")) + 0.6
        assert found.results.series(f"pressure {name}").values.max() < limit


@EVERY
def test_temperatures_stay_below_the_cut_outs(machine_id: str) -> None:
    found = day(machine_id)
    cut_outs = [part for part in found.machine.parts.values() if part.kind == "cut_out"]
    assert cut_outs
    for part in cut_outs:
        felt = str(found.machine.value(f"{part.name}.on"))
        hottest = found.results.series(f"temperature {felt}").values.max()
        assert hottest < float(found.machine.value(f"{part.name}.opens_degC")) - 3.0, felt


@EVERY
def test_every_series_is_finite_and_time_goes_on(machine_id: str) -> None:
    rows = day(machine_id).results.rows
    assert np.isfinite(rows).all()
    assert all(b >= a for a, b in pairwise(rows[:, 0]))


@EVERY
def test_the_working_hour_that_speed_is_measured_on_is_work(machine_id: str) -> None:
    """Eight coffees at least, and 4000 s on every machine."""
    machine = find_machine(machine_id)
    run = Run.of(machine)
    perform(run, working_hour(machine))
    assert run.time_s == pytest.approx(4000.0)
    assert Results(run).series("mass cup").values[-1] > 8 * 25.0
    assert not [name for _, name, _ in run.events if "chatters" in name]
