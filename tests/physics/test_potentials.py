"""Volts, watts and trips of small circuits on the compiled kernel, beside values worked out by hand."""

from __future__ import annotations

from math import isclose, sqrt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from collaudo.machine.load import find_machine
from collaudo.parts.circuit import Circuit, Command, Contact, Device, Load, Resistor, Site, Source
from collaudo.twin.kernel import tables as k
from collaudo.twin.kernel.devices import refresh_mode
from collaudo.twin.kernel.potentials import RESIDUAL_A, SHORT
from collaudo.twin.results import Results
from collaudo.twin.run import SHORT_CIRCUIT, Run, _mode
from collaudo.twin.wiring import wire_up

LIVE, NEUTRAL = Source("m.live", 1.0), Source("m.neutral")
EARTH = Source("m.earth")
THREE_PHASES = [Source(f"m.l{n}", 1.0, -120.0 * n) for n in range(3)]
ON, OFF = Command("input", "on"), Command("input", "off")
EXACT = 1e-9


def settled(
    loads: list[Load],
    wires: list[tuple[str, str]] = (),  # type: ignore[assignment]
    sources: list[Source] = [LIVE, NEUTRAL, EARTH],  # noqa: B006
    contacts: list[Contact] = (),  # type: ignore[assignment]
    resistors: list[Resistor] = (),  # type: ignore[assignment]
    devices: list[Device] = (),  # type: ignore[assignment]
    **site: float,
) -> Any:
    """Volts of loads by name, what acts, residual ampere, breakers' phases; input `on` is 1, `off` is 0."""
    place = Site(**site)
    circuit = Circuit(place, loads=loads, sources=list(sources), contacts=list(contacts))
    circuit.resistors, circuit.devices = list(resistors), list(devices)
    names = [d.part for d in circuit.devices]
    kinds = {"input": k.OPEN_BY_INPUT, "device": k.OPEN_BY_DEVICE, "device_off": k.OPEN_BY_DEVICE_OFF}

    def number(command: Command) -> tuple[int, int]:
        known = ["on", "off"] if command.kind == "input" else names
        return (kinds[command.kind], known.index(command.name)) if command.name else (k.OPEN_ALWAYS, 0)

    wiring = wire_up(circuit, wires, number)
    device = k.records(len(circuit.devices), k.DEVICE)
    for row, d in zip(device, circuit.devices, strict=True):
        row.kind = {"residual": k.DEVICE_RESIDUAL, "overcurrent": k.DEVICE_OVERCURRENT}[d.kind]
        row.high, row.index = d.high, [c.part for c in contacts].index(d.part)
    empty = {n: k.records(0, t) for n, t in (("member", k.MEMBER), ("pump", k.PUMP), ("heater", k.HEATER))}
    tables = Run.of(find_machine("hx-vibration")).assembly.tables._replace(
        contact=wiring.contact,
        load=wiring.load,
        resistor=wiring.resistor,
        source=wiring.source,
        supply=wiring.supply,
        device=device,
        law_start=np.zeros(k.LAW_COUNT + 1, np.int64),
        site=np.array([place.mains_V, 230.0, place.mains_Hz, 50.0, 101325.0]),
        **empty,
    )
    mode = _mode(tables, np.array([1.0, 0.0]))
    refresh_mode(tables, mode)
    return SimpleNamespace(
        volts={x.name: float(v) for x, v in zip(loads, mode.load_V, strict=True)},
        acts={x.name for x, v in zip(loads, mode.energised, strict=True) if v > 0.0},
        watts=sum(float(v) ** 2 / x.ohm for x, v in zip(loads, mode.load_V, strict=True)),
        residual_A=float(mode.supply[RESIDUAL_A]),
        short=mode.supply[SHORT] > 0.0,
        tripped=[bool(p) for p in mode.device["phase"]],
    )


def legs(ends: list[tuple[str, str]], ohm: float = 50.0) -> list[Load]:
    return [Load(f"leg{n}", a, b, ohm) for n, (a, b) in enumerate(ends)]


# -- one phase


def test_two_loads_in_series_share_the_volts() -> None:
    """A voltage divider: 230 V over 30 and 70 ohm."""
    found = settled([Load("a", "m.live", "x", 30.0), Load("b", "x", "m.neutral", 70.0)])
    assert found.volts == {"a": pytest.approx(69.0, rel=EXACT), "b": pytest.approx(161.0, rel=EXACT)}


def test_a_load_with_one_end_in_the_air_has_no_volts_and_does_not_act() -> None:
    found = settled([Load("a", "m.live", "nowhere", 50.0)])
    assert found.volts["a"] == pytest.approx(0.0, abs=1e-6)
    assert found.acts == set()


def test_a_pitted_contact_takes_its_share_of_the_volts() -> None:
    contact = Contact("switch", "m.live", "x", ON, ohm=10.0)
    found = settled([Load("element", "x", "m.neutral", 40.0)], contacts=[contact])
    assert found.volts["element"] == pytest.approx(230.0 * 40.0 / 50.0, rel=EXACT)


def test_a_coil_below_its_pull_in_stays_shut() -> None:
    """A coil of 1400 ohm needs 180 V; a bad joint of the same impedance leaves half."""
    coil = Load("coil", "x", "m.neutral", 1400.0, works_from_V=180.0)
    assert settled([coil], wires=[("m.live", "x")]).acts == {"coil"}
    weak = settled([coil], contacts=[Contact("joint", "m.live", "x", ohm=1400.0)])
    assert weak.volts["coil"] == pytest.approx(115.0, rel=EXACT)
    assert weak.acts == set()


def test_a_coil_takes_the_current_its_impedance_lets_through() -> None:
    """Z = sqrt(R^2 + (2 pi f L)^2): in series with a resistance the moduli do not add, their squares do."""
    henry = 3.0
    coil = Load("coil", "x", "m.neutral", 400.0, henry)
    found = settled([coil, Load("bar", "m.live", "x", 500.0)])
    reactance = 2.0 * np.pi * 50.0 * henry
    amps = 230.0 / sqrt(900.0**2 + reactance**2)
    assert found.volts["coil"] == pytest.approx(amps * sqrt(400.0**2 + reactance**2), rel=EXACT)
    assert found.volts["bar"] == pytest.approx(amps * 500.0, rel=EXACT)


def test_coil_and_capacitor_in_resonance_leave_the_resistance_alone() -> None:
    """At f = 1 / (2 pi sqrt(L C)) reactances cancel."""
    henry = 1.0
    farad = 1.0 / ((2.0 * np.pi * 50.0) ** 2 * henry)
    loads = [Load("motor", "x", "m.neutral", 100.0, henry, farad), Load("bar", "m.live", "x", 130.0)]
    assert settled(loads).volts["motor"] == pytest.approx(100.0, rel=1e-6)


# -- an open solid-state relay


def test_an_open_solid_state_relay_leaks_what_a_meter_sees_and_nothing_acts_on() -> None:
    """40 to 150 V without a load, a fraction of a volt across the element (common practice, no source)."""
    relay = Contact("relay", "m.live", "x", OFF, open_ohm=2.0e7)
    meter = settled([Load("meter", "x", "m.neutral", 1.0e7)], contacts=[relay])
    assert 40.0 < meter.volts["meter"] < 150.0
    element = settled([Load("element", "x", "m.neutral", 38.0)], contacts=[relay])
    assert element.volts["element"] < 1e-3
    assert element.acts == set()


# -- three phases


def in_star(neutral: bool, lost: int | None = None) -> Any:
    """Three equal legs between phases and a star point, joined to neutral or not; one phase lost."""
    ends = [(f"m.l{n}" if n != lost else "nowhere", "star") for n in range(3)]
    return settled(
        legs(ends), wires=[("star", "m.neutral")] if neutral else [], sources=[*THREE_PHASES, NEUTRAL]
    )


def in_delta(lost_phase: int | None = None, lost_leg: int | None = None) -> Any:
    """Three equal legs between phases; a phase lost (its terminal hangs free) or a leg burnt through."""
    phase = [f"m.l{n}" if n != lost_phase else "free" for n in range(3)]
    ends = [(phase[n], phase[(n + 1) % 3] if n != lost_leg else "broken") for n in range(3)]
    return settled(legs(ends), sources=THREE_PHASES)


WHOLE_STAR_W = 3 * 230.0**2 / 50.0


@pytest.mark.parametrize("neutral", [True, False])
def test_a_sound_star_has_the_phase_voltage_on_each_leg(neutral: bool) -> None:
    found = in_star(neutral)
    assert list(found.volts.values()) == pytest.approx([230.0] * 3, rel=EXACT)
    assert found.watts == pytest.approx(WHOLE_STAR_W, rel=EXACT)


@pytest.mark.parametrize("lost", range(3))
def test_a_star_with_neutral_that_loses_a_phase_keeps_two_thirds(lost: int) -> None:
    assert in_star(True, lost).watts / WHOLE_STAR_W == pytest.approx(2.0 / 3.0, rel=EXACT)


@pytest.mark.parametrize("lost", range(3))
def test_a_star_without_neutral_that_loses_a_phase_keeps_half(lost: int) -> None:
    """Two legs in series between two phases: sqrt(3) times the phase voltage, shared."""
    found = in_star(False, lost)
    assert found.watts / WHOLE_STAR_W == pytest.approx(0.5, rel=EXACT)
    assert found.volts[f"leg{lost}"] == pytest.approx(0.0, abs=1e-6)
    assert found.volts[f"leg{(lost + 1) % 3}"] == pytest.approx(230.0 * sqrt(3.0) / 2.0, rel=EXACT)


@pytest.mark.parametrize("lost", range(3))
def test_a_delta_that_loses_a_phase_keeps_half_and_one_that_loses_a_leg_two_thirds(lost: int) -> None:
    whole = in_delta().watts
    assert whole == pytest.approx(3.0 * WHOLE_STAR_W, rel=EXACT)
    assert in_delta(lost_phase=lost).watts / whole == pytest.approx(0.5, rel=EXACT)
    assert in_delta(lost_leg=lost).watts / whole == pytest.approx(2.0 / 3.0, rel=EXACT)


# -- current that goes astray


def test_a_leak_to_earth_is_the_residual_current_and_trips() -> None:
    """230 V over 10 kohm is 23 mA (common practice, no source)."""
    breaker = [Device("breaker", "residual", high=0.022)]
    way = [Contact("breaker", "m.live", "x", Command("device_off", "breaker"))]
    element = [Load("element", "x", "m.neutral", 38.0)]
    sound = settled(element, contacts=way, devices=breaker)
    assert (sound.residual_A, sound.tripped, sound.acts) == (0.0, [False], {"element"})
    for ohm, trips in ((10_000.0, True), (11_000.0, False)):
        leak = [Resistor("element", "x", "m.earth", ohm)]
        found = settled(element, contacts=way, devices=breaker, resistors=leak)
        assert found.tripped == [trips]
        assert found.acts == (set() if trips else {"element"})
        if not trips:
            assert found.residual_A == pytest.approx(230.0 / ohm, rel=1e-6)


def test_the_capacitors_of_a_filter_leak_their_charging_current() -> None:
    """I = 2 pi f C U: 4.7 nF pass 0.34 mA."""
    filter_ = [Resistor("filter", "m.live", "m.earth", 0.0, farad=4.7e-9)]
    found = settled([Load("element", "m.live", "m.neutral", 38.0)], resistors=filter_)
    assert found.residual_A == pytest.approx(2.0 * np.pi * 50.0 * 4.7e-9 * 230.0, rel=1e-6)


def test_neutral_on_the_body_sends_half_of_the_current_through_earth() -> None:
    found = settled([Load("element", "m.live", "m.neutral", 23.0)], wires=[("m.neutral", "m.earth")])
    assert found.residual_A == pytest.approx(5.0, rel=EXACT)


def test_live_on_neutral_blows_the_fuse_and_everything_is_dead() -> None:
    element = [Load("element", "m.live", "m.neutral", 38.0)]
    found = settled(element, contacts=[Contact("switch", "m.live", "m.neutral", ON)])
    assert found.short
    assert found.acts == set()
    assert not settled(element, contacts=[Contact("switch", "m.live", "m.neutral", OFF)]).short


def test_a_fuse_in_the_machine_saves_the_one_before_it() -> None:
    fuse = [Device("fuse", "overcurrent", high=10.0)]
    contacts = [
        Contact("fuse", "m.live", "x", Command("device_off", "fuse"), ohm=0.02),
        Contact("switch", "y", "m.neutral", ON),
    ]
    lamp = Load("lamp", "m.live", "m.neutral", 5000.0)
    short = settled([lamp, Load("element", "x", "y", 1e-9)], contacts=contacts, devices=fuse)
    assert (short.tripped, short.short, short.acts) == ([True], False, {"lamp"})
    for ohm, blows in ((24.0, False), (22.0, True)):
        found = settled([lamp, Load("element", "x", "y", ohm)], contacts=contacts, devices=fuse)
        assert found.tripped == [blows], ohm


def test_a_relay_of_contacts_between_the_same_phases_is_no_short() -> None:
    pair = [Contact("one", "m.live", "x", ON), Contact("other", "m.live", "x", ON)]
    found = settled([Load("element", "x", "m.neutral", 38.0)], contacts=pair)
    assert not found.short
    assert isclose(found.volts["element"], 230.0)


# -- in a whole machine


def test_series_of_volts_and_amps_agree_with_the_plate() -> None:
    """1400 W at 230 V: 6.087 A; 10 % less volts leave 81 % of the power."""
    for mains_V in (230.0, 207.0):
        run = Run.of(find_machine("hx-vibration"), Site(mains_V=mains_V))
        run.set_input("power", 1.0)
        run.advance(1.0)
        series = {
            n: Results(run).series(f"{n} heating_element").values[-1] for n in ("volts", "amps", "power")
        }
        share = mains_V / 230.0
        assert series["volts"] == pytest.approx(mains_V)
        assert series["amps"] == pytest.approx(share * 1400.0 / 230.0, rel=1e-6)
        assert series["power"] == pytest.approx(share**2 * 1400.0, rel=1e-6)


def test_at_two_thirds_of_the_rated_volts_coils_and_board_drop_out_and_the_element_goes_on() -> None:
    run = Run.of(find_machine("hx-vibration").with_fields({"boiler.filled_share": 0.5}), Site(mains_V=153.0))
    run.set_input("power", 1.0)
    run.advance(30.0)
    names = run.assembly.names.loads
    assert run.mode.energised[names["heating_element"]] == 1.0
    assert run.mode.energised[names["level_control"]] == run.mode.energised[names["fill_valve"]] == 0.0


def test_a_short_circuit_is_an_event_and_ends_with_a_new_fuse() -> None:
    run = Run.of(find_machine("hx-vibration"))
    live = run.tables.source[0].net
    element = run.tables.load[run.assembly.names.loads["heating_element"]]
    run.set_input("power", 1.0)
    run.advance(1.0)
    assert run.events == []
    switch = run.tables.contact[
        [c.index for c in run.tables.contact].index(run.assembly.names.devices["cut_out"])
    ]
    sound = int(switch.b)
    switch.b = element.b
    run.clock[2] = 1.0
    run.advance(1.0)
    assert [(name, t) for t, name, _ in run.events] == [(SHORT_CIRCUIT, 1.0)]
    assert Results(run).series("power heating_element").values[-1] == 0.0
    switch.b = sound
    run.advance(1.0)
    assert set(run.mode.energised) == {0.0}
    run.reset(SHORT_CIRCUIT)
    run.advance(1.0)
    assert run.mode.energised[run.assembly.names.loads["heating_element"]] == 1.0
    assert len(run.events) == 1
    assert live != element.b
