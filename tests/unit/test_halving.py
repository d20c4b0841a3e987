"""The search for the one open place that leaves a load dead."""

from __future__ import annotations

from functools import cache
from math import ceil, inf, log2

import numpy as np
import pytest

from collaudo.current.halving import CAUTION_DEAD, CAUTION_LIVE, Hunt, Probe, Seen, hunt
from collaudo.current.network import Condition, loads_that_act, network_of
from collaudo.errors import InputError, UnknownNameError
from collaudo.machine.described import described
from collaudo.machine.load import find_machine

BOARDS = ("fill_control", "dose")


@cache
def everything_on(machine: str) -> Condition:
    """Every switch closed, every board calling."""
    circuit = described(find_machine(machine))
    calling = {device.part: True for device in circuit.devices if device.kind in BOARDS}
    return Condition(dict.fromkeys(circuit.inputs, 1.0), calling)


@cache
def search(machine: str, load: str) -> Hunt:
    return hunt(find_machine(machine), load, everything_on(machine))


def followed(found: Hunt, fault: int, error: float = 0.0) -> tuple[list[Seen], list[int]]:
    """What is measured, and which suspects are left, when suspect ``fault`` is the one; meters err."""
    rng = np.random.default_rng(fault)
    seen: list[Seen] = []
    while step := found.next(seen):
        true = found.shown[step.probe][fault]
        seen.append(Seen(step.probe, true if true == inf else true * (1.0 + error * rng.uniform(-1.0, 1.0))))
    return seen, found.left(seen)


LOADS = [
    (machine, load)
    for machine in ("hx-vibration", "hx-rotary")
    for load in sorted(loads_that_act(network_of(find_machine(machine), everything_on(machine))))
]


@pytest.mark.parametrize(("machine", "load"), LOADS)
def test_every_open_place_is_found_in_as_many_measurements_as_halving_takes(machine: str, load: str) -> None:
    found = search(machine, load)
    most = ceil(log2(len(found.suspects))) + 1
    assert len(found.suspects) > 10
    for fault, suspect in enumerate(found.suspects):
        seen, left = followed(found, fault)
        assert left == [fault], suspect.name
        assert len(seen) <= most, suspect.name


@pytest.mark.parametrize(("machine", "load"), LOADS)
def test_meters_that_err_by_five_percent_lead_to_the_same_place(machine: str, load: str) -> None:
    found = search(machine, load)
    for fault, suspect in enumerate(found.suspects):
        assert followed(found, fault, error=0.05)[1] == [fault], suspect.name


def test_a_dead_element_behind_a_dead_relay_leads_to_the_relays_own_circuit() -> None:
    """The contact of a solid-state relay is shut by a load of its own: both circuits are suspect."""
    found = search("dual-rotary", "brew_element")
    parts = {suspect.part for suspect in found.suspects}
    assert {"brew_relay", "brew_controller", "brew_element", "power_switch"} <= parts
    for fault, suspect in enumerate(found.suspects):
        left = followed(found, fault)[1]
        assert fault in left
        assert {found.suspects[n].part for n in left} == {suspect.part}, suspect.name


def test_every_leg_of_a_three_phase_element_is_searched_in_its_own_phase() -> None:
    found = search("hx-two-group-three-phase", "heating_element.leg_2")
    names = " ".join(suspect.name for suspect in found.suspects)
    assert "live_2" in names
    for fault in range(len(found.suspects)):
        assert followed(found, fault)[1] == [fault]


# -- what each answer means


def test_outcomes_share_out_all_suspects_and_their_chances() -> None:
    found = search("hx-vibration", "pump")
    step = found.next()
    assert step is not None
    named = [name for outcome in step.outcomes for name in outcome.suspects]
    assert sorted(named) == sorted(suspect.name for suspect in found.suspects)
    assert sum(outcome.chance for outcome in step.outcomes) == pytest.approx(1.0)
    assert max(outcome.chance for outcome in step.outcomes) <= 0.5 + 1.0 / len(found.suspects)


def test_a_place_known_to_fail_often_is_looked_at_first() -> None:
    machine, condition = find_machine("hx-vibration"), Condition({"power": 1.0, "lever": 1.0})
    found = hunt(machine, "pump", condition, odds={"lever_switch": 200.0})
    step = found.next()
    assert step is not None
    apart = [outcome.suspects for outcome in step.outcomes if "lever_switch" in outcome.suspects]
    fault = next(n for n, suspect in enumerate(found.suspects) if suspect.name == "lever_switch")
    assert len(followed(found, fault)[0]) <= 2
    assert len(apart) == 1


# -- care


def test_live_measurements_carry_their_caution_and_dead_ones_come_first_where_they_halve_as_well() -> None:
    found = search("hx-vibration", "heating_element")
    for fault in range(len(found.suspects)):
        seen: list[Seen] = []
        while step := found.next(seen):
            live = step.probe.how == "volts"
            assert step.caution == (CAUTION_LIVE if live else CAUTION_DEAD)
            if live:
                left = found.left(seen)
                halves = ceil(0.5 * len(left))
                dead = [probe for probe in found.shown if probe.how == "ohms"]
                assert all(max(map(len, found.outcomes(probe, left))) > halves for probe in dead)
            seen.append(Seen(step.probe, found.shown[step.probe][fault]))


def test_no_caution_and_no_name_tells_anyone_to_bridge_anything() -> None:
    texts = " ".join((CAUTION_LIVE, CAUTION_DEAD)).lower()
    assert not any(word in texts for word in ("bridge", "jumper", "bypass", "hold the switch"))


def test_nothing_of_the_building_is_measured_with_the_plug_out() -> None:
    found = search("hx-vibration", "pump")
    building = Probe("ohms", "residual_current_device.live_out", "plug.live_in")
    machine = Probe("ohms", "power_switch.b", "plug.live_in")
    assert set(found.shown[building]) == {inf}
    assert len(set(found.shown[machine])) > 1


# -- what cannot be searched


def test_a_way_beside_another_is_no_suspect() -> None:
    """The board's contact feeds the pump too: with both closed, neither alone leaves it dead."""
    both = {suspect.name for suspect in search("hx-vibration", "pump").suspects}
    lever = hunt(find_machine("hx-vibration"), "pump", Condition({"power": 1.0, "lever": 1.0}))
    assert "lever_switch" not in both
    assert "lever_switch" in {suspect.name for suspect in lever.suspects}


def test_a_load_that_should_rest_is_refused() -> None:
    machine = find_machine("hx-vibration")
    with pytest.raises(InputError, match="no current in this condition"):
        hunt(machine, "pump", Condition({"power": 1.0}))
    with pytest.raises(UnknownNameError, match="pump"):
        hunt(machine, "pmup", everything_on("hx-vibration"))


def test_readings_that_no_single_place_explains_leave_nothing() -> None:
    found = search("hx-vibration", "pump")
    probe = next(probe for probe in found.shown if probe.point == "lever_switch.b" and probe.how == "volts")
    assert found.left([Seen(probe, 115.0)]) == []
    with pytest.raises(InputError, match="tell nothing here"):
        found.left([Seen(Probe("volts", "moon.live", "mains.neutral"), 1.0)])
