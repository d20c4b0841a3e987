"""A glance at a running machine shows what its snapshot shows."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from collaudo.bench.explaining.states import operations_into, states_of
from collaudo.bench.running.glance import AIR, STEAM, WATER, Glance
from collaudo.bench.runs.channels import latest
from collaudo.drawing.heat import temperatures
from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine
from collaudo.twin.operations import perform
from collaudo.twin.run import Run
from collaudo.twin.snapshot import Snapshot, snapshot

CASES = [(name, state.state) for name in library_ids() for state in states_of(find_machine(name))]


@cache
def run_in(name: str, state: str) -> tuple[Run, Snapshot]:
    machine = find_machine(name)
    run = Run.of(machine)
    perform(run, operations_into(state, machine))
    return run, snapshot(run, state, machine)


@pytest.mark.parametrize(("name", "state"), CASES)
def test_lines_flow_as_in_the_snapshot(name: str, state: str) -> None:
    run, told = run_in(name, state)
    for now, line in zip(Glance(run).lines(run.row), told.lines, strict=True):
        assert now.flow_kg_per_s * 1e3 == pytest.approx(line.flow_g_per_s, abs=1e-7)
        if abs(line.flow_g_per_s) > 1e-6:
            assert now.temperature_K - 273.15 == pytest.approx(line.temperature_degC, abs=1e-6)
            contents = STEAM if line.steam_share > 0.5 else AIR if line.air_share > 0.5 else WATER
            assert now.contents == contents


@pytest.mark.parametrize(("name", "state"), CASES)
def test_levels_openings_and_temperatures_are_those_of_the_snapshot(name: str, state: str) -> None:
    run, told = run_in(name, state)
    glance = Glance(run)
    shown = glance.levels(run.row)
    assert shown
    for part, level in shown.items():
        assert level == pytest.approx(told.levels[part], abs=1e-4)
    first: dict[str, float] = {}
    for flow in told.flows:
        if flow.opening_share is not None:
            first.setdefault(flow.part.partition(".")[0], flow.opening_share)
    assert dict(zip(glance.seats, glance.openings(), strict=True)) == pytest.approx(first, abs=1e-3)
    warm = temperatures(told)
    for part, nodes in zip(run.machine.parts, glance.temperature_nodes(list(run.machine.parts)), strict=True):
        if part in warm:
            assert max(run.row[nodes]) - 273.15 == pytest.approx(warm[part], abs=1e-9)
        else:
            assert not nodes


@pytest.mark.parametrize("name", library_ids())
def test_values_are_those_of_the_channels(name: str) -> None:
    run, _ = run_in(name, "idle")
    glance = Glance(run)
    values = glance.values(run.row)
    assert np.array_equal(values, glance.several(np.vstack([run.row, run.row]))[1])
    for shown, (key, channel) in zip(values, glance.channels.items(), strict=True):
        assert shown == pytest.approx(latest(run, channel), rel=1e-7, abs=1e-7), key
