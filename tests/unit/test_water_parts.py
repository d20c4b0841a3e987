"""What the parts for water and heat do in small machines, against the trade's figures and sums by hand.

Trade figures and rows: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import exp, pi, sqrt
from typing import Any

import numpy as np
import pytest

from collaudo.machine.model import Machine
from collaudo.parts.brew_boiler import BrewBoiler
from collaudo.parts.circuit import Circuit, Site
from collaudo.parts.drain_hose import DrainHose
from collaudo.parts.drip_tray import DripTray
from collaudo.parts.flow_meter import FlowMeter
from collaudo.parts.flow_through_heater import FlowThroughHeater
from collaudo.parts.heating_element import HeatingElement
from collaudo.parts.part import declared_fields, kind_named
from collaudo.parts.sight_glass import SightGlass
from collaudo.parts.softener import Softener
from collaudo.twin.audit import balances
from collaudo.twin.kernel.elimination import build_system, eliminate, substitute
from collaudo.twin.kernel.rates import rates
from collaudo.twin.run import Moment, Run, build
from tests.unit.small_machines import (
    Holds,
    at_the_line,
    gained,
    last,
    put_together,
    with_brew_boiler,
    with_flow_through_heater,
)

iapws = pytest.importorskip("iapws")

KINDS = (
    "three_way_valve",
    "flow_meter",
    "brew_boiler",
    "bolted_group",
    "cartridge_heater",
    "flow_through_heater",
    "spring_piston_group",
    "softener",
    "line_regulator",
    "backflow_preventer",
    "mixing_valve",
    "tank_switch",
    "sight_glass",
    "dip_tube",
    "boiler_drain",
    "group_strainer",
    "drip_tray",
    "drain_hose",
)


# -- what they say of themselves


@pytest.mark.parametrize("word", KINDS)
def test_a_kind_tells_apprentice_and_customer_what_it_does_and_how_it_fails(word: str) -> None:
    """Half sentences that follow the part's name: no capital, no full stop."""
    kind = kind_named(word)
    assert kind.kind == word
    for said in (kind.text, kind.customer, kind.fails):
        assert said
        assert said[0].islower()
        assert not said.endswith(".")
    assert kind.text != kind.customer


@cache
def steam_boiler() -> Machine:
    """A steam boiler with what hangs on it, a spring group under it, and the line that feeds it."""
    parts: dict[str, dict[str, Any] | Holds] = {
        "line": {"kind": "water_line"},
        "backflow_preventer": {"kind": "backflow_preventer"},
        "line_regulator": {"kind": "line_regulator"},
        "softener": {"kind": "softener"},
        "boiler": {"kind": "boiler"},
        "dip_tube": {"kind": "dip_tube"},
        "sight_glass": {"kind": "sight_glass"},
        "safety_valve": {"kind": "safety_valve"},
        "boiler_drain": {"kind": "boiler_drain"},
        "mixing_valve": {"kind": "mixing_valve"},
        "tap": {"kind": "tap", "passes": "water"},
        "lever": {"kind": "lever"},
        "group": {"kind": "spring_piston_group"},
        "portafilter": {"kind": "portafilter", "below": "group.screen"},
        "tank": {"kind": "tank"},
        "tank_switch": {"kind": "tank_switch"},
        "cup": {"kind": "receiver"},
        "room": {"kind": "receiver"},
    }
    lines = (
        ("line.out", "backflow_preventer.in"),
        ("backflow_preventer.out", "line_regulator.in"),
        ("line_regulator.out", "softener.in"),
        ("softener.out", "boiler.fill"),
        ("softener.out", "mixing_valve.cold"),
        ("boiler.water", "mixing_valve.hot"),
        ("mixing_valve.out", "tap.in"),
        ("tap.out", "cup.second"),
        ("boiler.water", "group.in"),
        ("group.screen", "portafilter.in"),
        ("portafilter.out", "cup.in"),
        ("boiler.safety", "safety_valve.in"),
        ("safety_valve.out", "room.in"),
        ("boiler.drain", "boiler_drain.in"),
        ("boiler_drain.out", "room.second"),
    )
    return put_together(parts, lines)


MACHINES: dict[str, Callable[[], Machine]] = {
    "boiler": with_brew_boiler,
    "heater": with_flow_through_heater,
    "steam": steam_boiler,
}


def faults() -> list[tuple[str, str, float | str]]:
    """Every value at the end of its range and every word, for every part of the kinds above."""
    found: list[tuple[str, str, float | str]] = []
    for which, make in MACHINES.items():
        for name, part in make().parts.items():
            if part.kind not in (*KINDS, "portafilter", "brew_chamber"):
                continue
            for key, said in declared_fields(type(part)).items():
                ends = (said["low"], said["high"]) if "low" in said else said.get("known", ())
                if key != "cells_count":
                    found += [(which, f"{name}.{key}", value) for value in ends]
    return found


def test_every_kind_of_this_file_is_in_one_of_its_machines() -> None:
    parts = {part.kind for make in MACHINES.values() for part in make().parts.values()}
    assert set(KINDS) <= parts


@pytest.mark.parametrize("which", MACHINES)
def test_no_value_and_no_word_changes_the_structure(which: str) -> None:
    """A fault or a draw is a patch of numbers: same tables, same shapes, all finite."""
    machine = MACHINES[which]()
    sound = build(machine).tables
    tried = [(key, value) for where, key, value in faults() if where == which]
    assert len(tried) > 60
    for key, value in tried:
        tables = build(machine.with_fields({key: value})).tables
        for name, ours, theirs in zip(tables._fields, tables, sound, strict=True):
            assert ours.shape == theirs.shape, (key, value, name)
            for column in ours.dtype.names or ():
                assert np.all(np.isfinite(ours[column])), (key, value, name, column)
                if np.issubdtype(ours[column].dtype, np.integer):
                    commands = key.endswith(".state") and name in ("contact", "member")
                    assert commands or np.array_equal(ours[column], theirs[column]), (key, value, name)


# -- a brew boiler, its group and its three-way valve


@cache
def warm_boiler() -> tuple[Run, Moment]:
    """Switched on cold, an hour later."""
    run = Run.of(with_brew_boiler())
    run.set_input("power", 1.0)
    run.advance(3600.0)
    return run, run.save()


def warmed() -> Run:
    run, moment = warm_boiler()
    run.restore(moment)
    return run


def density_kg_per_m3(degC: float, bar_gauge: float) -> float:
    """Liquid water by the library iapws."""
    return float(iapws.IAPWS97(T=degC + 273.15, P=0.101325 + 0.1 * bar_gauge).rho)


def test_a_closed_brew_boiler_gives_up_what_its_water_swells_by() -> None:
    """Against IAPWS-97: the water at the end is what fits at its temperature and the relief's pressure. Row
    69 of the trade: 5 to 22 g of drips for 0.6 l from cold to 93 degC."""
    run = Run.of(with_brew_boiler())
    run.set_input("power", 1.0)
    run.advance(0.0)
    tank_kg = last(run, "mass tank")
    while not run.events:
        run.advance(5.0)
    run.advance(0.0)
    swelled_g = last(run, "mass tank") - tank_kg
    bar = last(run, "pressure boiler")
    layers = [(0.35, "lower"), (0.65, "upper")]
    held_g = sum(
        share * 600.0 * density_kg_per_m3(last(run, f"temperature boiler.{layer}"), bar) * 1e-3
        for share, layer in layers
    )
    given_g = 0.08 * bar  # the shell gives 0.08 ml a bar
    expected_g = 600.0 * density_kg_per_m3(22.0, 0.0) * 1e-3 - held_g - given_g
    assert swelled_g == pytest.approx(expected_g, abs=1.0)
    assert 5.0 <= swelled_g <= 22.0


def test_a_group_bolted_to_a_boiler_at_93_degrees_idles_as_the_trade_says() -> None:
    """Row 39 of the trade: 82 degC of metal, 75 to 92."""
    run = warmed()
    assert last(run, "temperature boiler.upper") == pytest.approx(93.0, abs=2.0)
    assert last(run, "temperature group") == pytest.approx(82.0, abs=4.0)


def test_a_better_joint_brings_the_group_nearer_to_its_boiler() -> None:
    temperatures = []
    for conductance in (1.0, 6.0, 20.0):
        run = Run.of(with_brew_boiler().with_fields({"group.conductance_W_per_K": conductance}))
        run.set_input("power", 1.0)
        run.advance(3600.0)
        temperatures.append(last(run, "temperature group"))
    assert temperatures == sorted(temperatures)
    assert temperatures[0] < 70.0
    assert temperatures[-1] > 87.0


def test_fresh_water_lies_below_and_a_short_draw_leaves_hot() -> None:
    """60 g out of 600: stirred, all would be 7 K cooler; the upper layer loses less than half of that."""
    run = warmed()
    before = last(run, "temperature boiler.upper")
    run.set_input("power", 0.0)
    run.set_input("brew", 1.0)
    run.advance(0.0)
    begun_g = last(run, "mass cup")
    while last(run, "mass cup") - begun_g < 60.0:
        run.advance(0.5)
    assert last(run, "temperature boiler.lower") < before - 10.0
    assert last(run, "temperature boiler.upper") > before - 3.0


def test_with_current_the_way_in_is_open_and_the_way_out_shut() -> None:
    """Row 67 of the trade: at the blind disc the exhaust gives no more than a drop or two in 10 s."""
    run = warmed()
    run.change({"portafilter.holds": "blind"})
    run.set_input("brew", 1.0)
    run.advance(5.0)
    assert gained(run, "mass tray", 10.0) < 0.1
    assert last(run, "pressure brew_chamber") == pytest.approx(last(run, "pressure boiler"), abs=0.1)
    assert 9.0 <= last(run, "pressure brew_chamber") <= 11.0


def test_an_exhaust_seat_that_leaks_shows_as_a_stream_at_the_blind_disc() -> None:
    """A leak of 0.5 mm at nearly 10 bar: 0.7 A sqrt(2 rho dp) by hand, the pressure as it settles."""
    run = warmed()
    run.change({"portafilter.holds": "blind", "valve.exhaust_leak_bore_mm": 0.5})
    run.set_input("brew", 1.0)
    run.advance(5.0)
    stream_g = gained(run, "mass tray", 10.0)
    Pa, rho = last(run, "pressure brew_chamber") * 1e5, density_kg_per_m3(88.0, 9.0)
    by_hand_g = 10.0 * 0.7 * 0.25 * pi * 0.5e-3**2 * sqrt(2.0 * rho * Pa) * 1e3
    assert stream_g == pytest.approx(by_hand_g, rel=0.05)


def test_without_current_the_pressure_leaves_by_the_exhaust() -> None:
    """Row 68 of the trade: 4 to 20 g after a shot."""
    run = warmed()
    run.change({"portafilter.holds": "puck"})
    run.set_input("brew", 1.0)
    run.advance(25.0)
    assert last(run, "pressure brew_chamber") > 8.0
    run.set_input("brew", 0.0)
    assert 4.0 <= gained(run, "mass tray", 5.0) <= 20.0
    assert abs(last(run, "pressure brew_chamber")) < 0.05


def test_warm_up_shot_and_exhaust_balance() -> None:
    """Energy follows temperatures: to the tolerance, here a tenth of the usual one."""
    run = Run.of(with_brew_boiler(), rtol=1e-4)
    run.set_input("power", 1.0)
    run.advance(400.0)
    run.change({"portafilter.holds": "puck"})
    run.set_input("brew", 1.0)
    run.advance(25.0)
    run.set_input("brew", 0.0)
    run.advance(5.0)
    books = balances(run)
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9
    assert books["energy"] < 1e-5


def test_a_blocked_exhaust_keeps_the_pressure() -> None:
    run = warmed()
    run.change({"portafilter.holds": "blind", "valve.exhaust_bore_mm": 0.02})
    run.set_input("brew", 1.0)
    run.advance(10.0)
    run.set_input("brew", 0.0)
    run.advance(2.0)
    assert last(run, "pressure brew_chamber") > 1.0


def test_a_leaking_inlet_seat_drips_from_the_group_while_the_boiler_warms() -> None:
    """What the water swells by leaves through the seat and not by the relief valve."""

    def from_cold(leak_mm: float) -> tuple[float, float]:
        run = Run.of(with_brew_boiler().with_fields({"valve.leak_bore_mm": leak_mm}))
        run.set_input("power", 1.0)
        run.advance(0.0)
        tank_g = last(run, "mass tank")
        run.advance(200.0)
        return last(run, "mass cup") + last(run, "mass tray"), last(run, "mass tank") - tank_g

    dripped_g, returned_g = from_cold(0.004)
    assert (dripped_g < 0.5, returned_g > 10.0) == (True, True)
    dripped_g, returned_g = from_cold(0.4)
    assert (returned_g < 0.5, dripped_g > 10.0) == (True, True)


def test_the_needle_of_a_gauge_portafilter_passes_two_grams_a_second_at_nine_bar() -> None:
    """1.5 to 2.5 g/s (common practice, no source)."""
    run = warmed()
    run.change({"portafilter.holds": "needle"})
    run.set_input("brew", 1.0)
    run.advance(20.0)
    assert 8.5 <= last(run, "pressure brew_chamber") <= 10.5
    assert 1.5 <= gained(run, "mass cup", 10.0) / 10.0 <= 2.5


def test_one_boiler_brought_to_steam_gives_steam_and_loses_level() -> None:
    """What leaves by the steam tap is steam: its enthalpy condenses in the jug."""
    machine = with_brew_boiler(volume_l=0.3, shell_kg=1.2).with_fields({})
    parts = dict(machine.parts) | {"holds": Holds("holds", on="boiler.upper", opens_degC=130.0)}
    run = Run.of(Machine("small", "small", parts, machine.lines, machine.wires))
    run.set_input("power", 1.0)
    run.advance(900.0)
    level = last(run, "level boiler")
    run.set_input("steam_tap", 1.0)
    steam_g = gained(run, "mass jug", 20.0)
    assert 8.0 < steam_g < 40.0
    assert last(run, "level boiler") < level - 0.02
    assert last(run, "steam steam_tap") == pytest.approx(1.0, abs=0.02)


def test_the_drain_empties_a_cold_boiler_and_lets_air_in() -> None:
    run = Run.of(with_brew_boiler())
    run.set_input("drain", 1.0)
    run.set_input("steam_tap", 1.0)
    assert gained(run, "mass jug", 600.0) > 550.0
    assert last(run, "level boiler") < 0.06


@pytest.mark.parametrize("metal", ["brass", "copper", "steel", "aluminium"])
def test_a_shell_stores_what_its_metal_does(metal: str) -> None:
    """Specific heats against the handbook (CRC: Cu 385, Al 897; cartridge brass 380; 18-8 steel 500): 3 %."""
    handbook = {"brass": 380.0, "copper": 385.0, "steel": 500.0, "aluminium": 897.0}
    circuit = Circuit(Site())
    BrewBoiler("boiler", shell=metal, shell_kg=2.0).describe(circuit)
    assert circuit.walls["boiler"][0] == pytest.approx(2.0 * handbook[metal], rel=0.03)


# -- a flow-through heater


@cache
def warm_heater() -> tuple[Run, Moment]:
    run = Run.of(with_flow_through_heater())
    run.set_input("power", 1.0)
    run.advance(1800.0)
    return run, run.save()


def flowing(changes: dict[str, float | str] | None = None) -> Run:
    """Warm, then a minute of flow against the needle, its element off."""
    run, moment = warm_heater()
    run.restore(moment)
    run.change({"portafilter.holds": "needle", "portafilter.needle_mm": 0.45, **(changes or {})})
    run.set_input("brew", 1.0)
    run.advance(12.0)
    return run


def test_a_flow_through_heater_is_ready_within_the_trades_time() -> None:
    """0.7 to 4 min (common practice, no source)."""
    run = Run.of(with_flow_through_heater())
    run.set_input("power", 1.0)
    run.advance(300.0)
    first_off_s = next(t for t, name, state in run.events if name == "holds" and state == 1.0)
    assert 0.7 * 60.0 <= first_off_s <= 4.0 * 60.0


def test_a_cartridge_holds_a_group_that_no_boiler_warms() -> None:
    run, moment = warm_heater()
    run.restore(moment)
    assert last(run, "temperature group") == pytest.approx(89.5, abs=1.5)


def effectiveness(run: Run) -> float:
    """Rise of the water over the rise to the block's temperature."""
    into, out = last(run, "temperature tank"), last(run, "temperature element.cell5")
    return (out - into) / (last(run, "temperature element") - into)


def test_the_heater_warms_as_its_law_says_for_a_row_of_mixed_cells() -> None:
    """Steady flow, UA of the law: each of n cells takes NTU/n; 1 - (1 + NTU/n)^-n, any textbook of reactors.
    The block cools meanwhile by a kelvin a second or two, so two percent."""
    run = flowing()
    flow_kg_per_s = last(run, "flow pump") * 1e-3
    heater = FlowThroughHeater("element")
    still, reference = (heater.conductance_W_per_K(flow) for flow in (0.0, 4.0e-3))
    UA = sqrt(still**2 + (reference**2 - still**2) * flow_kg_per_s / 4.0e-3)
    n = int(heater.cells_count)
    expected = 1.0 - (1.0 + UA / (flow_kg_per_s * 4190.0) / n) ** -n
    assert effectiveness(run) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("flow_g_per_s", [4.0, 6.0, 8.0, 12.0])
def test_the_root_of_the_flow_is_fair_where_the_flow_is_turbulent(flow_g_per_s: float) -> None:
    """Outlet of a plug of water, 1 - exp(-NTU), against the law's own conductance: within a tenth."""
    heater, flow = FlowThroughHeater("element"), flow_g_per_s * 1e-3
    still, reference = (heater.conductance_W_per_K(m) for m in (0.0, 4.0e-3))
    fitted = sqrt(still**2 + (reference**2 - still**2) * flow / 4.0e-3)
    by_law = heater.conductance_W_per_K(flow)
    assert exp(-fitted / (flow * 4190.0)) == pytest.approx(exp(-by_law / (flow * 4190.0)), abs=0.1)


def test_scale_lets_less_heat_and_less_water_through() -> None:
    clean, furred = flowing(), None
    before = effectiveness(clean), last(clean, "flow pump")
    furred = flowing({"element.scale_mm": 1.2})
    assert effectiveness(furred) < before[0] - 0.15
    assert last(furred, "flow pump") < before[1]


def test_what_a_flow_does_to_the_block_is_solved_for_in_full() -> None:
    """The block's heat goes with the flow, so its row of the step's system holds the slopes of pressures. The
    sparse elimination must not drop any: it solves as a dense one does."""
    run = flowing()
    tb, wk = run.tables, run.work
    rates(run.y, np.zeros(run.y.size), True, tb, run.mode, wk)
    n = int(tb.state_count[0])
    build_system(50.0, tb, wk)
    dense = np.array(wk.system[:n, :n])
    row = int(tb.wall["state"][run.assembly.names.walls["element"]])
    assert np.count_nonzero(dense[row]) > 10
    right = np.linspace(1.0, 2.0, n) * np.array(tb.state["scale_absolute"][:n])
    expected = np.linalg.solve(dense, right)
    assert eliminate(tb, wk)
    found = np.zeros(n)
    substitute(right.copy(), found, tb, wk)
    scale = np.array(tb.state["scale_absolute"][:n])
    assert np.max(np.abs(found - expected) / scale) < 1e-6 * np.max(np.abs(expected) / scale)


def test_a_heated_row_of_cells_balances() -> None:
    """Energy follows temperatures: to the tolerance, here a tenth of the usual one."""
    run = Run.of(with_flow_through_heater(), rtol=1e-4)
    run.set_input("power", 1.0)
    run.advance(300.0)
    run.set_input("brew", 1.0)
    run.advance(20.0)
    run.set_input("brew", 0.0)
    run.advance(60.0)
    books = balances(run)
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9
    assert books["energy"] < 1e-5


def test_a_meter_gives_two_pulses_a_millilitre() -> None:
    """Row 55 of the trade: 2, from 1.5 to 5."""
    meter = FlowMeter("flow_meter")
    assert meter.pulses(50.0) == pytest.approx(100.0)
    assert 1.5 <= meter.pulses_per_ml <= 5.0
    circuit = Circuit(Site())
    FlowMeter("flow_meter", counted_share=0.0).describe(circuit)
    assert [(m.through, m.counted_share) for m in circuit.meters] == [("flow_meter", 0.0)]


def test_a_meter_and_a_clean_strainer_hardly_hold_the_water_back() -> None:
    """At 4 g/s each loses less than 0.05 bar."""
    for kind in ("flow_meter", "group_strainer"):
        run = Run.of(at_the_line(1.0, part={"kind": kind}))
        run.advance(20.0)
        lost = last(run, "pressure line.out") - last(run, "gauge gauge")
        scaled = lost * (4.0 / last(run, "flow jet")) ** 2
        assert 0.0 < scaled < 0.05, kind


# -- feed


def test_a_softeners_bed_loses_what_it_declares_at_a_litre_a_minute() -> None:
    """Darcy: the loss goes with the flow and the water's viscosity (1.14 mPa s at 15 degC by IAPWS)."""
    run = Run.of(at_the_line(softener={"kind": "softener", "loss_bar": 0.5, "bore_mm": 30.0}))
    run.advance(20.0)
    lost_bar = last(run, "pressure line.out") - last(run, "gauge gauge")
    l_per_min = last(run, "flow jet") * 60.0 / density_kg_per_m3(15.0, 2.5)
    viscosity = float(iapws.IAPWS97(T=288.15, P=0.3).mu)
    assert lost_bar == pytest.approx(0.5 * l_per_min * viscosity / 1e-3, rel=0.01)


def test_a_clogged_softener_starves_what_it_feeds() -> None:
    flows = []
    for clogged in (0.0, 0.9, 0.99, 0.9999):
        run = Run.of(at_the_line(softener={"kind": "softener", "clogged_share": clogged}))
        run.advance(20.0)
        flows.append(last(run, "flow jet"))
    assert flows == sorted(flows, reverse=True)
    assert flows[-1] < 0.02 * flows[0]


@pytest.mark.parametrize(("raw_dH", "litres"), [(11.0, 1450.0), (17.0, 940.0), (22.0, 730.0)])
def test_eight_litres_of_resin_last_as_the_trade_says(raw_dH: float, litres: float) -> None:
    """Row 73 of the trade; 16,000 litres times degrees. The rows' own digits give 1 %."""
    softener = Softener("softener", resin="salt", capacity_l_dH=16_000.0, used_l=litres)
    assert softener.spent_share(raw_dH) == pytest.approx(1.0, abs=0.01)


def test_a_cartridge_delivers_soft_water_until_it_is_spent() -> None:
    """Row 70 of the trade: 2 to 6 degrees behind it; a spent one gives the raw value."""
    fresh, spent = (Softener("softener", bypass_share=0.15, used_l=used) for used in (0.0, 900.0))
    assert 2.0 <= fresh.hardness_after_dH(14.0) <= 6.0
    assert spent.hardness_after_dH(14.0) == pytest.approx(14.0)
    half = [Softener("softener", used_l=used).hardness_after_dH(14.0) for used in range(0, 700, 20)]
    assert half == sorted(half)


def test_a_backflow_preventer_takes_little_and_gives_nothing_back() -> None:
    forward = Run.of(at_the_line(guard={"kind": "backflow_preventer"}))
    forward.advance(10.0)
    lost_bar = last(forward, "pressure line.out") - last(forward, "gauge gauge")
    assert 0.15 <= lost_bar < 0.35
    backward = Run.of(
        put_together(
            {
                "line": {"kind": "water_line"},
                "guard": {"kind": "backflow_preventer"},
                "gauge": {"kind": "gauge"},
                "jet": {"kind": "brew_jet"},
                "cup": {"kind": "receiver"},
            },
            [
                ("line.out", "guard.out"),
                ("guard.in", "jet.in"),
                ("guard.in", "gauge.in"),
                ("jet.out", "cup.in"),
            ],
        )
    )
    assert gained(backward, "mass cup", 60.0) < 0.01


def test_cold_water_and_hot_meet_in_the_mixing_valve_as_its_knob_stands() -> None:
    """All cold, all hot, and between them the mean by mass."""

    def outlet_degC(share: float) -> float:
        parts: dict[str, dict[str, Any]] = {
            "line": {"kind": "water_line"},
            "warm": {"kind": "tank", "water_l": 2.0},
            "pump": {"kind": "vibration_pump"},
            "mixing_valve": {"kind": "mixing_valve", "hot_share": share},
            "jet": {"kind": "brew_jet", "bore_mm": 1.5},
            "cup": {"kind": "receiver"},
        }
        lines = [
            ("line.out", "mixing_valve.cold"),
            ("warm.out", "pump.in"),
            ("pump.out", "mixing_valve.hot"),
            ("mixing_valve.out", "jet.in"),
            ("jet.out", "cup.in"),
        ]
        wires = [("mains.live", "pump.live"), ("mains.neutral", "pump.neutral")]
        run = Run.of(put_together(parts, lines, wires), Site(room_K=333.15, feed_K=288.15))
        run.advance(60.0)
        by_mass = (
            last(run, "flow mixing_valve.hot") * last(run, "temperature warm")
            + last(run, "flow mixing_valve.cold") * 15.0
        ) / last(run, "flow jet")
        place = f"junction of {min('mixing_valve.out', 'jet.in')}"
        found = last(run, f"temperature {place}.water")
        assert found == pytest.approx(by_mass, abs=0.3)
        return found

    cold, between, hot = outlet_degC(0.0), outlet_degC(0.5), outlet_degC(1.0)
    assert cold == pytest.approx(15.0, abs=1.0)
    assert cold < between < hot
    assert hot == pytest.approx(60.0, abs=1.0)


# -- tank, boiler fittings, tray


def tank_machine(**switch: Any) -> Machine:
    parts = {
        "tank": {"kind": "tank", "water_l": 0.4},
        "tank_switch": {"kind": "tank_switch", **switch},
        "pump": {"kind": "vibration_pump"},
        "gauge": {"kind": "gauge"},
        "jet": {"kind": "brew_jet", "bore_mm": 3.0},
        "cup": {"kind": "receiver"},
        "power_switch": {"kind": "switch", "worked_by": "power"},
    }
    lines = [
        ("tank.out", "pump.in"),
        ("pump.out", "gauge.in"),
        ("pump.out", "jet.in"),
        ("jet.out", "cup.in"),
    ]
    wires = [
        ("mains.live", "power_switch.a"),
        ("power_switch.b", "tank_switch.a"),
        ("tank_switch.b", "pump.live"),
        ("pump.neutral", "mains.neutral"),
    ]
    return put_together(parts, lines, wires)


def pumped(machine: Machine) -> Run:
    run = Run.of(machine)
    run.set_input("power", 1.0)
    run.advance(120.0)
    return run


def test_the_tank_switch_stops_the_pump_before_it_runs_dry() -> None:
    run = pumped(tank_machine(low_l=0.1, differential_l=0.1))
    assert last(run, "mass tank") == pytest.approx(100.0, abs=0.5)
    assert last(run, "flow pump") == pytest.approx(0.0, abs=1e-6)
    run.change({"tank.water_l": 2.0})
    run.fill_up("tank")
    run.advance(1.0)
    assert last(run, "flow pump") > 8.0


def test_a_stuck_tank_switch_is_dead_or_blind() -> None:
    assert last(pumped(tank_machine(state="stuck_open")), "mass cup") == pytest.approx(0.0, abs=1e-6)
    assert last(pumped(tank_machine(state="stuck_closed")), "mass tank") < 20.0


def test_between_its_two_levels_the_tank_switch_stays_as_it_was() -> None:
    run = pumped(tank_machine(low_l=0.1, differential_l=0.5))
    assert [state for _, name, state in run.events if name == "tank_switch"] == []
    assert last(run, "mass cup") == pytest.approx(0.0, abs=1e-6)


def test_a_dip_tube_broken_off_short_lets_steam_out_of_the_water_tap() -> None:
    """The outlet's level moves above the water, which stands at 0.62 when cold."""
    whole, broken = (
        build(steam_boiler().with_fields({"dip_tube.state": state})).tables for state in ("sound", "broken")
    )
    moved = np.flatnonzero(np.array(whole.element["height_a"]) != np.array(broken.element["height_a"]))
    assert len(moved) == 2  # the mixing valve's hot side and the group draw there
    assert np.all(np.array(whole.element["height_a"])[moved] == pytest.approx(0.15))
    assert np.all(np.array(broken.element["height_a"])[moved] == pytest.approx(0.85))


def test_a_sight_glass_shows_its_own_span_and_lies_when_it_is_clogged() -> None:
    glass = SightGlass("sight_glass")
    assert glass.shown_share(0.6, 0.0) == 0.6
    assert glass.shown_share(0.1, 0.0) == 0.35
    assert glass.shown_share(1.0, 0.0) == 0.9
    assert SightGlass("sight_glass", state="clogged").shown_share(0.2, 0.7) == 0.7
    assert SightGlass("sight_glass", state="clouded").shown_share(0.6, 0.6) is None


def test_a_tray_runs_over_with_what_its_hose_does_not_take() -> None:
    tray = DripTray("tray", volume_l=1.2, water_l=0.3)
    assert tray.run_over_l(0.8) == 0.0
    assert tray.run_over_l(1.5) == pytest.approx(0.6)
    assert tray.run_over_l(1.5, drained_l=1.0) == 0.0


def test_a_drain_hose_carries_what_an_independent_library_reckons() -> None:
    """fluids: friction after Colebrook, the same mouths; 14 mm, 1.5 m, falling 0.6 m."""
    fluids = pytest.importorskip("fluids")
    speed = 1.0
    for _ in range(50):
        reynolds = 998.0 * speed * 0.014 / 1.0e-3
        lost = 1.5 + fluids.friction_factor(Re=reynolds, eD=0.0) * 1.5 / 0.014
        speed = sqrt(2.0 * fluids.constants.g * 0.6 / lost)
    expected_g_per_s = 998.0 * speed * 0.25 * pi * 0.014**2 * 1e3
    assert DrainHose("hose").carries_g_per_s == pytest.approx(expected_g_per_s, rel=0.02)


def test_a_blocked_hose_carries_next_to_nothing() -> None:
    carried = [DrainHose("hose", blocked_share=share).carries_g_per_s for share in (0.0, 0.5, 0.9, 0.9999)]
    assert carried == sorted(carried, reverse=True)
    assert carried[0] > 100.0
    assert carried[-1] < 0.1


def test_a_regulator_shuts_at_its_setting_and_creeps_when_its_seat_leaks() -> None:
    """Behind it at rest: the setting; while it feeds: within its droop below; leaking: the line's own."""

    def behind(jet_mm: float, **regulator: Any) -> float:
        run = Run.of(at_the_line(jet_mm, guard={"kind": "line_regulator", **regulator}), Site(feed_Pa=5.0e5))
        run.advance(600.0)
        return last(run, "gauge gauge")

    at_rest, feeding = behind(0.05), behind(2.0)
    assert at_rest == pytest.approx(3.0, abs=0.1)
    assert 2.2 < feeding < at_rest
    assert behind(0.02, leak_ml_per_min_at_9_bar=200.0) == pytest.approx(5.0, abs=0.1)
    assert behind(2.0, bore_mm=0.3) < 0.5


# -- a spring group under a steam boiler


@cache
def hot_lever() -> tuple[Run, Moment]:
    """The steam boiler of above, heated to 0.95 bar for an hour; coffee in the portafilter."""
    machine = steam_boiler()
    parts = dict(machine.parts) | {
        "element": HeatingElement("element", power_W=1500.0),
        "holds": Holds("holds", on="boiler.upper", opens_degC=118.6),
    }
    wires = (
        ("mains.live", "holds.a"),
        ("holds.b", "element.live"),
        ("element.neutral", "mains.neutral"),
    )
    changed = Machine("small", "small", parts, machine.lines, wires)
    run = Run.of(changed.with_fields({"portafilter.holds": "puck"}), Site(feed_Pa=0.0))
    run.advance(3600.0)
    return run, run.save()


def pulled(changes: dict[str, float | str] | None = None, shots: int = 2) -> Run:
    """Shots one after another: pulled for 8 s, let go for 50; the last one goes on."""
    run, moment = hot_lever()
    run.restore(moment)
    run.change(changes or {})
    for shot in range(shots):
        run.set_input("lever", 1.0)
        run.advance(8.0)
        run.set_input("lever", 0.0)
        run.advance(1.0 if shot == shots - 1 else 50.0)
    return run


def test_the_spring_presses_hot_water_through_the_coffee() -> None:
    """8 to 10 bar falling to 4 to 6 as the piston comes down, 40 to 65 ml (common practice, no source)."""
    run = pulled(shots=4)
    assert 8.0 <= last(run, "pressure group") <= 10.0
    begun_g = last(run, "mass cup")
    pressures = [last(run, "pressure group")]
    left_when_down_g = 14.0 * density_kg_per_m3(95.0, 5.0) * 1e-3
    while last(run, "mass group") > left_when_down_g + 1.0:
        pressures.append(last(run, "pressure group"))
        run.advance(0.5)
    assert pressures == sorted(pressures, reverse=True)
    assert 4.0 <= pressures[-1] <= 6.0
    assert 85.0 < last(run, "temperature group.water") < 100.0
    run.advance(60.0)
    assert abs(last(run, "pressure group")) < 0.2
    assert 40.0 <= last(run, "mass cup") - begun_g <= 65.0
    books = balances(run)
    assert books["water"] < 1e-9
    assert books["air"] < 1e-9


def test_a_lever_group_grows_hot_with_its_shots() -> None:
    """Cold metal first; hot after 3 to 5 shots (common practice, no source)."""
    before = last(pulled(shots=1), "temperature group")
    after = last(pulled(shots=5), "temperature group")
    assert 55.0 <= before <= 88.0
    assert after > before + 4.0


def test_a_sagged_spring_presses_less_and_a_worn_seal_weeps_above() -> None:
    sound = pulled()
    assert last(sound, "mass group.above") < 0.5
    pressure = last(sound, "pressure group")
    assert last(pulled({"group.sagged_mm": 12.0}), "pressure group") < pressure - 1.5
    assert last(pulled({"group.seal_leak_mm": 0.6}), "mass group.above") > 5.0


def test_an_inlet_that_leaks_lets_boiler_water_drip_from_the_group() -> None:
    run, moment = hot_lever()
    run.restore(moment)
    tight_g = gained(run, "mass cup", 300.0)
    run.restore(moment)
    run.change({"group.inlet_leak_mm": 0.4})
    assert gained(run, "mass cup", 300.0) > tight_g + 20.0
