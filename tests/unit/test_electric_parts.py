"""Electric parts by themselves: what they say of themselves, solved by Kirchhoff's laws written out here."""

from __future__ import annotations

import cmath
import inspect
import math
from collections.abc import Iterable, Mapping
from itertools import permutations
from typing import Any

import numpy as np
import pytest

from collaudo.errors import QuantityError
from collaudo.parts.circuit import Circuit, Site
from collaudo.parts.part import Part, all_kinds, declared_fields

KINDS = (
    "contactor",
    "cord",
    "diode",
    "dose_control",
    "earth_bond",
    "fuse",
    "lamp",
    "mains_filter",
    "ntc_sensor",
    "platinum_sensor",
    "plug",
    "pump_cut_out",
    "pump_motor",
    "residual_current_device",
    "selector",
    "solid_state_relay",
    "temperature_controller",
    "thermostat",
)
WIRE_OHM = 1e-3
AIR_S = 1e-11
METER_OHM = 1.0e7
"""A digital voltmeter."""

Fields = Mapping[str, Any]


def part(kind: str, name: str = "x", **fields: Any) -> Part:
    for key, value in fields.items():
        declared = declared_fields(all_kinds()[kind])[key]
        if "low" in declared:
            assert declared["low"] <= value <= declared["high"]
        elif "known" in declared:
            assert value in declared["known"]
    return all_kinds()[kind](name, **fields)


def said(parts: Iterable[Part], site: Site | None = None) -> Circuit:
    circuit = Circuit(site or Site())
    for x in parts:
        x.describe(circuit)
    return circuit


class Network:
    """Volts by nodal analysis (Kirchhoff's current law), admittances of what the parts declare."""

    def __init__(
        self, parts: list[Part], wires: Iterable[tuple[str, str]], acting: Iterable[str] = ()
    ) -> None:
        self.circuit = said(parts)
        acting = set(acting)
        site = self.circuit.site
        w = 2.0 * math.pi * site.mains_Hz
        self.branches: list[tuple[str, str, str, complex]] = [("wire", a, b, 1 / WIRE_OHM) for a, b in wires]
        for x in self.circuit.contacts:
            closed = {"always": True, "device": x.command.name in acting}.get(
                x.command.kind, x.command.name not in acting
            )
            ohm = max(x.ohm, WIRE_OHM) if closed else x.open_ohm
            if ohm:
                self.branches.append((x.part, x.a, x.b, 1 / ohm))
        for load in self.circuit.loads:
            z = load.ohm + 1j * w * load.henry
            self.branches.append((load.name, load.a, load.b, 1 / z))
        for r in self.circuit.resistors:
            y = 1j * w * r.farad if r.farad > 0.0 else 1 / r.ohm
            self.branches.append((r.part, r.a, r.b, y))
        self.held = {
            s.terminal: s.share * site.mains_V * cmath.exp(1j * math.radians(s.angle_deg))
            for s in self.circuit.sources
        }
        self._solve()

    def _solve(self) -> None:
        ends = {t for _, a, b, _ in self.branches for t in (a, b)} | set(self.held)
        free = sorted(ends - set(self.held))
        row = {t: n for n, t in enumerate(free)}
        matrix = np.eye(len(free), dtype=complex) * AIR_S
        right = np.zeros(len(free), complex)
        for _, a, b, y in self.branches:
            for one, other in ((a, b), (b, a)):
                if one in row:
                    matrix[row[one], row[one]] += y
                    if other in row:
                        matrix[row[one], row[other]] -= y
                    else:
                        right[row[one]] += y * self.held[other]
        volts = np.linalg.solve(matrix, right) if free else right
        self.volts = {**self.held, **dict(zip(free, volts, strict=True))}

    def volt(self, a: str, b: str = "mains.neutral") -> float:
        return float(abs(self.volts[a] - self.volts[b]))

    def amp(self, name: str) -> float:
        """Current through a load."""
        ends = {(x.a, x.b) for x in self.circuit.loads if x.name == name}
        (found,) = ((a, b, y) for x, a, b, y in self.branches if x == name and (a, b) in ends)
        a, b, y = found
        return float(abs(y * (self.volts[a] - self.volts[b])))

    def watt(self, names: Iterable[str]) -> float:
        """Heat of loads: ``|U|^2 / R``."""
        loads = {x.name: x for x in self.circuit.loads}
        return sum(self.volt(loads[n].a, loads[n].b) ** 2 / loads[n].ohm for n in names)

    def acts(self, name: str) -> bool:
        (load,) = (x for x in self.circuit.loads if x.name == name)
        return self.volt(load.a, load.b) >= load.works_from_V

    def to_earth_A(self) -> float:
        """Current that leaves by the supply's earth."""
        booked = 0j
        for _, a, b, y in self.branches:
            if "mains.earth" in (a, b) and a != b:
                booked += y * (self.volts[a] - self.volts[b]) * (1 if b == "mains.earth" else -1)
        return float(abs(booked))


MAINS = part("mains", "mains")
THREE = part("mains", "mains", phases="three")


# -- every kind


@pytest.mark.parametrize("kind", KINDS)
def test_every_electric_kind_says_what_it_does_and_how_it_fails(kind: str) -> None:
    declared = all_kinds()[kind]
    for words in (declared.text, declared.customer, declared.fails):
        assert 8 <= len(words) <= 120
        assert words[0].islower() or words.startswith("the ")
        assert not words.endswith(".")
    assert set(declared.open_terminals) <= set(declared.terminals)
    assert len(set(declared.terminals)) == len(declared.terminals)


def shape(circuit: Circuit) -> list[Any]:
    """What must stay when only values change: how many of everything, between which ends."""
    return [
        [(x.a, x.b) for x in circuit.contacts],
        [(x.name, x.a, x.b) for x in circuit.loads],
        [(x.a, x.b) for x in circuit.resistors],
        [(x.part, x.kind, x.watch, x.of, x.load, x.input) for x in circuit.devices],
        [(x.part, x.lag, x.load, x.drives) for x in circuit.regulators],
        [(x.part, x.watch, x.of) for x in circuit.lags],
        [(wall, load) for wall, load, _ in circuit.heaters],
        list(circuit.walls),
        [(x.kind, x.a, x.b) for x in circuit.links],
        list(circuit.inputs),
        [x.part for x in circuit.pumps],
        [x.angle_deg for x in circuit.sources],
    ]


BUILD = {"way", "phases", "at_place", "winding"}
"""Words that say how a machine is built, and the one that is older than this rule."""


@pytest.mark.parametrize("kind", [*KINDS, "heating_element", "mains"])
def test_faults_change_numbers_and_never_the_structure(kind: str) -> None:
    sound = shape(said([MAINS, part(kind)]))
    for key, declared in declared_fields(all_kinds()[kind]).items():
        if key in BUILD or key == "legs_count":
            continue
        for value in declared.get("known", (declared.get("low"), declared.get("high"))):
            if value is not None:
                assert shape(said([MAINS, part(kind, **{key: value})])) == sound, (key, value)


# -- sensors and controllers


def thresholds(parts: Iterable[Part]) -> tuple[float, float]:
    (device,) = (x for x in said(parts).devices if x.kind == "two_position")
    return device.high, device.low


SENSORS = ("platinum_sensor", "ntc_sensor")


@pytest.mark.parametrize("kind", SENSORS)
def test_a_controller_opens_at_its_setting_and_offset(kind: str) -> None:
    sensor = part(kind, "sensor")
    controller = part("temperature_controller", "c", set_degC=93.0, offset_K=5.0, differential_K=2.0)
    assert thresholds([MAINS, sensor, controller]) == pytest.approx((371.15, 369.15))


@pytest.mark.parametrize("kind", SENSORS)
def test_a_sensor_that_reads_four_kelvin_high_makes_it_four_kelvin_colder(kind: str) -> None:
    controller = part("temperature_controller", "c", set_degC=93.0, differential_K=2.0)
    for order in permutations([part(kind, "sensor", offset_K=4.0), controller]):
        assert thresholds([MAINS, *order]) == pytest.approx((362.15, 360.15))


@pytest.mark.parametrize("kind", SENSORS)
@pytest.mark.parametrize("state", ["open", "shorted"])
@pytest.mark.parametrize("way", ["two_position", "pid"])
def test_a_broken_sensor_puts_the_thresholds_below_any_temperature(kind: str, state: str, way: str) -> None:
    """Heating stops: the safe side."""
    controller = part("temperature_controller", "c", way=way, drives="relay")
    for order in permutations([part(kind, "sensor", state=state), controller]):
        circuit = said([MAINS, *order])
        acting = [x.high for x in circuit.devices if x.kind == "two_position"]
        acting += [x.set_K for x in circuit.regulators]
        assert len(acting) == 1
        assert acting[0] < 0.0


def test_a_sensor_moves_only_those_that_read_it() -> None:
    parts = [
        MAINS,
        part("temperature_controller", "one", sensor="first"),
        part("temperature_controller", "two", sensor="second"),
        part("thermostat", "snap"),
        part("platinum_sensor", "first", offset_K=10.0),
        part("platinum_sensor", "second"),
    ]
    high = {x.part: x.high for x in said(parts).devices if x.kind == "two_position"}
    assert high == pytest.approx({"one": 356.15, "two": 366.15, "snap": 373.15})


def test_a_controller_by_shares_names_what_it_drives() -> None:
    with pytest.raises(QuantityError, match="drives nothing"):
        said([MAINS, part("temperature_controller", "c", way="pid")])
    (regulator,) = said([MAINS, part("temperature_controller", "c", way="pid", drives="relay")]).regulators
    assert (regulator.load, regulator.drives) == ("c", "relay")
    assert regulator.set_K == pytest.approx(366.15)


CONTROLLER_WIRES = [("mains.live", "c.live"), ("c.neutral", "mains.neutral")]


@pytest.mark.parametrize("way", ["two_position", "pid"])
def test_a_controllers_output_is_live_only_while_it_is_supplied_and_calls(way: str) -> None:
    parts = [MAINS, part("temperature_controller", "c", way=way, drives="relay")]
    lamp = [part("lamp", "lamp")]
    wires = [*CONTROLLER_WIRES, ("c.out", "lamp.live"), ("lamp.neutral", "mains.neutral")]
    assert Network(parts + lamp, wires, {"c.supply"}).acts("lamp")
    assert not Network(parts + lamp, wires).acts("lamp")
    hot = Network(parts + lamp, wires, {"c.supply", "c"})
    assert hot.acts("lamp") == (way == "pid")  # by shares the output is always commanded


@pytest.mark.parametrize(("output", "acts"), [("sound", False), ("welded", True), ("open", False)])
def test_a_welded_output_heats_on_beyond_the_setting(output: str, acts: bool) -> None:
    parts = [MAINS, part("temperature_controller", "c", output=output), part("lamp", "lamp")]
    wires = [*CONTROLLER_WIRES, ("c.out", "lamp.live"), ("lamp.neutral", "mains.neutral")]
    assert Network(parts, wires, {"c.supply", "c"}).acts("lamp") == acts


def test_platinum_on_the_bench_reads_1358_ohm_at_93_degrees_and_endless_when_open() -> None:
    """common practice, no source: +-4 ohm"""
    assert part("platinum_sensor").resistance_ohm(366.15) == pytest.approx(1358.0, abs=4.0)  # type: ignore[attr-defined]
    assert part("platinum_sensor", state="open").resistance_ohm(366.15) == math.inf  # type: ignore[attr-defined]
    assert part("platinum_sensor", state="shorted").resistance_ohm(366.15) == 0.0  # type: ignore[attr-defined]
    drifted = part("platinum_sensor", offset_K=10.0).resistance_ohm(366.15)  # type: ignore[attr-defined]
    assert drifted == pytest.approx(1358.0 + 38.0, abs=4.0)


def test_ntc_on_the_bench_reads_what_is_printed_at_25_degrees() -> None:
    cold = part("ntc_sensor", nominal_kohm=10.0).resistance_ohm(298.15)  # type: ignore[attr-defined]
    assert cold == pytest.approx(1e4, rel=1e-12)
    high = part("ntc_sensor", nominal_kohm=10.0, offset_K=5.0).resistance_ohm(298.15)  # type: ignore[attr-defined]
    assert high < cold  # it reads hotter than it is: less resistance
    assert part("ntc_sensor", state="open").resistance_ohm(298.15) == math.inf  # type: ignore[attr-defined]


@pytest.mark.parametrize("at", ["wall", "lower", "upper"])
def test_a_sensor_feels_metal_or_water(at: str) -> None:
    (lag,) = said([part("platinum_sensor", "s", feels="boiler", at_place=at)]).lags
    assert lag.of == ("boiler" if at == "wall" else f"boiler.{at}")


# -- relays and contactors


RELAY_WIRES = [
    ("mains.live", "relay.a"),
    ("relay.b", "element.live"),
    ("element.neutral", "mains.neutral"),
    ("mains.live", "relay.plus"),
    ("relay.minus", "mains.neutral"),
]


def test_an_open_solid_state_relay_shows_ghost_volts_without_load_and_none_with() -> None:
    """40 to 150 V on a meter of 10 Mohm: common practice, no source."""
    parts = [MAINS, part("solid_state_relay", "relay"), part("heating_element", "element")]
    with_load = Network(parts, RELAY_WIRES)
    assert with_load.volt("relay.b") < 0.01
    unjoined = [x for x in RELAY_WIRES if "element.live" not in x]
    meter = part("lamp", "meter", lamp_kohm=2000.0)
    volts = Network(
        [*parts, meter], [*unjoined, ("relay.b", "meter.live"), ("meter.neutral", "mains.neutral")]
    )
    # The lamp's own range ends below a meter's: reckon on by the divider that the open relay makes.
    leak = 2.0e6 * (230.0 - volts.volt("relay.b")) / volts.volt("relay.b")
    assert leak == pytest.approx(1.5e7, rel=1e-3)
    assert 40.0 < 230.0 * METER_OHM / (METER_OHM + leak) < 150.0


@pytest.mark.parametrize(
    ("state", "off", "on"), [("sound", 0, 1400), ("shorted", 1400, 1400), ("open", 0, 0)]
)
def test_a_solid_state_relay_and_its_faults(state: str, off: float, on: float) -> None:
    parts = [MAINS, part("solid_state_relay", "relay", state=state), part("heating_element", "element")]
    for acting, watt in ((set(), off), ({"relay"}, on)):
        assert Network(parts, RELAY_WIRES, acting).watt(["element"]) == pytest.approx(watt, abs=0.5)


def test_a_solid_state_relay_does_not_close_on_another_ones_leakage() -> None:
    """Two in series by mistake: the first's leakage must not command the second."""
    parts = [MAINS, part("solid_state_relay", "one"), part("solid_state_relay", "two")]
    wires = [("mains.live", "one.a"), ("one.b", "two.plus"), ("two.minus", "mains.neutral")]
    assert not Network(parts, wires).acts("two")


@pytest.mark.parametrize("number", [1, 2, 3])
@pytest.mark.parametrize(
    ("state", "open_W", "closed_W"), [("sound", 0, 1400), ("welded", 1400, 1400), ("open", 0, 0)]
)
def test_each_contact_of_a_contactor_can_weld_or_burn(
    number: int, state: str, open_W: float, closed_W: float
) -> None:
    parts = [
        MAINS,
        part("contactor", "k", **{f"contact_{number}": state}),
        part("heating_element", "element"),
    ]
    wires = [("mains.live", f"k.a{number}"), (f"k.b{number}", "element.live")]
    wires += [("element.neutral", "mains.neutral")]
    assert Network(parts, wires).watt(["element"]) == pytest.approx(open_W, abs=0.5)
    assert Network(parts, wires, {"k"}).watt(["element"]) == pytest.approx(closed_W, abs=0.5)


def test_a_contactor_drops_below_its_pull_in() -> None:
    """A coil draws in from 75 to 90 % of its rated voltage: common practice, no source."""
    for volts, acts in ((0.95 * 230.0, True), (0.7 * 230.0, False)):
        circuit = said([MAINS, part("contactor", "k")])
        (load,) = circuit.loads
        assert (volts >= load.works_from_V) == acts


# -- elements


def test_a_leg_lost_leaves_two_thirds_of_the_power() -> None:
    names = ["element", "element.leg_2", "element.leg_3"]
    wires = [("mains.live", f"element.live{x}") for x in ("", "_2", "_3")]
    wires += [(f"element.neutral{x}", "mains.neutral") for x in ("", "_2", "_3")]
    for lost, watt in (("sound", 3000.0), ("open", 2000.0)):
        parts = [MAINS, part("heating_element", "element", power_W=3000.0, legs_count=3.0, leg_2=lost)]
        assert Network(parts, wires).watt(names) == pytest.approx(watt, rel=1e-3)


STAR = [("mains.live", "e.live"), ("mains.live_2", "e.live_2"), ("mains.live_3", "e.live_3")]
STAR += [("e.neutral", "e.neutral_2"), ("e.neutral_2", "e.neutral_3")]
DELTA = [("mains.live", "e.live"), ("e.live", "e.neutral_3"), ("mains.live_2", "e.live_2")]
DELTA += [("e.live_2", "e.neutral"), ("mains.live_3", "e.live_3"), ("e.live_3", "e.neutral_2")]
LEGS = ["e", "e.leg_2", "e.leg_3"]


@pytest.mark.parametrize(
    ("wires", "leg_V", "lost", "share"),
    [
        ([*STAR, ("e.neutral", "mains.neutral")], 230.0, "none", 1.0),
        ([*STAR, ("e.neutral", "mains.neutral")], 230.0, "live_3", 2.0 / 3.0),
        (STAR, 230.0, "none", 1.0),
        (STAR, 230.0, "live_2", 0.5),
        (DELTA, 230.0 * math.sqrt(3.0), "none", 1.0),
        (DELTA, 230.0 * math.sqrt(3.0), "live", 0.5),
    ],
    ids=["star with neutral", "its phase lost", "star", "its phase lost ", "delta", "its phase lost  "],
)
def test_star_and_delta_and_a_lost_phase(
    wires: list[tuple[str, str]], leg_V: float, lost: str, share: float
) -> None:
    """Textbook of three-phase circuits: P = 3 U^2 / R for equal legs; two legs of a star with neutral keep
    two thirds; without neutral, or in delta, half remains."""
    parts = [
        part("mains", "mains", phases="three", lost=lost),
        part("heating_element", "e", power_W=4500.0, legs_count=3.0, leg_V=leg_V),
    ]
    assert Network(parts, wires).watt(LEGS) == pytest.approx(4500.0 * share, rel=1e-3)


def test_between_two_phases_stand_root_three_times_the_voltage() -> None:
    network = Network([THREE], [])
    for a, b in (("live", "live_2"), ("live_2", "live_3"), ("live_3", "live")):
        assert network.volt(f"mains.{a}", f"mains.{b}") == pytest.approx(398.37, abs=0.005)  # 230 sqrt 3
        assert network.volt(f"mains.{a}") == pytest.approx(230.0)


@pytest.mark.parametrize("lost", ["live", "neutral"])
def test_a_lost_conductor_brings_nothing(lost: str) -> None:
    parts = [part("mains", "mains", lost=lost), part("lamp", "lamp")]
    wires = [("mains.live", "lamp.live"), ("lamp.neutral", "mains.neutral")]
    network = Network(parts, wires) if lost == "live" else Network(parts, [*wires, ("x", "mains.neutral")])
    (load,) = network.circuit.loads
    assert network.volt(load.a, load.b) < 0.1


def test_half_a_leg_is_refused() -> None:
    with pytest.raises(QuantityError, match="1, 2 or 3"):
        said([MAINS, part("heating_element", legs_count=2.5)])


DAMP = [("mains.live", "e.live"), ("e.neutral", "mains.neutral"), ("e.body", "b.a"), ("b.b", "mains.earth")]


@pytest.mark.parametrize(
    ("insulation_Mohm", "at", "milliampere"),
    [(0.01, 0.0, 23.0), (0.01, 0.5, 11.5), (0.01, 1.0, 0.0), (1.0, 0.0, 0.23), (300.0, 0.0, 0.0)],
)
def test_a_damp_element_leaks_to_earth_by_where_it_is_damp(
    insulation_Mohm: float, at: float, milliampere: float
) -> None:
    """230 V over 10 kohm is 23 mA: Ohm's law."""
    element = part("heating_element", "e", insulation_Mohm=insulation_Mohm, damp_at_share=at)
    network = Network([MAINS, element, part("earth_bond", "b")], DAMP)
    assert 1e3 * network.to_earth_A() == pytest.approx(milliampere, abs=2e-3)


def test_a_damp_place_in_the_middle_measures_as_such_from_both_ends() -> None:
    """A leak within a leg as a whole: the sum of both conductances is its own."""
    circuit = said([MAINS, part("heating_element", "e", insulation_Mohm=0.5, damp_at_share=0.3)])
    assert sum(1.0 / x.ohm for x in circuit.resistors) == pytest.approx(2e-6)


def test_without_its_earth_bond_a_damp_element_makes_the_metal_live() -> None:
    element = part("heating_element", "e", insulation_Mohm=0.01)
    for state, volts in (("sound", 0.01), ("open", 229.0)):
        network = Network([MAINS, element, part("earth_bond", "b", state=state)], DAMP)
        assert (network.volt("e.body", "mains.earth") > 50.0) == (volts > 50.0)


# -- leads, filters, lamps


@pytest.mark.parametrize(("capacitor_uF", "milliampere"), [(0.0022, 0.159), (0.0047, 0.340)])
def test_a_mains_filter_leaks_what_its_capacitor_passes(capacitor_uF: float, milliampere: float) -> None:
    """I = 2 pi f C U: 0.159 and 0.340 mA at 230 V and 50 Hz, three digits."""
    wires = [("mains.live", "f.live_in"), ("mains.neutral", "f.neutral_in"), ("f.earth", "mains.earth")]
    network = Network([MAINS, part("mains_filter", "f", capacitor_uF=capacitor_uF)], wires)
    assert 1e3 * network.to_earth_A() == pytest.approx(milliampere, abs=6e-4)
    shorted = part("mains_filter", "f", capacitor_uF=capacitor_uF, live_capacitor="shorted")
    assert Network([MAINS, shorted], wires).to_earth_A() > 1.0


def test_a_scorched_plug_takes_its_share_and_grows_hot() -> None:
    """Half an ohm at 1400 W: 3 V lost, 18 W in the plug (Ohm's and Joule's laws)."""
    wires = [("mains.live", "p.live_in"), ("mains.neutral", "p.neutral_in")]
    wires += [("p.live_out", "e.live"), ("e.neutral", "p.neutral_out")]
    network = Network([MAINS, part("plug", "p", live_ohm=0.5), part("heating_element", "e")], wires)
    lost = network.volt("p.live_in", "p.live_out")
    assert lost == pytest.approx(230.0 * 0.5 / (230.0**2 / 1400.0 + 0.51), rel=1e-3)
    assert lost * network.amp("e") == pytest.approx(18.0, abs=0.5)


@pytest.mark.parametrize("kind", ["plug", "cord"])
@pytest.mark.parametrize("broken", ["live", "neutral", "earth"])
def test_a_broken_conductor_is_open_and_no_other(kind: str, broken: str) -> None:
    circuit = said([part(kind, "p", broken=broken)])
    open_ways = [x.a for x in circuit.contacts if x.ohm > 1e6]
    assert open_ways == [f"p.{broken}_in"]


def test_a_cord_has_the_resistance_of_the_standards_conductor() -> None:
    """IEC 60228, table 3, class 5, plain copper at 20 degC (from memory): 1.5 mm2 13.3 ohm/km, 2.5 mm2 7.98,
    1 mm2 19.5. One law for all three stays within 3 % of each."""
    for mm2, per_km in ((1.0, 19.5), (1.5, 13.3), (2.5, 7.98)):
        cord = part("cord", "c", length_m=10.0, core_mm2=mm2)
        assert cord.conductor_ohm() == pytest.approx(per_km / 100.0, rel=0.03)  # type: ignore[attr-defined]


def test_a_lamp_lights_on_the_mains_and_not_on_leakage_through_an_element() -> None:
    parts = [
        MAINS,
        part("lamp", "lamp"),
        part("solid_state_relay", "relay"),
        part("heating_element", "element"),
    ]
    wires = [*RELAY_WIRES, ("relay.b", "lamp.live"), ("lamp.neutral", "mains.neutral")]
    assert not Network(parts, wires).acts("lamp")
    assert Network(parts, wires, {"relay"}).acts("lamp")
    dead = [MAINS, part("lamp", "lamp", state="open"), *parts[2:]]
    assert not Network(dead, wires, {"relay"}).acts("lamp")


@pytest.mark.parametrize("state", ["sound", "open"])
def test_a_fuse_loses_a_tenth_of_a_volt_at_its_rating(state: str) -> None:
    fuse = part("fuse", "f", rated_A=10.0, blown="yes" if state == "open" else "no")
    circuit = said([fuse])
    assert circuit.contacts[0].ohm == pytest.approx(0.01 if state == "sound" else 1e9)
    assert circuit.devices[0].high == pytest.approx(21.0)


def test_a_residual_current_device_opens_every_conductor() -> None:
    circuit = said([part("residual_current_device", "r", trips_mA=22.0)])
    assert [x.high for x in circuit.devices] == pytest.approx([0.022])
    assert {x.a for x in circuit.contacts} == {"r.live_in", "r.neutral_in", "r.live_2_in", "r.live_3_in"}
    assert {(x.command.kind, x.command.name) for x in circuit.contacts} == {("device_off", "r")}


# -- motors and vibration pumps


@pytest.mark.parametrize(
    ("fields", "turns", "ampere"),
    [
        ({}, True, 1.6),
        ({"rotor": "seized"}, False, 5.0),
        ({"capacitor_uF": 6.0}, False, 5.0),
        ({"capacitor_uF": 7.2}, True, 1.6),
        ({"capacitor_uF": 12.0, "printed_uF": 16.0}, False, 5.0),
        ({"winding": "open"}, False, 0.0),
    ],
)
def test_a_motor_turns_at_1_6_and_hums_at_5_ampere(fields: Fields, turns: bool, ampere: float) -> None:
    """Running 1.6, locked 5 A; scrap capacitor below 85 %: common practice, no source (two digits)."""
    wires = [("mains.live", "m.live"), ("m.neutral", "mains.neutral")]
    network = Network([MAINS, part("pump_motor", "m", **fields)], wires)
    assert network.acts("m") == turns
    assert network.amp("m") == pytest.approx(ampere, abs=0.06)


def test_a_vane_pump_with_a_motor_of_its_own_has_no_load() -> None:
    circuit = said([MAINS, part("vane_pump", "pump", driven_by="motor"), part("pump_motor", "motor")])
    assert [x.name for x in circuit.loads] == ["motor"]
    assert circuit.pumps[0].load == "motor"
    alone = said([MAINS, part("vane_pump", "pump")])
    assert (alone.pumps[0].load, alone.loads[0].name) == ("pump", "pump")


def half_wave_parts(state: str) -> list[Part]:
    return [
        part("vibration_pump", "pump"),
        part("diode", "d", state=state),
        part("pump_cut_out", "cut", on="pump"),
    ]


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_a_shorted_diode_makes_the_pump_hum_whoever_speaks_first(order: tuple[int, ...]) -> None:
    sound, shorted = (
        said([MAINS, *(half_wave_parts(state)[n] for n in order)]) for state in ("sound", "shorted")
    )
    assert (sound.loads[0].one_way, shorted.loads[0].one_way) == (True, False)
    assert shorted.pumps[0].free_m3_per_s < 0.15 * sound.pumps[0].free_m3_per_s
    assert shorted.pumps[0].shutoff_Pa < 0.5 * sound.pumps[0].shutoff_Pa
    # Twice the time with current: twice the heat.
    assert shorted.heaters[0][2] == pytest.approx(0.5 * sound.heaters[0][2])


def test_a_pumps_cut_out_opens_within_two_minutes_and_closes_within_twenty() -> None:
    """1 to 2 min on, 10 to 20 off: common practice, no source. One mass, one loss: exponentials."""
    circuit = said([MAINS, *half_wave_parts("sound")])
    capacity, start = circuit.walls["cut"]
    (loss,) = (x.gain for x in circuit.links if x.a == "cut")
    watt = 230.0**2 / circuit.heaters[0][2]
    (device,) = (x for x in circuit.devices if x.part == "cut")
    tau = capacity / loss
    on_s = -tau * math.log(1.0 - (device.high - start) * loss / watt)
    off_s = tau * math.log((device.high - start) / (device.low - start))
    assert 60.0 <= on_s <= 120.0
    assert 600.0 <= off_s <= 1200.0
    # Half a minute in every two, for ever: the peak of a periodic exponential.
    peak = watt / loss * -math.expm1(-30.0 / tau) / -math.expm1(-120.0 / tau)
    assert start + peak < device.high


# -- hands


def test_a_selector_joins_one_circuit_at_a_time() -> None:
    circuit = said([part("selector", "s", worked_by="steam")])
    assert circuit.inputs == {"steam": 0.0}
    for position, joined in ((0.0, []), (1 / 3, ["s.first"]), (2 / 3, ["s.second"]), (1.0, ["s.third"])):
        assert [x.part for x in circuit.devices if x.low <= position < x.high] == joined
        assert all(x.kind == "window" for x in circuit.devices)


def test_a_dose_is_counted_by_its_meter_and_ends_in_time() -> None:
    circuit = said([MAINS, part("dose_control", "dose", button="brew_2", meter="meter_2", dose_ml=50.0)])
    (device,) = circuit.devices
    assert (device.kind, device.of, device.input, device.load) == ("dose", "meter_2", "brew_2", "dose")
    assert device.high == pytest.approx(5e-5)
    assert device.time_out_s == 60.0
    assert circuit.inputs == {"brew_2": 0.0}
    ends = {(x.a, x.b) for x in circuit.contacts}
    assert ends == {("dose.live", "dose.pump"), ("dose.live", "dose.valve")}


def test_a_thermostat_opens_at_its_temperature_and_closes_its_differential_below() -> None:
    circuit = said([part("thermostat", "t", opens_degC=100.0, differential_K=10.0)])
    (device,) = circuit.devices
    assert (device.high, device.low) == pytest.approx((373.15, 363.15))
    (contact,) = circuit.contacts
    assert contact.command.kind == "device_off"


def test_electric_kinds_are_one_file_each() -> None:
    for kind in KINDS:
        module = inspect.getmodule(all_kinds()[kind])
        assert module is not None
        assert module.__name__.endswith(f".{kind}")
