"""A snapshot beside the run it was taken from: what it says is kept, the run keeps."""

from __future__ import annotations

import pytest

from collaudo.bench.explaining.states import operations_into
from collaudo.fluid.water import liquid_energy
from collaudo.machine.load import find_machine
from collaudo.paths.heat import HeatBooks
from collaudo.paths.view import View, part_of
from collaudo.twin.audit import stores
from collaudo.twin.operations import perform
from collaudo.twin.run import Run
from collaudo.twin.snapshot import snapshot

SHORT_s = 0.05


def run_in(state: str, machine: str = "hx-vibration") -> Run:
    built = find_machine(machine)
    run = Run.of(built, keep=False)
    perform(run, operations_into(state, built))
    return run


def kept_J(run: Run) -> float:
    """Energy in all vessels and walls beyond that of water as warm as the room: `stores` without reservoirs
    and the two quadratures at its end."""
    kept = stores(run, run.y)
    vessels = [z for z in range(run.tables.zone.size) if run.tables.zone[z].is_vessel == 1]
    walls = range(run.tables.zone.size, run.tables.zone.size + run.tables.wall.size)
    as_room = liquid_energy(run.assembly.site.room_K)[0]
    water_kg = sum(float(kept["water"][z]) for z in vessels)
    return float(sum(kept["energy"][n] for n in (*vessels, *walls))) - water_kg * as_room


@pytest.mark.parametrize("state", ["heating", "idle", "brewing", "hot-water"])
def test_what_vessels_and_walls_keep_is_what_the_run_stores(state: str) -> None:
    """Watts from the snapshot's flows and links against the change of the run's own stores over 50 ms.

    The water's heat is counted from its temperature alone; the work of 9 bar on 4 ml/s is 4 W, and warmth
    taken along by tees between cells a few watts more: together below 2 % of what moves.
    """
    run = run_in(state)
    first = snapshot(run)
    before = kept_J(run)
    run.advance(SHORT_s)
    second = snapshot(run)
    stored_W = (kept_J(run) - before) / SHORT_s
    told, moved = [], []
    for taken in (first, second):
        view = View(run.machine, taken)
        books = HeatBooks(view)
        inner = {*view.circuit.vessels, *(part_of(wall) for wall in view.circuit.walls)}
        told.append(sum(books.keeps_W(part) for part in inner))
        moved.append(sum(books.gets_W(part) for part in inner))
    assert sum(told) / 2.0 == pytest.approx(stored_W, abs=0.02 * max(moved) + 10.0)


def test_a_snapshot_changes_nothing_in_the_run() -> None:
    run, other = run_in("idle"), run_in("idle")
    snapshot(run)
    run.advance(20.0)
    other.advance(20.0)
    assert run.y == pytest.approx(other.y, rel=1e-4, abs=1e-3)


def test_the_pump_line_carries_what_leaves_the_tank() -> None:
    """Two seconds of brewing: the tank's loss is the suction line's flow times the time, less what the relief
    valve returns."""
    run = run_in("brewing")
    before = snapshot(run)
    run.advance(2.0)
    after = snapshot(run)
    lost_g = before.masses_g["tank"] - after.masses_g["tank"]
    drawn = [
        sum(line.flow_g_per_s for line in taken.lines if line.from_port == "tank.out")
        - sum(line.flow_g_per_s for line in taken.lines if line.to_port == "tank.return")
        for taken in (before, after)
    ]
    assert lost_g == pytest.approx(2.0 * sum(drawn) / 2.0, rel=0.02)


def test_what_a_hand_has_just_moved_shows() -> None:
    run = run_in("idle")
    run.set_input("steam_tap", 1.0)
    taken = snapshot(run)
    (tap,) = [x for x in taken.flows if x.part == "steam_tap"]
    assert tap.opening_share == 1.0
    assert tap.flow_g_per_s > 0.5


def test_changed_fields_are_told() -> None:
    built = find_machine("hx-vibration")
    run = Run.of(built, keep=False)
    run.change({"portafilter.holds": "blind"})
    run.advance(0.1)
    assert snapshot(run, built=built).fields == {"portafilter.holds": "blind"}
