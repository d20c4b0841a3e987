"""Laws every network obeys, on the wiring of whole machines; what meters then show."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import inf

import numpy as np
import pytest

from collaudo.current.meter import (
    DIGITAL_OHM,
    TESTER_OHM,
    clamp_A,
    insulation_Mohm,
    leakage,
    ohms,
    residual_A,
    trips,
    volts,
)
from collaudo.current.network import (
    STRAY_FARAD,
    Condition,
    Network,
    condition_of,
    loads_that_act,
    network_of,
    unplugged,
)
from collaudo.current.nodal import Branch, solve
from collaudo.errors import UnknownNameError
from collaudo.machine.described import described
from collaudo.machine.load import find_machine
from collaudo.parts.circuit import Site
from collaudo.twin.run import Run

MACHINES = ("hx-vibration", "hx-rotary", "hx-two-group-three-phase", "single-boiler")
ON = Condition({"power": 1.0, "lever": 1.0})
HEATING = Condition({"power": 1.0})


@cache
def at_work(machine: str) -> Network:
    """All that a hand can switch on is on."""
    inputs = described(find_machine(machine)).inputs
    return network_of(find_machine(machine), Condition(dict.fromkeys(inputs, 1.0)))


@cache
def hx(condition: str = "heating", plugged: bool = True) -> Network:
    how = {"heating": HEATING, "all": ON}[condition]
    return network_of(find_machine("hx-vibration"), replace(how, plugged=plugged))


# -- laws


@pytest.mark.parametrize("machine", MACHINES)
def test_no_current_is_lost_at_any_node(machine: str) -> None:
    """Kirchhoff's current law, to the round-off of 230 V over the least resistance there is."""
    network = at_work(machine)
    found = network.solve()
    balance = dict.fromkeys(found.potential_V, 0j)
    for place in network.places:
        balance[place.branch.a] -= found.current_A[place.name]
        balance[place.branch.b] += found.current_A[place.name]
    for terminal, amps in found.source_A.items():
        balance[terminal] += amps
    assert max(abs(amps) for amps in balance.values()) < 230.0 / 5e-3 * 1e-13


@pytest.mark.parametrize("machine", MACHINES)
def test_sources_give_what_branches_take(machine: str) -> None:
    """B. D. H. Tellegen, Philips Research Reports 7 (1952) 259: the sum of all powers is nought."""
    network = at_work(machine)
    found = network.solve()
    given = sum(found.potential_V[t] * amps.conjugate() for t, amps in found.source_A.items())
    taken = sum(
        found.open_volts(x.branch.a, x.branch.b) * found.current_A[x.name].conjugate() for x in network.places
    )
    assert given.real > 100.0
    assert abs(given - taken) < 1e-9 * abs(given)


@pytest.mark.parametrize("machine", MACHINES)
def test_no_branch_and_no_pair_of_points_gives_power_of_its_own(machine: str) -> None:
    network = at_work(machine)
    found = network.solve()
    for place in network.places:
        across = found.open_volts(place.branch.a, place.branch.b)
        assert (across * found.current_A[place.name].conjugate()).real > -1e-9, place.name
    for point in network.points:
        for other in network.pins.values():
            assert found.source_impedance_ohm(point, other).real > -1e-9


@pytest.mark.parametrize("machine", MACHINES)
def test_volts_of_two_supplies_are_the_sum_of_the_volts_of_each(machine: str) -> None:
    network = at_work(machine)
    whole = network.solve().potential_V
    parts = [
        replace(network, sources={t: v if t == one else 0j for t, v in network.sources.items()}).solve()
        for one in network.sources
    ]
    for node, volt in whole.items():
        assert sum(x.potential_V[node] for x in parts) == pytest.approx(volt, abs=1e-6)


def test_a_source_and_an_ammeter_may_change_places() -> None:
    """Reciprocity: what a volt here sends through there, a volt there sends through here."""
    rng = np.random.default_rng(3)
    nodes = [f"n{n}" for n in range(6)]
    mesh = [
        Branch(f"{a}{b}", a, b, *(float(x) for x in rng.uniform(0.5, 5.0, 1)), 0.01)
        for n, a in enumerate(nodes)
        for b in nodes[n + 1 :]
    ]
    for a, b in ((0, 3), (1, 5), (2, 4)):
        one = solve(mesh, {nodes[a]: 1 + 0j, nodes[b]: 0j}, 50.0).source_A[nodes[b]]
        other = solve(mesh, {nodes[b]: 1 + 0j, nodes[a]: 0j}, 50.0).source_A[nodes[a]]
        assert one == pytest.approx(other, rel=1e-9)


@pytest.mark.parametrize("lever", [0.0, 1.0])
@pytest.mark.parametrize("power", [0.0, 1.0])
def test_the_running_twin_and_the_meter_agree(power: float, lever: float) -> None:
    """The twin leaves out the ohms of wires and clean contacts: 1 % of the mains."""
    run = Run.of(find_machine("hx-vibration").with_fields({"boiler.filled_share": 0.5}))
    run.set_input("power", power)
    run.set_input("lever", lever)
    run.advance(10.0)
    network = network_of(run.machine, condition_of(run), run.assembly.site)
    found = network.solve()
    for name, number in run.assembly.names.loads.items():
        load = next(x.branch for x in network.places if x.name == name)
        shown = abs(found.open_volts(load.a, load.b))
        assert shown == pytest.approx(run.mode.load_V[number], abs=2.3), name
    acting = {name for name, n in run.assembly.names.loads.items() if run.mode.energised[n] > 0.0}
    assert loads_that_act(network, found) == acting


# -- plugged in


def test_a_clamp_shows_the_elements_current_and_half_waves_less() -> None:
    """1400 W at 230 V are 6.1 A; a pump of 550 ohm has half of each wave (common practice, no source)."""
    assert clamp_A(hx(), "heating_element")["heating_element"] == pytest.approx(6.09, rel=0.01)
    assert clamp_A(hx("all"), "pump")["pump"] == pytest.approx(230.0 / 550.0 / 2.0**0.5, rel=0.01)


def test_volts_wither_on_their_way_by_the_ohms_they_pass() -> None:
    drop = volts(hx(), "mains.live", "heating_element.live").shown_V
    assert 0.1 < drop < 2.0
    assert volts(hx(), "heating_element.live", "mains.neutral").shown_V == pytest.approx(230.0, abs=2.0)


def test_a_wire_that_hangs_free_shows_a_ghost_that_a_tester_drives_out() -> None:
    """Two open contacts, each with half a metre beside a live wire (50 pF): 2 pi f C R U where R is small."""
    lifted = network_of(
        find_machine("hx-vibration"), Condition({"power": 1.0}, lifted=frozenset({"pump.live"}))
    )
    ghost = volts(lifted, "lever_switch.b", "mains.neutral", DIGITAL_OHM)
    assert 30.0 < ghost.shown_V < 100.0
    assert ghost.floats
    faint = 2.0 * np.pi * 50.0 * 2.0 * STRAY_FARAD * TESTER_OHM * 230.0
    assert volts(lifted, "lever_switch.b", "mains.neutral", TESTER_OHM).shown_V == pytest.approx(
        faint, rel=0.02
    )
    firm = volts(lifted, "lever_switch.a", "mains.neutral", TESTER_OHM)
    assert firm.shown_V > 228.0
    assert not firm.floats


def test_an_open_solid_state_relay_shows_volts_until_the_element_is_joined() -> None:
    """40 to 150 V without load (common practice, no source)."""
    machine = find_machine("dual-rotary")
    off = Condition({"power": 1.0}, held={"brew_relay": False})
    joined = network_of(machine, off)
    relay_out = "brew_relay.b"
    element = next(x for x in joined.places if x.name == "brew_element").branch
    assert volts(joined, relay_out, "mains.neutral").shown_V < 1.0
    free = network_of(
        machine, replace(off, broken=frozenset({"brew_element"}), lifted=frozenset({element.a}))
    )
    shown = volts(free, relay_out, "mains.neutral")
    assert 40.0 < shown.shown_V < 150.0
    assert volts(free, relay_out, "mains.neutral", TESTER_OHM).shown_V < 10.0


# -- unplugged


def test_an_element_reads_as_its_plate_says_when_alone() -> None:
    """1400 W at 230 V: 38 ohm, 7 % either way (common practice, no source)."""
    assert ohms(hx(plugged=False), "heating_element.live", "heating_element.neutral") == pytest.approx(
        230.0**2 / 1400.0, rel=0.01
    )


def test_a_coil_is_read_with_all_that_lies_beside_it_until_a_lead_is_off() -> None:
    machine = find_machine("hx-vibration")
    how = Condition({"power": 1.0}, held={"level_control": True}, plugged=False)
    beside = ohms(network_of(machine, how), "fill_valve.live", "fill_valve.neutral")
    alone = ohms(
        network_of(machine, replace(how, lifted=frozenset({"fill_valve.live"}))),
        "fill_valve.live",
        "fill_valve.neutral",
    )
    assert alone == pytest.approx(1400.0, rel=1e-3)
    assert beside < 0.1 * alone


def test_an_ohmmeter_does_not_open_the_pumps_diode() -> None:
    assert ohms(hx(plugged=False), "pump.live", "pump.neutral") > 1e4


def test_nothing_reads_nothing_and_a_point_reads_itself() -> None:
    rest = network_of(find_machine("hx-vibration"), Condition(plugged=False))
    assert ohms(rest, "mains.live", "mains.neutral") == inf
    assert ohms(rest, "power_switch.a", "power_switch.a") == 0.0


def test_insulation_from_the_plug_does_not_reach_an_element_behind_open_contacts() -> None:
    """Measure at its terminals (common practice, no source)."""
    machine = find_machine("hx-vibration").with_fields(
        {"heating_element.insulation_Mohm": 0.05, "heating_element.damp_at_share": 0.0}
    )
    closed = network_of(machine, Condition({"power": 1.0}, plugged=False))
    live = insulation_Mohm(closed, "mains.live", "mains.earth")
    assert live == pytest.approx(0.05, rel=0.01)
    for held in ({"power_switch": False}, {"pressure_switch": False}):
        rest = network_of(machine, Condition({"power": 1.0}, held=held, plugged=False))
        own = insulation_Mohm(rest, "heating_element.live", "mains.earth")
        assert own == pytest.approx(0.05, rel=0.01)
    both = Condition({"power": 1.0}, held={"power_switch": False}, plugged=False)
    alone = network_of(machine, replace(both, lifted=frozenset({"heating_element.neutral"})))
    assert insulation_Mohm(alone, "mains.live", "mains.earth") > 1.0


# -- leaks


def damp(ohm: float, **held: bool) -> Network:
    return network_of(
        find_machine("hx-vibration"), Condition({"power": 1.0}, held, leak_ohm={"heating_element": ohm})
    )


def test_a_damp_element_leaks_by_ohms_law_and_the_way_goes_from_live_to_earth() -> None:
    """230 V over 10 kohm is 23 mA, and trips as a rule (common practice, no source)."""
    found = leakage(damp(1.0e4), "heating_element")
    assert found.residual_mA == pytest.approx(23.0, rel=0.01)
    assert found.trips == "as a rule"
    parts = [step.part for step in found.steps if step.part != "wire"]
    order = ["fuse", "plug", "cord", "power_switch", "cut_out", "pressure_switch", "heating_element"]
    assert [part for part in parts if part in order] == [*order, *(["cord", "plug"])]
    assert all(step.mA == pytest.approx(23.0, rel=0.02) for step in found.steps)


def test_a_leak_at_the_live_end_rests_while_the_pressure_switch_is_open() -> None:
    """The element hangs on neutral then: the reason why it trips only when it heats."""
    assert residual_A(damp(1.0e4, pressure_switch=False)) < 1e-4


@pytest.mark.parametrize(
    ("mA", "word"), [(0.3, "no"), (14.9, "no"), (15.0, "perhaps"), (22.0, "as a rule"), (30.0, "yes")]
)
def test_a_residual_current_device_trips_between_half_and_the_whole_of_its_print(
    mA: float, word: str
) -> None:
    """15 to 30 mA, 22 as a rule (common practice, no source)."""
    assert trips(mA) == word


# -- what stands in a machine's file and what does not


def test_names_that_are_not_there_are_told_with_near_ones() -> None:
    machine = find_machine("hx-vibration")
    with pytest.raises(UnknownNameError, match="power"):
        network_of(machine, Condition({"powr": 1.0}))
    with pytest.raises(UnknownNameError, match="pressure_switch"):
        network_of(machine, Condition(held={"presure_switch": True}))
    with pytest.raises(UnknownNameError, match=r"pump\.live"):
        volts(hx(), "pump.life", "mains.neutral")


def test_a_machine_abroad_takes_the_current_its_ohms_allow() -> None:
    """An element for 230 V on 115 V has a quarter of its watts."""
    machine = find_machine("hx-vibration")
    abroad = network_of(machine, HEATING, Site(mains_V=115.0, mains_Hz=60.0))
    ratio = (
        clamp_A(abroad, "heating_element")["heating_element"]
        / clamp_A(hx(), "heating_element")["heating_element"]
    )
    assert ratio == pytest.approx(0.5, rel=1e-6)


def test_unplugged_wiring_keeps_no_capacitor() -> None:
    assert all(x.branch.farad == 0.0 for x in unplugged(hx(), through_diodes=True).places)
