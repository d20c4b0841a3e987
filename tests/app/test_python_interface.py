"""The tool from Python: shapes, units, names, what is refused; it says what the command line says."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray

from collaudo import api
from collaudo.bench.runs.live import Live
from collaudo.bench.runs.recording import Recording
from collaudo.bench.runs.session import run_session
from collaudo.cli.main import main
from collaudo.errors import MachineFileError, OperationsFileError, UnknownNameError
from collaudo.machine.library import library_ids
from collaudo.quantities.units import UNITS, split_suffix

COFFEE: list[dict[str, str]] = [
    {"power": "on"},
    {"wait": "10 min"},
    {"fit": "puck"},
    {"mark": "coffee"},
    {"brew": "on"},
    {"wait": "20 s"},
    {"brew": "off"},
    {"wait": "10 s"},
]


@pytest.fixture(scope="module")
def coffee() -> Recording:
    return api.run("hx-vibration", COFFEE, site={"mains_V": 226, "room_degC": 19})


ONLY_COLD = {"exchanger-pinhole", "neutral-lost"}
"""Causes that open a way of their own, on some machines."""

# --- the package ----------------------------------------------------------------------------------------


def test_importing_it_loads_neither_the_kernel_nor_numbers() -> None:
    code = "import collaudo.api, sys, json; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(Path(api.__file__).parents[2])},
    )
    loaded = json.loads(done.stdout)
    heavy = ("numba", "numpy", "xarray", "collaudo.twin.kernel", "collaudo.twin.run", "collaudo.diagnosis")
    assert [name for name in loaded if name.startswith(heavy)] == []
    assert "collaudo.api.running" in loaded


def test_all_names_are_there_and_sorted() -> None:
    assert all(hasattr(api, name) for name in api.__all__)
    assert list(api.__all__) == sorted(api.__all__)


# --- machines -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", library_ids())
def test_every_value_of_a_machine_has_its_unit_range_and_meaning(name: str) -> None:
    found = api.machine(name)
    assert found.id == name
    assert {key.partition(".")[0] for key in found.values} <= set(found.parts)
    assert len(found.values) > len(found.parts)
    for key, value in found.values.items():
        assert value.meaning, key
        if value.low is not None and value.high is not None:
            assert isinstance(value.value, int | float)
            assert value.low <= value.value <= value.high, key
            assert value.unit == "" or key.endswith(f"_{value.unit}")
        else:
            assert isinstance(value.value, str)
    for setting in found.settings.values():
        assert setting.low <= setting.value <= setting.high
        assert setting.unit in UNITS


def test_values_take_numbers_in_their_own_unit_and_texts_with_theirs() -> None:
    changed = api.machine("hx-vibration").with_values(
        {"brew_pressure": "130 psi", "boiler.volume_l": 2, "portafilter.holds": "blind"}
    )
    # 1 psi = 6894.757 Pa (NIST SP 811, appendix B.8: 6.894 757 E+03)
    assert changed.value("relief_valve.set_bar").value == pytest.approx(130 * 0.06894757, rel=1e-7)
    assert changed.settings["brew_pressure"].value == changed.value("relief_valve.set_bar").value
    assert str(changed.value("boiler.volume_l")) == "2 l"
    assert str(changed.value("portafilter.holds")) == "blind"
    assert api.machine("hx-vibration").value("boiler.volume_l").value == 1.8


def test_changes_add_up_and_the_last_one_counts() -> None:
    first = api.machine("hx-rotary").with_values({"boiler.volume_l": 2.0, "boiler.filled_share": 0.6})
    second = first.with_values({"boiler.volume_l": 2.2})
    assert dict(second.changes) == {"boiler.volume_l": 2.2, "boiler.filled_share": 0.6}
    assert dict(first.changes) == {"boiler.volume_l": 2.0, "boiler.filled_share": 0.6}


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"pump.shutof_bar": 15}, "did you mean 'shutoff_bar'"),
        ({"pumpe.shutoff_bar": 15}, "did you mean 'pump'"),
        ({"brew_presure": 9}, "did you mean 'brew_pressure'"),
        ({"brew_pressure": 12}, "it can be 8.5 to 10.5"),
        ({"brew_pressure": "9 degC"}, "is a temperature"),
        ({"brew_pressure": "nine"}, "is not a number with a unit"),
        ({"pump.shutoff_bar": True}, "True, not a number"),
        ({"boiler.volume_l": 4000}, "boiler.volume_l is 4000; it can be"),
        ({"portafilter.holds": "a mouse"}, "it can be"),
        ({"portafilter.holds": 3}, "not a word"),
        ({"safety_valve.set_bar": 1.3}, "too near the 1.3 bar at which safety_valve lifts"),
        ({"boiler.volume_l": float("nan")}, "nan"),
    ],
)
def test_a_value_that_cannot_be_is_refused(values: Mapping[str, Any], said: str) -> None:
    with pytest.raises(api.InputError, match="(?s).*".join(map(str, [said.replace("(", r"\(")]))):
        api.machine("hx-vibration").with_values(values)


def test_a_machine_saved_is_the_machine_in_hand(tmp_path: Path) -> None:
    changed = api.machine("dual-rotary").with_values({"brew_temperature": 95, "boiler.volume_l": 1.6})
    file = tmp_path / "mine.yaml"
    changed.save(file)
    again = api.machine(file)
    assert {k: v.value for k, v in again.values.items()} == {k: v.value for k, v in changed.values.items()}
    assert again.text == changed.text
    with pytest.raises(api.InputError, match="there already"):
        changed.save(file)
    changed.with_values({"boiler.volume_l": 1.7}).save(file, overwrite=True)
    assert api.machine(file).value("boiler.volume_l").value == 1.7


def test_a_changed_machine_of_a_file_is_like_that_file(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    api.machine("hx-vibration").with_values({"boiler.volume_l": 2}).save(tmp_path / "deep" / "one.yaml")
    changed = api.machine(tmp_path / "deep" / "one.yaml").with_values({"pump.shutoff_bar": 14})
    changed.save(tmp_path / "two.yaml")
    assert "like: deep/one.yaml" in (tmp_path / "two.yaml").read_text(encoding="utf-8")
    assert str(api.machine(tmp_path / "two.yaml").value("boiler.volume_l")) == "2 l"
    assert "<svg" in api.draw(changed)


def test_checking_a_file_lists_every_problem_with_its_line(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("machine: Mine\nlike: hx-vibration\nparts:\n  pump: {shutof_bar: 15}\n", encoding="utf-8")
    problems = api.check_file(file)
    assert {problem.line for problem in problems} == {1, 4}
    assert all(problem.remedy and problem.file == str(file) for problem in problems)
    assert [problem.message for problem in api.check_file(tmp_path / "none.yaml")] == ["no such file"]


def test_a_new_machine_has_what_was_answered_and_the_rest_of_the_other(tmp_path: Path) -> None:
    keys = {question.key: question for question in api.questions("single-boiler")}
    assert keys["brew_boiler.volume_l"].value == 0.3
    answers = {"brew_boiler.volume_l": "350 ml", "title": "Kitchen"}
    made = api.new_machine("single-boiler", answers, tmp_path / "kitchen.yaml")
    assert (made.id, made.title) == ("kitchen", "Kitchen")
    assert made.value("brew_boiler.volume_l").value == pytest.approx(0.35)
    assert made.value("pump.shutoff_bar") == api.machine("single-boiler").value("pump.shutoff_bar")
    with pytest.raises(api.InputError, match="there already"):
        api.new_machine("single-boiler", {}, tmp_path / "kitchen.yaml")
    with pytest.raises(api.InputError, match=r"ends in \.yaml"):
        api.new_machine("single-boiler", {}, tmp_path / "kitchen.txt")


# --- sessions -------------------------------------------------------------------------------------------


def test_a_session_as_a_list_gives_what_the_file_gives_on_the_command_line(tmp_path: Path) -> None:
    file = tmp_path / "coffee.yaml"
    told = "".join(f"  - {key}: {word}\n" for step in COFFEE for key, word in step.items())
    file.write_text(f"site: {{mains_V: 226, room_degC: 19}}\noperations:\n{told}", encoding="utf-8")
    from_list = api.run("hx-vibration", COFFEE, site={"mains_V": 226, "room_degC": 19})
    from_file = api.run("hx-vibration", file)
    command = run_session("hx-vibration", str(file))
    assert from_list.events == from_file.events == command.events
    for name, values in command.series.items():
        if name == "time_s":
            continue
        np.testing.assert_array_equal(from_list[name].values, from_file[name].values, err_msg=name)
        # The same numbers turned into bar by another order of the same operations: a few roundings.
        np.testing.assert_allclose(from_list[name].values, values, rtol=1e-14, atol=1e-14, err_msg=name)


def test_what_is_given_goes_before_what_the_session_file_says_of_the_site(tmp_path: Path) -> None:
    file = tmp_path / "short.yaml"
    file.write_text("site: {mains_V: 226, room_degC: 19}\noperations: [{wait: 1 s}]\n", encoding="utf-8")
    site = api.run("hx-vibration", file, site={"mains_V": 210}).site
    assert site["mains_V"] == 210.0
    assert site["room_degC"] == pytest.approx(19.0)


@pytest.mark.parametrize("name", library_ids())
def test_every_series_has_a_unit_a_title_and_one_value_for_each_step(name: str) -> None:
    found = api.run(name, [{"power": "on"}, {"wait": "30 s"}])
    parts = api.machine(name).parts
    for key, series in found.series.items():
        assert split_suffix(key)[1] == series.unit, key
        assert series.title, key
        assert series.part in parts or series.part == "", key
        assert series.values.shape == series.time_s.shape, key
        assert np.isfinite(series.values).all(), key
    assert (
        found.series["heating_element_power_W" if "heating_element" in parts else "heater_power_W"].at(20.0)
        > 0
    )
    assert max(found.balances.values()) < 1e-5


def test_reading_between_steps_is_linear_and_first_times_are_on_the_series(coffee: Recording) -> None:
    gauge = coffee["steam_gauge_bar"]
    n = len(gauge.time_s) // 2
    middle_s = 0.5 * (gauge.time_s[n] + gauge.time_s[n + 1])
    assert gauge.at(middle_s) == pytest.approx(0.5 * (gauge.values[n] + gauge.values[n + 1]))
    half_s = gauge.first_time(0.5)
    assert gauge.at(half_s) == pytest.approx(0.5, abs=1e-9)
    assert gauge.between(0.0, half_s).max() == pytest.approx(0.5, abs=1e-9)
    assert np.isnan(gauge.first_time(99.0))
    assert gauge.first_time(0.0, since_s=half_s) == half_s


def test_the_same_water_is_counted_by_scale_and_by_flow(coffee: Recording) -> None:
    begin_s, end_s = coffee.marks["coffee"], coffee.duration_s
    flow, cup = coffee["portafilter_flow_g_per_s"], coffee["cup_g"]
    inside = (flow.time_s >= begin_s) & (flow.time_s <= end_s)
    by_flow = np.trapezoid(flow.values[inside], flow.time_s[inside])
    # The trapezoidal rule over the twin's steps, which are as long as a few per cent of the flow's change.
    assert by_flow == pytest.approx(cup.at(end_s) - cup.at(begin_s), rel=0.03)


def test_power_is_volts_times_amperes(coffee: Recording) -> None:
    volts, amps = coffee["heating_element_V"].at(60.0), coffee["heating_element_A"].at(60.0)
    assert volts * amps == pytest.approx(coffee["heating_element_power_W"].at(60.0), rel=1e-6)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"session": [{"lever": "upp"}, {"wait": "1 s"}]}, "did you mean 'up'"),
        ({"session": [{"wait": 30}]}, "has no unit"),
        ({"session": []}, "empty list"),
        ({"session": [{"power": True}, {"wait": "1 s"}]}, "write a text"),
        ({"session": [{"power": "on"}]}, "no time passes"),
        ({"session": "none.yaml"}, "no such file"),
        ({"site": {"mains_W": 230}}, "did you mean 'mains_V'"),
        ({"site": {"mains_V": 9}}, "it can be 80 to 460"),
        ({"site": {"mains_V": "230 V"}}, "write a number"),
        ({"settings": {"boiler_pressure": 3}}, "it can be 0.9 to 1.4"),
        ({"settings": {"boiler_presure": 1.1}}, "did you mean 'boiler_pressure'"),
    ],
)
def test_what_cannot_be_run_is_refused(arguments: dict[str, Any], said: str) -> None:
    with pytest.raises(api.InputError) as refused:
        api.run("hx-vibration", **{"session": [{"wait": "1 s"}], **arguments})
    assert said in str(refused.value)


def test_an_unknown_machine_or_series_names_the_nearest(coffee: Recording) -> None:
    with pytest.raises(UnknownNameError, match="hx-vibration"):
        api.run("hx-vibraton", COFFEE)
    with pytest.raises(UnknownNameError, match="brew_gauge_bar"):
        coffee["brew_gage_bar"]


# --- datasets -------------------------------------------------------------------------------------------


def test_a_dataset_has_time_units_events_site_and_balances(coffee: Recording) -> None:
    data = coffee.dataset
    assert isinstance(data, xarray.Dataset)
    assert data.sizes == {"time_s": len(coffee["cup_g"].time_s), "event": len(coffee.events)}
    for name, series in coffee.series.items():
        assert data[name].dims == ("time_s",)
        assert data[name].attrs["unit"] == series.unit
        assert data[name].attrs["units"] == UNITS[series.unit].text
        assert data[name].attrs["part"] == series.part
    assert data["steam_gauge_bar"].attrs["long_name"] == "pressure at the steam gauge"
    assert data["event_device"].values.tolist() == [event.device for event in coffee.events]
    assert data.attrs["site_mains_V"] == 226.0
    assert data.attrs["missing_water_share"] < 1e-9
    assert "put_in" not in data.attrs


def test_rows_of_a_dataset_can_be_picked_by_time_though_readings_jump(coffee: Recording) -> None:
    data = coffee.dataset
    assert (np.diff(coffee["cup_g"].time_s) == 0.0).any(), "nothing jumps in this run: it proves nothing"
    assert data.indexes["time_s"].is_unique
    assert data.indexes["time_s"].is_monotonic_increasing
    np.testing.assert_allclose(data["time_s"].values, coffee["cup_g"].time_s, rtol=1e-12)
    picked = data["boiler_degC"].sel(time_s=300.0, method="nearest")
    assert float(picked) == pytest.approx(coffee["boiler_degC"].at(300.0), abs=1.0)
    minute = data["boiler_degC"].interp(time_s=[60.0, 120.0])
    np.testing.assert_allclose(minute.values, [coffee["boiler_degC"].at(t) for t in (60.0, 120.0)])


def test_a_dataset_goes_through_a_netcdf_file_and_a_table(coffee: Recording, tmp_path: Path) -> None:
    data = coffee.dataset
    data.to_netcdf(tmp_path / "run.nc", engine="scipy")
    with xarray.open_dataset(tmp_path / "run.nc", engine="scipy") as again:
        for name in coffee.series:
            np.testing.assert_array_equal(again[name].values, data[name].values)
            assert again[name].attrs["unit"] == data[name].attrs["unit"]
        assert again.attrs["machine"] == "hx-vibration"
    names = ["boiler_degC", "cup_g"]
    data[names].to_dataframe().to_csv(tmp_path / "run.csv")
    table = np.loadtxt(tmp_path / "run.csv", delimiter=",", skiprows=1)
    np.testing.assert_allclose(table[:, 1], data["boiler_degC"].values, rtol=1e-12)
    assert (tmp_path / "run.csv").read_text(encoding="utf-8").startswith("time_s,boiler_degC,cup_g")


def test_without_xarray_a_run_works_and_a_dataset_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xarray", None)
    found = api.run("single-boiler", [{"power": "on"}, {"wait": "1 s"}])
    assert found["brew_boiler_degC"].at(0.0) == pytest.approx(22.0)
    with pytest.raises(api.InputError, match=r"collaudo\[frames\]"):
        _ = found.dataset
    with pytest.raises(api.InputError, match=r"collaudo\[frames\]"):
        api.expect("single-boiler")


# --- a machine that runs --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def warm() -> Live:
    bench = api.live("hx-vibration", settings={"brew_pressure": 9.0})
    bench.operate({"power": "on"})
    bench.advance(600.0)
    return bench


def test_worked_step_by_step_it_is_the_machine_of_the_session(coffee: Recording) -> None:
    bench = api.live("hx-vibration", site={"mains_V": 226, "room_degC": 19})
    for step in COFFEE:
        bench.operate(step)
    assert bench.time_s == coffee.duration_s
    assert bench.events == coffee.events
    assert bench.marks == coffee.marks
    recorded = bench.recording()
    for name, series in coffee.series.items():
        # Both have the same steps but for a row of the same moment where it was only read.
        at_end = recorded[name].values[-1]
        assert at_end == pytest.approx(series.values[-1], rel=1e-9, abs=1e-9), name
    assert bench.read("cup_g") == pytest.approx(coffee["cup_g"].at(coffee.duration_s))


def test_a_saved_moment_is_gone_on_from_as_if_nothing_had_happened(warm: Live) -> None:
    saved = warm.save()
    begin_s = warm.time_s
    warm.operate([{"fit": "blind"}, {"brew": "on"}, {"wait": "10 s"}])
    first = {name: warm.read(name) for name in warm.names}
    warm.restore(saved)
    assert warm.time_s == begin_s
    warm.put_in("brew-jet-blocked", 1.0)
    warm.advance(30.0)
    warm.restore(saved)
    assert warm.faults == {}
    warm.operate([{"fit": "blind"}, {"brew": "on"}, {"wait": "10 s"}])
    assert {name: warm.read(name) for name in warm.names} == first
    warm.restore(saved)


def test_a_fault_comes_in_while_it_runs_and_goes_with_its_removal(warm: Live) -> None:
    saved = warm.save()
    warm.operate([{"fit": "nothing"}, {"brew": "on"}, {"wait": "5 s"}])
    sound = warm.read("portafilter_flow_g_per_s")
    warm.put_in("brew-jet-blocked", 0.5)
    warm.advance(3.0)
    blocked = warm.read("portafilter_flow_g_per_s")
    assert blocked < 0.7 * sound
    warm.put_in("brew-jet-blocked", 1.0)
    warm.advance(3.0)
    assert warm.read("portafilter_flow_g_per_s") < blocked
    assert warm.recording().dataset.attrs["put_in"] == "for teaching, not a finding: brew-jet-blocked 1"
    warm.take_out("brew-jet-blocked")
    warm.advance(3.0)
    assert warm.read("portafilter_flow_g_per_s") == pytest.approx(sound, rel=0.02)
    assert warm.recording().faults == {}
    warm.restore(saved)


def test_faults_of_site_and_of_contacts_come_and_go_too(warm: Live) -> None:
    saved = warm.save()
    lamp_V = warm.read("power_lamp_V")
    warm.put_in("mains-low", 1.0)
    low_V = warm.read("power_lamp_V")
    assert low_V < 0.9 * lamp_V
    warm.put_in("mains-low", 0.0)
    assert low_V < warm.read("power_lamp_V") < lamp_V
    warm.restore(saved)
    warm.put_in("mains-low", 1.0)
    assert warm.read("power_lamp_V") == pytest.approx(low_V)
    warm.put_in("power-switch-dead")
    assert warm.read("power_lamp_V") == 0.0
    assert warm.read("pump_share") == 0.0
    warm.take_out("mains-low")
    warm.take_out("power-switch-dead")
    assert warm.read("power_lamp_V") == pytest.approx(lamp_V)
    warm.restore(saved)


def test_two_faults_on_one_value_are_taken_out_in_any_order(warm: Live) -> None:
    saved = warm.save()
    set_bar = warm.snapshot().fields
    warm.put_in("brew-pressure-set-low", 0.5)
    warm.put_in("relief-valve-leaking", 0.5)
    assert warm.snapshot().fields != set_bar
    warm.take_out("brew-pressure-set-low")
    warm.take_out("relief-valve-leaking")
    assert warm.snapshot().fields == set_bar
    warm.restore(saved)


@pytest.mark.parametrize("name", library_ids())
def test_every_cause_of_every_machine_can_be_put_in_and_taken_out(name: str) -> None:
    bench = api.live(name)
    assert bench.causes == [cause.cause for cause in api.causes(name)]
    cold = bench.save()
    bench.operate([{"power": "on"}, {"wait": "5 s"}])
    start = bench.save()
    for cause in bench.causes:
        if cause in ONLY_COLD:
            bench.restore(cold)
        bench.put_in(cause, 0.7)
        bench.advance(1.0)
        assert bench.faults == {cause: 0.7}
        if cause not in ONLY_COLD:
            bench.take_out(cause)
            assert bench.snapshot().fields == {}, cause
        bench.restore(start)
        assert (bench.faults, bench.time_s) == ({}, 5.0)


def test_a_cause_with_a_way_of_its_own_is_refused_while_it_runs() -> None:
    bench = api.live("hx-vibration")
    bench.advance(1.0)
    with pytest.raises(api.InputError, match=r"exchanger-pinhole opens .* while the machine stands cold"):
        bench.put_in("exchanger-pinhole", 0.7)
    assert bench.faults == {}


def test_a_cause_with_a_way_of_its_own_is_put_into_the_cold_machine_as_it_is_switched() -> None:
    bench = api.live("hx-vibration")
    bench.operate([{"power": "on"}, {"fit": "blind"}])
    bench.put_in("exchanger-pinhole", 1.0)
    assert bench.read("power_lamp_share") == 1.0
    begin_g = bench.snapshot().masses_g["boiler"]
    bench.operate([{"brew": "on"}, {"wait": "60 s"}])
    # The pump presses water through the hole into the boiler, which is not filling.
    assert bench.read("fill_valve_share") == 0.0
    assert bench.snapshot().masses_g["boiler"] > begin_g + 5.0
    assert bench.recording().faults == {"exchanger-pinhole": 1.0}


@pytest.mark.parametrize(
    ("act", "said"),
    [
        (lambda bench: bench.put_in("flow-meter-dead"), "unknown cause on hx-vibration"),
        (lambda bench: bench.put_in("brew-jet-blocked", 2.0), "it can be 0 to 1"),
        (lambda bench: bench.take_out("brew-jet-blocked"), "none is in"),
        (lambda bench: bench.read("brew_gage_bar"), "did you mean 'brew_gauge_bar'"),
        (lambda bench: bench.advance(-1.0), "it can be 0 to"),
        (lambda bench: bench.advance(float("nan")), "it can be 0 to"),
        (lambda bench: bench.operate({"leve": "up"}), "did you mean 'lever'"),
        (lambda bench: bench.operate([]), "empty list"),
    ],
)
def test_what_cannot_be_done_to_a_running_machine_is_refused(warm: Live, act: Any, said: str) -> None:
    before_s = warm.time_s
    with pytest.raises(api.InputError) as refused:
        act(warm)
    assert said in str(refused.value)
    assert warm.time_s == before_s


def test_nothing_is_done_when_one_of_several_operations_is_wrong(warm: Live) -> None:
    before_s = warm.time_s
    with pytest.raises(OperationsFileError):
        warm.operate([{"brew": "on"}, {"wait": "5 s"}, {"brew": "maybe"}])
    assert (warm.time_s, warm.read("pump_share")) == (before_s, 0.0)


# --- the other faces of the same questions --------------------------------------------------------------


def test_paths_drawings_and_states_are_those_of_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    told = api.path("hx-vibration", "idle", "heat", audience="customer")
    assert (
        main(["path", "hx-vibration", "--state", "idle", "--of", "heat", "--for", "customer", "--json"]) == 0
    )
    data = json.loads(capsys.readouterr().out)
    assert data["text"] == str(told).splitlines()
    assert data["walks"][0]["title"] == told.data.walks[0].title
    assert main(["path", "hx-vibration", "--json"]) == 0
    states = json.loads(capsys.readouterr().out)
    assert [state["state"] for state in states] == [state.state for state in api.states("hx-vibration")]
    assert api.draw("hx-vibration", "idle").startswith("<svg")


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: api.path("hx-vibration", "idle", "steam"), "steam"),
        (lambda: api.path("hx-vibration", "idle", audience="child"), "unknown audience"),
        (lambda: api.snapshot("hx-vibration", "pulling"), "unknown state"),
        (lambda: api.draw("hx-vibration", matter="milk"), "unknown kind of drawing"),
        (lambda: api.current("hx-vibration", meter="finger"), "unknown meter"),
        (lambda: api.current("hx-vibration", condition={"pressure_switch": "ajar"}), "ajar"),
        (lambda: api.find_open("hx-vibration", ""), "no load is named"),
        (lambda: api.wall_sheet("hx-vibration", "sheet.doc"), "a sheet is no .doc"),
    ],
)
def test_what_there_is_not_is_refused(call: Any, said: str) -> None:
    with pytest.raises(api.InputError) as refused:
        call()
    assert said in str(refused.value)


def test_the_meter_reads_a_changed_machine() -> None:
    changed = api.machine("hx-vibration").with_values({"heating_element.power_W": 1600})
    ends = ("heating_element.live", "heating_element.neutral")
    sound, other = (
        next(item.value for item in api.current(of, ohms=[ends]).measured) for of in ("hx-vibration", changed)
    )
    assert sound is not None
    assert other is not None
    # Ohm's law: the resistance of an element goes as 1/power at one rated voltage.
    assert other / sound == pytest.approx(1400 / 1600, rel=1e-3)


def test_halving_ends_at_the_open_place() -> None:
    condition: dict[str, float | str] = {"power": 1, "pressure_switch": "closed"}
    first = api.find_open("hx-vibration", "heating_element", condition=condition)
    assert first.next is not None
    assert len(first.suspects) > 10
    seen = {"heating_element.live": "0 V", "cut_out.a": "230 V", "cut_out.b": "0 V"}
    assert api.find_open("hx-vibration", "heating_element", seen, condition=condition).parts == ("cut_out",)


def test_checks_and_causes_of_a_machine_are_some_of_the_library() -> None:
    every = {check.check for check in api.checks()}
    some = {check.check for check in api.checks("spring-lever")}
    assert some < every
    assert {cause.cause for cause in api.causes("spring-lever")} < {cause.cause for cause in api.causes()}


# --- what rests on signatures ---------------------------------------------------------------------------


@pytest.mark.usefixtures("signatures")
def test_expectations_are_those_of_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    data = api.expect("hx-vibration", site={"mains_V": 225}, settings={"boiler_pressure": 1.2})
    options = ["--site", "mains_V=225", "--setting", "boiler_pressure=1.2 bar"]
    assert main(["expect", "hx-vibration", *options, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    rows = rows["readings"] if isinstance(rows, dict) else rows
    assert data["reading"].values.tolist() == [f"{row['check']}.{row['reading']}" for row in rows]
    assert data["low"].dims == data["unit"].dims == ("reading",)
    for row in rows:
        one = data.sel(reading=f"{row['check']}.{row['reading']}")
        if isinstance(row["typical"], str):
            assert str(one["outcome"].values) == row["typical"]
            assert np.isnan(float(one["typical"]))
            for word, chance in row["chances"].items():
                assert float(one["chance"].sel(word=word)) == pytest.approx(chance)
        else:
            shown = [float(one[name]) for name in ("low", "typical", "high")]
            assert shown == [row["low"], row["typical"], row["high"]]
            assert str(one["unit"].values) == row["unit"]
            assert str(one["outcome"].values) == ""
    assert data.attrs["site_mains_V"] == 225.0


@pytest.mark.usefixtures("signatures")
def test_findings_as_data_are_answered_like_the_file(tmp_path: Path) -> None:
    findings = {
        "machine": "hx-vibration",
        "complaint": "slow",
        "condition": "cold",
        "findings": {"free-flow": {"water": "45 g", "brew_gauge": "7.9 bar"}},
    }
    file = tmp_path / "findings.yaml"
    file.write_text(json.dumps(findings), encoding="utf-8")
    answer = api.diagnose(findings)
    assert answer == api.diagnose(file)
    assert sum(cause.probability for cause in answer.causes) == pytest.approx(1.0)
    with pytest.raises(api.InputError, match="did you mean 'slow'"):
        api.diagnose({**findings, "complaint": "slo"})


@pytest.mark.usefixtures("signatures")
def test_a_wall_sheet_is_written_in_the_units_asked_for(tmp_path: Path) -> None:
    file = tmp_path / "sheet.html"
    api.wall_sheet("hx-vibration", file, site={"mains_V": 225}, pressure="psi")
    text = file.read_text(encoding="utf-8")
    assert "psi" in text
    assert "225 V" in text
    with pytest.raises(api.QuantityError, match="choose bar or psi"):
        api.wall_sheet("hx-vibration", file, pressure="atm")


@pytest.mark.usefixtures("signatures")
def test_settings_of_expectations_are_those_of_the_machine() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'boiler_pressure'"):
        api.expect("hx-vibration", settings={"boiler_presure": 1.1})


def test_a_machine_changed_beyond_what_can_be_is_a_machine_file_error() -> None:
    with pytest.raises(MachineFileError):
        api.machine("hx-vibration").with_values({"boiler.volume_l": -1})
