"""The causes of the library: what they do to a machine, how likely they are, and what they advise."""

from __future__ import annotations

import re

import pytest

from collaudo.causes.cause import Cause, Effect, all_causes, history_words
from collaudo.causes.faults import causes_for, moved, put_in
from collaudo.checks.check import all_checks, cautions
from collaudo.checks.course import course_for
from collaudo.checks.files import COMPLAINT
from collaudo.checks.roles import bind_roles
from collaudo.diagnosis.signature_set import NO_FAULT
from collaudo.errors import QuantityError
from collaudo.machine.load import find_machine, library_ids
from collaudo.machine.site import home_site
from collaudo.parts.circuit import Site
from collaudo.parts.part import declared_fields

CAUSES = {cause.id: cause for cause in all_causes()}
OUTCOMES = {
    reading.id: {outcome.name for outcome in reading.outcomes}
    for check in all_checks()
    for reading in check.readings
    if reading.by_chance
}
each_cause = pytest.mark.parametrize("name", sorted(CAUSES))
each_machine = pytest.mark.parametrize("machine", library_ids())


def test_there_are_at_least_24_causes_no_fault_and_settings_among_them() -> None:
    assert len(CAUSES) >= 24
    assert NO_FAULT in CAUSES
    settings = {effect.target for cause in CAUSES.values() for effect in cause.effects}
    assert {"setting.boiler_pressure", "setting.brew_pressure"} <= settings


def causes_of(machine: str) -> set[str]:
    described = find_machine(machine)
    return {cause.id for cause in causes_for(described, bind_roles(described))}


ANY_MACHINE = {
    *(NO_FAULT, "coffee-or-grind", "group-gasket", "gasket-or-basket-wrong", "screen-blocked", "hose-leak"),
    *("mains-low", "mains-high", "neutral-lost", "supply-dead", "fuse-blown", "plug-melted", "plug-scorched"),
    *("cord-broken", "earth-broken", "earth-bond-loose", "power-switch-dead", "power-lamp-dead"),
    "heating-lamp-dead",
}
STEAM_BOILER = {
    *("element-open", "element-scaled", "element-insulation", "cut-out-tripped", "safety-valve-weeping"),
    *(
        "vacuum-valve-open",
        "vacuum-valve-shut",
        "vacuum-valve-weeping",
        "steam-tap-leaking",
        "steam-tip-blocked",
    ),
    *("level-probe-blind", "level-probe-tracking", "board-silent", "board-keeps-calling", "milk-in-boiler"),
    *("fill-valve-shut", "fill-check-valve-leaking"),
    *("steam-gauge-high", "steam-gauge-low", "strainer-clogged", "supply-shut"),
}
# A boiler overfills by its fill valve where the pump also runs for the coffee.
PUMPED_COFFEE = {"fill-valve-leaking", "fill-valve-reversed"}
BY_PRESSURE = {
    *("pressure-switch-open", "pressure-switch-welded", "pressure-switch-wide"),
    *("boiler-pressure-set-high", "boiler-pressure-set-low"),
}
VIBRATION = {
    *("vibration-pump-worn", "vibration-pump-dead", "pump-cut-out-open", "pump-cut-out-early"),
    *("pump-diode-open", "pump-diode-shorted", "tank-empty"),
}
ROTARY = {"vane-pump-worn", "pump-motor-dead", "pump-capacitor-weak", "pump-seized"}
LINE = {
    *("softener-spent", "softener-clogged", "line-regulator-low", "line-regulator-stuck"),
    *("line-regulator-creeping", "backflow-preventer-clogged"),
}
BREW_CIRCUIT = {
    *("relief-valve-leaking", "brew-pressure-set-high", "brew-pressure-set-low", "drain-hose-blocked"),
}
# A pump that holds by itself hides what leaks back behind it, but for a gauge.
WITH_GAUGE = {"check-valve-leaking", "brew-gauge-wrong"}
EXCHANGER = {
    *("exchanger-scaled", "exchanger-pinhole", "brew-jet-blocked", "water-tap-leaking"),
    *WITH_GAUGE,
}
LEVER_GROUP = {
    "circulation-weak",
    *("lever-seal", "lever-switch-dead", "inlet-valve-leaking", "exhaust-valve-leaking", "exhaust-blocked"),
}
KEYED_GROUP = {
    *("three-way-blocked", "three-way-shut", "three-way-leaking-rest", "three-way-leaking-brewing"),
    *("three-way-exhaust-blocked", "brew-switch-dead", "brew-pump-switch-dead"),
}
BREW_BOILER = {
    *("brew-element-open", "brew-element-insulation", "brew-boiler-scaled", "brew-boiler-air"),
    *("brew-cut-out-tripped", "group-joint-poor", "brew-temperature-set-low", "brew-temperature-set-high"),
}


def held_by(where: str) -> set[str]:
    """Causes of a temperature that a controller holds with sensor and relay."""
    parts = ("controller-silent", "controller-welded", "relay-open", "relay-shorted")
    sensor = ("open", "shorted", "reads-high", "reads-low", "loose")
    every = {f"{where}-{part}" for part in (*parts, *(f"sensor-{what}" for what in sensor))}
    # A heavy group is so slow that a loose sensor does not show.
    return every - {"group-sensor-loose"}


LEVER_MACHINE = (
    ANY_MACHINE | STEAM_BOILER | PUMPED_COFFEE | BY_PRESSURE | BREW_CIRCUIT | EXCHANGER | LEVER_GROUP
)
DUAL = (
    *(ANY_MACHINE, STEAM_BOILER, PUMPED_COFFEE, BREW_CIRCUIT, KEYED_GROUP, BREW_BOILER, held_by("brew")),
    {
        "mains-filter-shorted",
        "mains-filter-open",
        "brew-jet-blocked",
        *WITH_GAUGE,
        "water-tap-leaking",
    },
)
TWO_GROUP = (
    *(ANY_MACHINE, STEAM_BOILER, PUMPED_COFFEE, BY_PRESSURE, ROTARY, LINE, BREW_CIRCUIT, EXCHANGER),
    KEYED_GROUP,
    {"contactor-lost-leg", "contactor-welded", "contactor-coil-dead", "element-leg-open"},
    {"flow-meter-dead", "flow-meter-miscounting", "flow-meter-clogged", "dose-control-dead"},
    {"dose-control-keeps-running", "mixing-valve-hot-clogged", "mixing-valve-cold-clogged"},
    {"sight-glass-clouded", "boiler-drain-leaking", "brew-jet-2-blocked", "screen-2-blocked"},
    {"circulation-weak-on-the-line", "circulation-2-weak"},
    {"exchanger-2-scaled", "three-way-2-blocked", "three-way-2-leaking-brewing"},
)
FIFTY = {"frequency-wrong-sixty"}
# By construction: what may be wrong with a machine is what may be wrong with what it is made of.
MAY_BE_WRONG = {
    "hx-vibration": LEVER_MACHINE | VIBRATION | FIFTY,
    "hx-vibration-120v": LEVER_MACHINE | VIBRATION | {"frequency-wrong-fifty"},
    "hx-rotary": LEVER_MACHINE | ROTARY | FIFTY | {"tank-empty"},
    "hx-two-group": set.union(*TWO_GROUP, FIFTY),
    "hx-two-group-three-phase": set.union(*TWO_GROUP, FIFTY, {"phase-lost"}),
    "dual-rotary": set.union(*DUAL, BY_PRESSURE, ROTARY, LINE, FIFTY),
    "dual-vibration": set.union(
        *(*DUAL, VIBRATION, held_by("steam"), held_by("group"), FIFTY),
        {"steam-temperature-set-low", "steam-temperature-set-high", "tank-switch-stuck"},
        {"tank-switch-welded", "group-heater-open", "group-heater-insulation", "group-cut-out-tripped"},
    ),
    "single-boiler": set.union(
        *(ANY_MACHINE, VIBRATION, BREW_CIRCUIT, KEYED_GROUP, BREW_BOILER, FIFTY),
        {"brew-thermostat-early", "brew-thermostat-open", "brew-thermostat-welded", "brew-thermostat-loose"},
        {"steam-thermostat-early", "steam-thermostat-open", "steam-thermostat-welded", "steam-switch-dead"},
        {"steam-tap-leaking", "steam-tip-blocked", "group-strainer-clogged"},
    ),
    "flow-through": set.union(
        *(ANY_MACHINE, VIBRATION, BREW_CIRCUIT, KEYED_GROUP, held_by("heater"), FIFTY),
        {"heater-open", "heater-insulation", "heater-scaled", "heater-cut-out-tripped", "group-joint-poor"},
        {"brew-temperature-set-low", "brew-temperature-set-high"},
    ),
    "spring-lever": set.union(
        *(ANY_MACHINE, STEAM_BOILER, BY_PRESSURE, VIBRATION, FIFTY),
        {"spring-tired", "piston-seals-leaking", "piston-dry", "spring-inlet-blocked"},
        {"spring-inlet-leaking", "dip-tube-broken", "sight-glass-clouded", "boiler-drain-leaking"},
    ),
}


@each_machine
def test_what_may_be_wrong_with_a_machine_follows_from_what_it_is_made_of(machine: str) -> None:
    assert causes_of(machine) == MAY_BE_WRONG[machine]
    assert len(MAY_BE_WRONG[machine]) >= 50


def test_every_cause_may_occur_on_some_machine() -> None:
    assert set.union(*MAY_BE_WRONG.values()) == set(CAUSES)


@each_cause
def test_a_cause_is_told_with_reason_remedy_time_and_frequency(name: str) -> None:
    cause = CAUSES[name]
    assert cause.title
    assert not cause.title.endswith(".")
    assert cause.why.endswith(".")
    assert cause.remedy.endswith(".")
    assert re.fullmatch("[a-z]+(-[a-z]+)*", cause.repair)
    assert 0.0 < cause.per_1000 <= 200.0
    assert 0.0 < cause.minutes <= 240.0
    assert 0.0 <= cause.parts_eur <= 1000.0
    assert set(cause.history) <= set(history_words())
    assert all(0.05 <= factor <= 50.0 for factor in cause.history.values())


@each_cause
def test_chances_of_what_is_seen_are_chances_of_known_outcomes(name: str) -> None:
    for reading, table in CAUSES[name].seen.items():
        assert set(table) <= OUTCOMES[reading], reading
        assert all(0.0 <= chance <= 1.0 for chance in table.values())
        assert 0.0 < sum(table.values()) <= 1.0 + 1e-9, reading


@each_cause
def test_every_cause_brings_a_complaint(name: str) -> None:
    complaints = CAUSES[name].seen[COMPLAINT]
    # What is not named is shared by all other complaints.
    assert 0.0 < sum(complaints.values()) <= 1.0 + 1e-9


# What no reading shows is told from the complaint, the history and the machine's being in order.
TOLD_OTHERWISE = {NO_FAULT, "coffee-or-grind"}


@each_machine
def test_a_cause_does_something_that_can_be_found_or_is_seen(machine: str) -> None:
    """By a value or a device of this machine, or by a reading that is taken on it."""
    described = find_machine(machine)
    course = course_for(described)
    read = {reading.id for reading in course.readings if reading.by_chance} - {COMPLAINT}
    for cause in causes_for(described, course.bound):
        shown = cause.effects or cause.held or read & set(cause.seen)
        assert shown or cause.id in TOLD_OTHERWISE, cause.id


@each_machine
@pytest.mark.parametrize("severity", [0.0, 0.5, 1.0])
def test_effects_stay_within_what_parts_declare(machine: str, severity: float) -> None:
    """Before any value would be stopped at the end of its field's range."""
    described = find_machine(machine)
    bound = bind_roles(described)
    for cause in causes_for(described, bound):
        for effect in cause.effects:
            start, _, field = effect.target.partition(".")
            if start == "site" or effect.way == "becomes":
                continue
            key = described.settings[field].sets if start == "setting" else f"{bound[start]}.{field}"
            part, _, name = key.partition(".")
            declared = declared_fields(type(described.part(part)))[name]
            value = moved(effect, severity, float(described.value(key)))
            room = 1e-9 * (declared["high"] - declared["low"])  # for rounding
            assert declared["low"] - room <= value <= declared["high"] + room, (cause.id, effect.target)


@each_machine
def test_a_fault_changes_the_machine_and_no_fault_does_not(machine: str) -> None:
    described = find_machine(machine)
    bound = bind_roles(described)
    home = home_site(described)
    for cause in causes_for(described, bound):
        mild, worst = (put_in(cause, severity, described, home, bound) for severity in (0.0, 1.0))
        changes = mild.machine.parts != described.parts or bool(mild.held) or mild.site != home
        assert changes == bool(cause.effects or cause.held), cause.id
        assert set(mild.held) <= set(described.parts)
        fixed = all(effect.mild == effect.worst for effect in cause.effects)
        assert fixed or worst.machine.parts != mild.machine.parts or worst.site != mild.site, cause.id


def test_how_a_value_moves_with_severity_is_worked_out_by_hand() -> None:
    assert moved(Effect("pump.x", "times", 0.9, 0.5), 0.5, 200.0) == pytest.approx(140.0)
    assert moved(Effect("pump.x", "plus", 0.2, 0.6), 0.25, 1.1) == pytest.approx(1.4)
    assert moved(Effect("pump.x", "to", 3.0, 5.0), 1.0, 99.0) == pytest.approx(5.0)
    # In equal factors: half way from 1 to 100 is 10.
    assert moved(Effect("pump.x", "to", 1.0, 100.0, log=True), 0.5, 99.0) == pytest.approx(10.0)
    assert moved(Effect("pump.x", "times", 0.5, 0.125, log=True), 0.5, 8.0) == pytest.approx(2.0)


def test_a_value_that_would_leave_its_range_stops_at_its_end() -> None:
    described = find_machine("hx-vibration")
    bound = bind_roles(described)
    high = declared_fields(type(described.part("boiler")))["volume_l"]["high"]
    far = made_up("boiler", Effect("boiler.volume_l", "times", 1e6, 1e6))
    assert put_in(far, 0.0, described, Site(), bound).machine.value("boiler.volume_l") == high


def test_a_word_is_put_in_as_it_is() -> None:
    described = find_machine("hx-vibration")
    bound = bind_roles(described)
    turned = made_up("fill_valve", Effect("fill_valve.fitted", "becomes", word="reversed"))
    assert put_in(turned, 0.3, described, Site(), bound).machine.value("fill_valve.fitted") == "reversed"
    wrong = made_up("fill_valve", Effect("fill_valve.fitted", "becomes", word="sideways"))
    with pytest.raises(QuantityError, match="sideways"):
        put_in(wrong, 0.3, described, Site(), bound)


def made_up(part: str, effect: Effect) -> Cause:
    return Cause("x", "x", part, "x", 1.0, (effect,), {}, {}, {}, "x", "x", 1.0, 0.0, ())


# bench_practice, section 5 and "never bridged, not even for a moment" of section 4.
FORBIDDEN = (
    r"machine is safe",
    r"nothing (is )?wrong",
    r"user error",
    r"certainly|for certain",
    r"tighten (the |its )?safety valve",
    r"(set|adjust|turn) (the |its )?safety valve",
    r"raise the boiler('s)? pressure",
    r"(?<!never )\b(?:bridg|jumper|defeat|short out|bypass the (?:cut|switch|safety))",
    r"hold the switch closed",
    r"take (the |its )?(earth|residual)",
)


@each_cause
def test_no_cause_says_what_is_never_said(name: str) -> None:
    cause = CAUSES[name]
    text = " ".join((cause.title, cause.why, cause.remedy)).lower()
    for phrase in FORBIDDEN:
        assert not re.search(phrase, text), phrase


def test_what_is_forbidden_is_found_out() -> None:
    bad = ("bridge the cut-out to see", "tighten the safety valve", "certainly the board", "user error")
    assert all(any(re.search(phrase, text) for phrase in FORBIDDEN) for text in bad)
    assert not any(re.search(phrase, "it is never bridged") for phrase in FORBIDDEN)


def test_a_safety_valve_is_replaced_and_a_cut_out_reset_only_when_its_reason_is_found() -> None:
    assert "never set" in CAUSES["safety-valve-weeping"].why
    assert CAUSES["safety-valve-weeping"].repair == "replace-safety-valve"
    assert CAUSES["cut-out-tripped"].remedy.startswith("Find out why it tripped")
    assert "never bridged" in CAUSES["cut-out-tripped"].remedy


MAINS = (
    *("cut_out", "brew_cut_out", "heater_cut_out", "group_cut_out", "power_switch", "lever_switch", "mains"),
    *("brew_switch", "brew_pump_switch", "steam_switch", "three_phases", "plug", "cord", "fuse"),
    *("residual_current_device", "mains_filter", "earth_bond", "heating_element", "brew_element"),
    *("flow_through_heater", "group_heater", "element_of_three_legs", "pressure_switch", "contactor", "pump"),
    *("pump_motor", "pump_cut_out", "diode", "dose_control", "brew_thermostat", "steam_thermostat"),
    *(
        f"{where}_{part}"
        for where in ("brew", "steam", "heater", "group")
        for part in ("relay", "controller")
    ),
)
HOT = (
    *("boiler", "exchanger", "exchanger_2", "steam_tap", "water_tap", "safety_valve", "vacuum_valve"),
    *("brew_boiler", "mixing_valve", "dip_tube", "sight_glass", "boiler_drain", "heated_vessel"),
)
PRESSED = (
    *("relief_valve", "check_valve", "inlet_valve", "exhaust_valve", "brew_gauge", "three_way_valve"),
    *("three_way_valve_2", "brew_jet", "brew_jet_2", "flow_meter", "group_strainer", "line_regulator"),
)
# Only descaled, seated or set: no mains terminal is touched.
WITHOUT_MAINS = {"heater-scaled", "steam-temperature-set-low", "steam-temperature-set-high"}


def test_remedies_on_mains_hot_and_pressed_parts_carry_their_caution() -> None:
    for cause in CAUSES.values():
        assert set(cause.hazards) <= set(cautions())
        if cause.part in MAINS and cause.minutes >= 15.0 and cause.id not in WITHOUT_MAINS:
            assert "mains" in cause.hazards, cause.id
        if cause.part in HOT:
            assert "scald" in cause.hazards, cause.id
        if cause.part in PRESSED:
            assert "pressure" in cause.hazards, cause.id
        if cause.part == "spring_piston_group" and "spring" in cause.remedy:
            assert "Only with the spring held by the tool made for it" in cause.remedy, cause.id


def test_an_earth_that_does_not_hold_is_mended_before_the_machine_is_used() -> None:
    for name in ("earth-bond-loose", "earth-broken"):
        assert CAUSES[name].remedy.startswith("Do not use it until it is mended.")


def test_a_fuse_is_replaced_by_its_like_and_a_cut_out_never_bridged() -> None:
    assert "never by a larger one" in CAUSES["fuse-blown"].remedy
    for cause in CAUSES.values():
        if "cut_out" in cause.part:
            assert "never bridged" in cause.remedy, cause.id


# bench_practice, section 3: "per 1000 jobs of lever-group heat-exchanger machines", good to a factor of two;
# common practice, no source.
PER_1000 = {
    ("vacuum-valve-open", "vacuum-valve-shut", "vacuum-valve-weeping"): 70.0,
    ("vibration-pump-worn", "vibration-pump-dead"): 70.0,
    ("group-gasket", "screen-blocked"): 80.0,
    ("lever-seal",): 55.0,
    ("inlet-valve-leaking", "exhaust-valve-leaking"): 55.0,
    ("level-probe-blind", "level-probe-tracking"): 50.0,
    ("exchanger-scaled", "brew-jet-blocked"): 60.0,
    ("pressure-switch-open", "pressure-switch-welded", "pressure-switch-wide"): 40.0,
    ("circulation-weak",): 30.0,
    ("lever-switch-dead",): 30.0,
    ("supply-shut",): 20.0,
    ("exchanger-pinhole",): 4.0,
}


@pytest.mark.parametrize("names", PER_1000, ids=lambda names: names[0])
def test_causes_are_as_common_as_technicians_say(names: tuple[str, ...]) -> None:
    together = sum(CAUSES[name].per_1000 for name in names)
    assert 0.5 * PER_1000[names] <= together <= 2.0 * PER_1000[names]


# Causes per 1000 jobs of a mixed bench, good to a factor of about two; common practice, no source.
MIXED_BENCH = {
    "F02 brew boiler or passages scaled": (("brew-boiler-scaled",), 85.0),
    "F08 three-way blocked": (("three-way-blocked",), 42.0),
    "F10 three-way leaking to drain": (("three-way-leaking-brewing",), 38.0),
    "F12 level probe scaled or tracking": (("level-probe-blind", "level-probe-tracking"), 30.0),
    "F13 softener or filter spent": (("softener-spent", "softener-clogged"), 28.0),
    "F16 element insulation": (("element-insulation",), 24.0),
    "F17 high limit tripped": (("brew-cut-out-tripped",), 24.0),
    "F18 flow meter": (("flow-meter-dead", "flow-meter-miscounting"), 24.0),
    "F23 element open, or one leg": (("element-open", "element-leg-open"), 18.0),
    "F27 tank switch": (("tank-switch-stuck", "tank-switch-welded"), 15.0),
    "F28 air in boiler": (("brew-boiler-air",), 15.0),
    "F29 brew element open": (("brew-element-open",), 14.0),
    "F30, F31 three-way plunger and coil": (("three-way-shut",), 26.0),
    "F32 solid-state relay off": (("brew-relay-open",), 12.0),
    "F33 sensor open": (("brew-sensor-open",), 10.0),
    "F34 rotary motor or capacitor": (("pump-motor-dead", "pump-capacitor-weak"), 10.0),
    "F35 plug or feed wiring": (("plug-scorched", "plug-melted"), 10.0),
    "F36 sensor drifted": (("brew-sensor-reads-high", "brew-sensor-reads-low"), 8.0),
    "F38 solid-state relay on": (("brew-relay-shorted",), 7.0),
    "F39 hot-water mixing valve": (("mixing-valve-hot-clogged", "mixing-valve-cold-clogged"), 7.0),
}


@pytest.mark.parametrize("fact", MIXED_BENCH)
def test_causes_of_other_constructions_are_as_common_as_technicians_say(fact: str) -> None:
    names, per_1000 = MIXED_BENCH[fact]
    together = sum(CAUSES[name].per_1000 for name in names)
    assert 0.5 * per_1000 <= together <= 2.0 * per_1000
