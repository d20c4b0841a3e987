"""The causes of the library: what they do to a machine, how likely they are, and what they advise."""

from __future__ import annotations

import re

import pytest

from collaudo.causes.cause import COMPLAINT, Cause, Effect, all_causes, history_words
from collaudo.causes.faults import causes_for, moved, put_in
from collaudo.checks.check import all_checks, cautions
from collaudo.checks.roles import bind_roles
from collaudo.diagnosis.signature_set import NO_FAULT
from collaudo.errors import QuantityError
from collaudo.machine.load import find_machine, library_ids
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


@each_machine
def test_every_machine_has_at_least_24_of_them(machine: str) -> None:
    described = find_machine(machine)
    found = {cause.id for cause in causes_for(described, bind_roles(described))}
    assert len(found) >= 24
    assert {NO_FAULT, "boiler-pressure-set-low", "boiler-pressure-set-high"} <= found


def test_a_cause_occurs_only_on_machines_with_its_parts() -> None:
    found = {
        machine: {cause.id for cause in causes_for(described, bind_roles(described))}
        for machine in library_ids()
        for described in [find_machine(machine)]
    }
    assert "vibration-pump-worn" in found["hx-vibration"] - found["hx-rotary"]
    assert "vane-pump-worn" in found["hx-rotary"] - found["hx-vibration"]


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


@each_cause
def test_a_cause_does_something_that_can_be_found_or_is_seen(name: str) -> None:
    cause = CAUSES[name]
    seen = set(cause.seen) - {COMPLAINT}
    # What no reading shows is told from the complaint, the history and the machine's being in order.
    told_otherwise = {NO_FAULT, "coffee-or-grind"}
    assert cause.effects or cause.held or seen or name in told_otherwise


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
    for cause in causes_for(described, bound):
        mild, worst = (put_in(cause, severity, described, Site(), bound) for severity in (0.0, 1.0))
        changes = mild.machine.parts != described.parts or bool(mild.held) or mild.site != Site()
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


def test_remedies_on_mains_hot_and_pressed_parts_carry_their_caution() -> None:
    mains = ("cut_out", "power_switch", "lever_switch", "mains", "heating_element", "pressure_switch", "pump")
    for cause in CAUSES.values():
        assert set(cause.hazards) <= set(cautions())
        if cause.part in mains and cause.minutes >= 20.0:
            assert "mains" in cause.hazards, cause.id
        if cause.part in ("boiler", "exchanger", "steam_tap", "water_tap", "safety_valve", "vacuum_valve"):
            assert "scald" in cause.hazards, cause.id
        if cause.part in ("relief_valve", "check_valve", "inlet_valve", "exhaust_valve", "brew_gauge"):
            assert "pressure" in cause.hazards, cause.id


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
