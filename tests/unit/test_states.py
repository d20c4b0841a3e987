"""States by name: which a machine has, how it is brought there, what is kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from collaudo.bench.explaining import states
from collaudo.bench.explaining.states import operations_into, snapshot_of, states_of
from collaudo.errors import InputError, UnknownNameError
from collaudo.machine.load import find_machine
from collaudo.machine.site import site_from
from collaudo.twin.operations import Change, Move, Wait


def names(machine: str) -> list[str]:
    return [summary.state for summary in states_of(machine)]


def test_a_machine_has_the_states_its_parts_allow() -> None:
    assert names("hx-vibration") == [
        "heating",
        "idle",
        "filling",
        "brewing",
        "emptying",
        "steaming",
        "hot-water",
        "over-pressure",
    ]
    assert "pulling" in names("spring-lever")
    assert "brewing-both" in names("hx-two-group")
    assert "steaming" not in names("flow-through")


def test_brewing_begins_with_the_machine_warmed_through() -> None:
    operations = operations_into("brewing", find_machine("hx-vibration"))
    assert operations[0] == Move("power", 1.0)
    assert Wait(3600.0) in operations
    assert operations[-3:] == (Change("portafilter.holds", "puck"), Move("lever", 1.0), Wait(20.0))


def test_an_unknown_state_names_those_there_are() -> None:
    with pytest.raises(UnknownNameError, match="brewing"):
        operations_into("brewin", find_machine("hx-vibration"))
    with pytest.raises(UnknownNameError, match="state"):
        operations_into("pulling", find_machine("hx-vibration"))


def test_a_site_is_read_from_options() -> None:
    machine = find_machine("hx-vibration")
    high = site_from({"altitude_m": "1000", "room_degC": "30"}, machine)
    # US Standard Atmosphere 1976, table I: 898.76 mbar at 1000 m
    assert high.atmosphere_Pa == pytest.approx(89876.0, rel=1e-4)
    assert high.room_K == pytest.approx(303.15)
    assert high.mains_V == 230.0
    assert site_from({}, find_machine("hx-vibration-120v")).mains_V == 120.0


@pytest.mark.parametrize("given", [{"altitude": "3"}, {"altitude_m": "up"}, {"room_degC": "900"}])
def test_a_site_that_cannot_be_is_refused(given: dict[str, str]) -> None:
    with pytest.raises(InputError):
        site_from(given, find_machine("hx-vibration"))


def test_a_snapshot_is_kept_and_a_damaged_one_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(states, "cache_folder", lambda: tmp_path)
    first = snapshot_of("flow-through", "heating")
    (file,) = (tmp_path / "snapshots").iterdir()
    before = file.stat().st_mtime_ns
    assert snapshot_of("flow-through", "heating") == first
    assert file.stat().st_mtime_ns == before
    file.write_text(file.read_text(encoding="utf-8")[:-40], encoding="utf-8")
    assert snapshot_of("flow-through", "heating") == first
    assert file.stat().st_size > 1000


def test_another_machine_site_or_field_is_kept_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(states, "cache_folder", lambda: tmp_path)
    machine = find_machine("flow-through")
    weak = machine.with_fields({"pump.shutoff_bar": 12.0})
    snapshot_of(machine, "heating")
    snapshot_of(weak, "heating")
    snapshot_of(machine, "heating", {"room_degC": "30"})
    snapshot_of(replace(machine, file="elsewhere.yaml"), "heating")
    assert len(list((tmp_path / "snapshots").iterdir())) == 3


def test_a_cache_that_cannot_be_written_is_no_reason_to_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setattr(states, "cache_folder", lambda: blocked)
    assert snapshot_of("flow-through", "heating").state == "heating"
