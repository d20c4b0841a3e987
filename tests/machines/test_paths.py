"""Every state of every machine of the library can be told: water, heat and current, complete and sound."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from functools import cache
from itertools import pairwise

import pytest
from CoolProp.CoolProp import PropsSI

from collaudo.bench.explaining.paths import AUDIENCES, MATTERS, path_of, told
from collaudo.bench.explaining.states import snapshot_of, states_of
from collaudo.machine.load import find_machine, library_ids
from collaudo.machine.model import Machine
from collaudo.paths.circulation import buoyancy_Pa
from collaudo.paths.heat import HeatBooks
from collaudo.paths.model import Path, Walk
from collaudo.paths.view import View, part_of
from collaudo.twin.snapshot import Snapshot

CASES = [(name, state.state) for name in library_ids() for state in states_of(name)]
EVERY_MACHINE = {"heating", "idle", "brewing", "steaming"}


@cache
def machine_named(name: str) -> Machine:
    return find_machine(name)


@cache
def seen(name: str, state: str) -> Snapshot:
    return snapshot_of(machine_named(name), state)


@cache
def path_through(name: str, state: str, of: str) -> Path:
    return path_of(machine_named(name), state, of)


def walk_titled(path: Path, title: str) -> Walk:
    return next(walk for walk in path.walks if walk.title == title)


def test_every_machine_has_the_usual_states() -> None:
    for name in library_ids():
        states = {summary.state for summary in states_of(name)}
        wanted = EVERY_MACHINE - (set() if "steam_tap" in machine_named(name).parts else {"steaming"})
        assert wanted <= states, name


@pytest.mark.parametrize(("name", "state"), CASES)
def test_water_passes_or_a_closed_branch_names_every_part_with_a_line(name: str, state: str) -> None:
    path = path_through(name, state, "water")
    joined = {part_of(p) for line in machine_named(name).lines for p in (line.from_port, line.to_port)}
    assert path.parts() == joined
    assert path.summary.endswith(".")


@pytest.mark.parametrize(("name", "state"), CASES)
def test_the_current_is_told_for_every_part_with_a_terminal(name: str, state: str) -> None:
    with_terminals = {n for n, part in machine_named(name).parts.items() if part.terminals}
    assert path_through(name, state, "current").parts() == with_terminals


@pytest.mark.parametrize(("name", "state"), CASES)
def test_the_heat_is_told_from_every_element_to_what_it_reaches(name: str, state: str) -> None:
    path, snapshot = path_through(name, state, "heat"), seen(name, state)
    assert {part_of(heater) for heater in snapshot.heaters_W} <= path.parts()
    warm = {part for part, watt in _given(View(machine_named(name), snapshot)).items() if watt > 50.0}
    assert warm <= path.parts()


def _given(view: View) -> dict[str, float]:
    """Heat [W] that each vessel and wall gives."""
    found: dict[str, float] = defaultdict(float)
    for heat in view.snapshot.heats:
        a, b = (part_of(node.partition(" to ")[0]) for node in (heat.a, heat.b))
        if a != b:
            found[a if heat.heat_W > 0.0 else b] += abs(heat.heat_W)
    return {part: watt for part, watt in found.items() if part != "room"}


@pytest.mark.parametrize(("name", "state"), CASES)
def test_no_line_is_left_out_and_joints_keep_nothing(name: str, state: str) -> None:
    """At every port of a valve, pump or tee as much comes as goes.

    Hoses and gauges' tubes breathe a little while pressures settle: less than shows in flows told to two
    figures (2 %), or 10 mg/s.
    """
    snapshot = seen(name, state)
    assert len(snapshot.lines) == len(machine_named(name).lines)
    view = View(machine_named(name), snapshot)
    income: dict[str, float] = defaultdict(float)
    for line in snapshot.lines:
        income[line.from_port] -= line.flow_g_per_s
        income[line.to_port] += line.flow_g_per_s
    for passage in snapshot.flows:
        income[passage.inlet] -= passage.flow_g_per_s
        income[passage.outlet] += passage.flow_g_per_s
    largest = max(abs(line.flow_g_per_s) for line in snapshot.lines)
    for port, grams in income.items():
        if not view.hub(port) and " to " not in port:
            assert abs(grams) < 0.01 + 0.02 * largest, port


@pytest.mark.parametrize(("name", "state"), CASES)
def test_a_walk_goes_from_each_part_to_the_next_by_a_line_that_joins_them(name: str, state: str) -> None:
    snapshot = seen(name, state)
    for walk in path_through(name, state, "water").walks:
        for before, step in pairwise(walk.steps):
            if step.lines:
                ends = {snapshot.lines[n].from_port for n in step.lines}
                ends |= {snapshot.lines[n].to_port for n in step.lines}
                assert {before.leaves, step.enters} <= ends


@pytest.mark.parametrize(("name", "state"), CASES)
def test_circulations_close_in_height_and_in_flow(name: str, state: str) -> None:
    snapshot = seen(name, state)
    for loop in snapshot.circulations:
        assert abs(sum(loop.rises_mm)) < 1e-6
        ends = []
        for number, way in zip(loop.lines, loop.ways, strict=True):
            line = snapshot.lines[number]
            ends.append((line.from_port, line.to_port)[::way])
            assert way * line.flow_g_per_s >= loop.flow_g_per_s - 1e-9 or loop.flow_g_per_s == 0.0
        for (_, arrives), (leaves, _) in pairwise([*ends, ends[0]]):
            assert part_of(arrives) == part_of(leaves)


@pytest.mark.parametrize(("name", "state"), CASES)
def test_current_taken_is_heat_made_and_heat_made_goes_somewhere(name: str, state: str) -> None:
    """Elements: what all give, less what the room and the outlets get, is what vessels and walls keep."""
    view = View(machine_named(name), seen(name, state))
    books = HeatBooks(view)
    inner = {*view.circuit.vessels, *(part_of(wall) for wall in view.circuit.walls)}
    made = sum(view.snapshot.heaters_W.values())
    ends = set(view.machine.parts) - inner
    kept_outside = sum(books.keeps_W(part) for part in ends)
    kept_inside = sum(books.keeps_W(part) for part in inner)
    room_part = books.keeps_W("room") if "room" not in view.machine.parts else 0.0
    assert made == pytest.approx(kept_inside + kept_outside + room_part, abs=0.01 * max(made, 100.0))
    to_room = sum(heat.heat_W for heat in view.snapshot.heats if heat.b == "room")
    assert to_room >= -5.0


SAID_WRONG = re.compile(
    r"None|nan|\binf\b|_|\{|\}|  |\.\.|\bit it\b|\bthe the\b| ,| \.|-0 |^[a-z]|\ba drop [^.]* leave\b|[^.)]$"
)


@pytest.mark.parametrize(("name", "state"), CASES)
@pytest.mark.parametrize("of", MATTERS)
def test_sentences_are_whole(name: str, state: str, of: str) -> None:
    path = path_through(name, state, of)
    sentences = [path.summary, *(walk.why for walk in path.walks if walk.why)]
    sentences += [text for walk in path.walks for step in walk.steps for text in step.says]
    for text in sentences:
        assert not SAID_WRONG.search(text), text


@pytest.mark.parametrize(("name", "state"), CASES)
@pytest.mark.parametrize("of", MATTERS)
def test_a_customer_is_told_less_and_both_something(name: str, state: str, of: str) -> None:
    path = path_through(name, state, of)
    texts = {audience: "\n".join(told(path, audience)) for audience in AUDIENCES}
    assert 40 < len(texts["customer"]) < 0.7 * len(texts["apprentice"])
    assert "When it fails" in texts["apprentice"]
    assert "When it fails" not in texts["customer"]


@pytest.mark.parametrize(("name", "state"), CASES)
def test_a_path_goes_through_json_unchanged(name: str, state: str) -> None:
    snapshot = seen(name, state)
    assert Snapshot.from_json(json.loads(json.dumps(snapshot.as_json(), allow_nan=False))) == snapshot
    json.dumps(path_through(name, state, "water").as_json(), allow_nan=False)


# --- one machine in detail


def test_brewing_goes_from_the_tank_to_the_cup_and_the_rest_back_over_the_relief_valve() -> None:
    path = path_through("hx-vibration", "brewing", "water")
    parts = [step.part for step in path.walks[0].steps]
    assert parts[:4] == ["tank", "strainer", "pump", "check_valve"]
    assert parts[-3:] == ["screen", "portafilter", "cup"]
    assert "relief_valve" not in parts
    back = walk_titled(path, "From the check valve by the relief valve to the tank")
    assert back.kind == "branch"
    split = path.walks[0].steps[3].facts["flow_g_per_s"]
    both = path.walks[0].steps[4].facts["flow_g_per_s"] + back.steps[0].facts["flow_g_per_s"]
    assert both == pytest.approx(split, rel=1e-3)


def test_a_closed_branch_says_what_holds_it_shut() -> None:
    whys = {walk.title: walk.why for walk in path_through("hx-vibration", "brewing", "water").walks}
    fill = whys["From the pump by the fill valve to the boiler"]
    assert fill == "The fill valve is shut because its coil has no current: the probe is wet."
    drain = whys["From the brew chamber by the exhaust valve to the tray"]
    assert drain == "The exhaust valve is shut while the lever is up."
    assert whys["From the boiler by the steam tap to the room"] == "The steam tap is shut by hand."


def test_a_relief_valve_at_rest_tells_its_setting_and_the_pressure_there_is() -> None:
    path = path_through("hx-vibration", "idle", "water")
    walk = walk_titled(path, "From the check valve by the relief valve to the tank")
    relief = next(step for step in walk.steps if step.part == "relief_valve")
    there_bar = seen("hx-vibration", "idle").ports["relief_valve.in"].pressure_bar
    assert relief.why == f"its spring holds it shut up to 9.2 bar, and there are {there_bar:.1f} bar"


def test_the_pump_at_rest_names_both_contacts_that_could_start_it() -> None:
    path = path_through("hx-vibration", "idle", "water")
    pump = next(step for step in path.walks[1].steps if step.part == "pump")
    assert "the probe is wet" in pump.why
    assert "the lever is down" in pump.why


def test_against_the_blind_disc_all_water_goes_back_to_the_tank() -> None:
    path = path_through("hx-vibration", "over-pressure", "water")
    parts = [step.part for step in path.walks[0].steps]
    assert parts == ["tank", "strainer", "pump", "check_valve", "relief_valve", "tank"]
    assert any("a blind disc is fitted" in walk.why for walk in path.walks)


@pytest.mark.parametrize(("name", "state"), CASES)
def test_water_that_comes_back_is_not_said_to_go_from_a_place_to_itself(name: str, state: str) -> None:
    summary = path_through(name, state, "water").summary
    for begin, end in re.findall(r"from the ([a-z -]+?) to the ([a-z -]+?) \(", summary):
        assert begin != end, summary


@pytest.mark.parametrize(("name", "state"), CASES)
def test_no_heading_stands_alone_and_no_open_way_is_called_closed(name: str, state: str) -> None:
    for of in MATTERS:
        lines = told(path_through(name, state, of), "apprentice")[2:]
        for line, after in pairwise([*lines, ""]):
            heading = line.startswith(("From ", "The heat", "The circulation", "Beside"))
            assert not (heading and not after), line
            assert not (line.endswith("(closed)") and "The way is open" in after), line


@pytest.mark.parametrize("name", library_ids())
def test_a_relief_valve_at_rest_is_held_shut_by_its_own_spring(name: str) -> None:
    for walk in path_through(name, "idle", "water").walks:
        if walk.kind == "closed" and "by the relief valve to" in walk.title:
            assert walk.why.startswith("The spring of the relief valve holds it shut up to"), walk.why


@pytest.mark.parametrize(("name", "state"), CASES)
def test_a_fuse_melts_and_a_coil_has_current(name: str, state: str) -> None:
    steps = [step for walk in path_through(name, state, "current").walks for step in walk.steps]
    said = {step.part: " ".join(step.says) for step in steps if step.part in ("fuse", "contactor")}
    assert said["fuse"] == "It has not melted."
    for step in steps:
        assert not (step.part == "contactor" and "It is closed: it has" in " ".join(step.says))


def test_a_lever_of_a_spring_fills_its_group_and_the_summary_says_how_fast() -> None:
    path = path_through("spring-lever", "pulling", "water")
    told = r"Water flows from the boiler to the group \([\d.]+ g/s\) and on to the cup \(a drop"
    assert re.match(told, path.summary)


def test_three_phases_have_two_voltages_and_leave_nothing_for_the_neutral() -> None:
    """230 V to the neutral are 230 sqrt(3) = 398 V between phases (IEC 60038, table 1: 230/400 V)."""
    path = path_through("hx-two-group-three-phase", "heating", "current")
    mains = path.walks[0].steps[0].says[0]
    assert mains.startswith("230 V from each phase to the neutral and 400 V between two phases stand here")
    element = next(s for w in path.walks for s in w.steps if s.part == "heating_element" and s.passes)
    assert "the three meet at the neutral" in element.says[0]
    one_phase = path_through("hx-two-group", "heating", "current")
    element = next(s for w in one_phase.walks for s in w.steps if s.part == "heating_element" and s.passes)
    assert element.says[0].endswith("the current goes back by the neutral.")


def test_the_heat_of_a_pump_is_in_its_coil_and_not_in_the_cut_out_that_sits_on_it() -> None:
    path = path_through("hx-vibration", "brewing", "heat")
    walk = walk_titled(path, "The heat of the coil of the pump")
    assert "turn into heat in the coil of the pump" in walk.steps[0].says[0]
    resting = walk_titled(path_through("hx-vibration", "idle", "heat"), "The heat of the coil of the pump")
    assert resting.why.startswith("The pump has no current: ")


def test_steam_let_out_and_heat_lost_from_the_outside_are_told_apart() -> None:
    path = path_through("single-boiler", "steaming", "heat")
    boiler = next(s for w in path.walks for s in w.steps if s.part == "brew_boiler")
    assert re.search(r"W to the room with the steam.* W from its outside to the room", " ".join(boiler.says))


def test_an_open_element_names_the_pressure_switch() -> None:
    path = path_through("hx-vibration", "brewing", "current")
    walk = walk_titled(path, "From the power switch to the heating element and back")
    assert walk.kind == "closed"
    assert "the pressure switch opens at 1.16 bar and closes at 1.02 bar" in walk.why


# --- beside independent libraries


def test_the_circulation_is_driven_by_the_weights_that_coolprop_gives() -> None:
    """IAPWS-95 as CoolProp has it: density of water at each cell's temperature and the circuit's pressure.

    The twin's own density is within 2e-4 of it, 0.2 kg/m3, which over the loop's 0.19 m is 0.4 Pa.
    """
    snapshot = seen("hx-vibration", "idle")
    (loop,) = snapshot.circulations
    pascal = snapshot.ports["exchanger.hot"].pressure_bar * 1e5 + snapshot.site["atmosphere_Pa"]
    drive_Pa = 0.0
    for place, rise_mm in zip(loop.places, loop.rises_mm, strict=True):
        kelvin = snapshot.temperatures_degC[place] + 273.15
        drive_Pa -= PropsSI("D", "T", kelvin, "P", pascal, "Water") * 9.80665 * rise_mm * 1e-3
    told_Pa = buoyancy_Pa(loop, View(machine_named("hx-vibration"), snapshot))
    assert told_Pa == pytest.approx(drive_Pa, abs=0.4)


def test_hot_water_flashes_at_the_tap_as_coolprop_says() -> None:
    """IAPWS-95 as CoolProp has it, at constant enthalpy from the boiler to the room; the twin's enthalpies
    are within 5e-4 of the heat of evaporation."""
    snapshot = seen("hx-vibration", "hot-water")
    atmosphere = snapshot.site["atmosphere_Pa"]
    kelvin = snapshot.temperatures_degC["boiler.upper"] + 273.15
    hot = PropsSI("H", "T", kelvin, "Q", 0, "Water")
    liquid, vapour = (PropsSI("H", "P", atmosphere, "Q", q, "Water") for q in (0, 1))
    (line,) = [x for x in snapshot.lines if x.from_port == "water_tap.out"]
    assert line.steam_share == pytest.approx((hot - liquid) / (vapour - liquid), abs=5e-4)


def test_a_relief_valve_that_returns_its_water_runs_the_pump_on_its_curve() -> None:
    """A vibration pump of 650 ml/min free flow gives 380 ml/min at 6 bar, 250 at 9, 120 at 12, so about 220
    at 9.7 bar (common practice, no source)."""
    snapshot = seen("hx-vibration", "over-pressure")
    (pump,) = [x for x in snapshot.flows if x.part == "pump"]
    assert 180.0 < pump.flow_g_per_s * 60.0 / 0.998 < 250.0
