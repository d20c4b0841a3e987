"""Current: a lost leg of an element or phase of the mains shows in power, amperes and warm-up; a tripped
cut-out leaves the supply sound.

Star and delta by the laws of three-phase circuits; what the bench sees of it is common practice, no source.
"""

from __future__ import annotations

from functools import cache

import pytest

from collaudo.current.meter import clamp_A, volts
from collaudo.current.network import Condition, network_of
from collaudo.machine.load import find_machine, library_ids, read_machine
from collaudo.machine.model import Machine
from collaudo.machine.site import home_site
from collaudo.twin.run import Run
from tests.machines.construction_bench import do, first_time, value
from tests.machines.test_named_trade_facts import heater_of

ONE_PHASE, THREE_PHASES = "hx-two-group", "hx-two-group-three-phase"
NEUTRALS = ("neutral", "neutral_2", "neutral_3")
LEGS = ("heating_element", "heating_element.leg_2", "heating_element.leg_3")

STAR_WITHOUT_NEUTRAL = """
without_wires: [[heating_element.neutral, cord.neutral_out], [heating_element.neutral_2, cord.neutral_out],
  [heating_element.neutral_3, cord.neutral_out]]
wires:
  - [heating_element.neutral, heating_element.neutral_2]
  - [heating_element.neutral_2, heating_element.neutral_3]
"""
DELTA = """
parts: {heating_element: {leg_V: 398}}
without_wires: [[heating_element.neutral, cord.neutral_out], [heating_element.neutral_2, cord.neutral_out],
  [heating_element.neutral_3, cord.neutral_out]]
wires:
  - [heating_element.neutral, heating_element.live_2]
  - [heating_element.neutral_2, heating_element.live_3]
  - [heating_element.neutral_3, heating_element.live]
"""


@cache
def wired(way: str) -> Machine:
    """The two-group machine, its element wired one way or another."""
    if way in (ONE_PHASE, THREE_PHASES):
        return find_machine(way)
    differs = {"star without neutral": STAR_WITHOUT_NEUTRAL, "delta": DELTA}[way]
    return read_machine(f"machine: mine\ntitle: Mine\nlike: {THREE_PHASES}\n{differs}", name="mine.yaml")


def heating(machine: Machine) -> Run:
    """Twenty seconds after it was switched on cold."""
    run = Run.of(machine)
    do(run, "power: on; wait: 20 s")
    return run


# A third of the power is lost where each leg has its own way back; half where two legs are left in a row
# (star: 2 (0.866)^2 / 3; delta: (1 + 1/2) / 3).
LOSSES = [
    (ONE_PHASE, "heating_element.leg_2", "open", 2.0 / 3.0),
    (THREE_PHASES, "heating_element.leg_3", "open", 2.0 / 3.0),
    (THREE_PHASES, "mains.lost", "live_2", 2.0 / 3.0),
    ("star without neutral", "mains.lost", "live_3", 0.5),
    ("star without neutral", "heating_element.leg_2", "open", 0.5),
    ("delta", "mains.lost", "live_2", 0.5),
    ("delta", "heating_element.leg_2", "open", 2.0 / 3.0),
]
IDS = [f"{way}, {what} {how}" for way, what, how, _ in LOSSES]


@pytest.mark.parametrize(("way", "what", "how", "share"), LOSSES, ids=IDS)
def test_power_left_when_a_leg_or_phase_is_lost(way: str, what: str, how: str, share: float) -> None:
    sound = value(heating(wired(way)), "power heating_element")
    lost = value(heating(wired(way).with_fields({what: how})), "power heating_element")
    assert sound == pytest.approx(3500.0, rel=0.03)
    assert lost / sound == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize(("way", "what", "how", "share"), LOSSES, ids=IDS)
def test_a_clamp_on_the_legs_shows_the_same(way: str, what: str, how: str, share: float) -> None:
    """Watts are ohms times amperes squared; by the wiring alone, without a run."""
    condition = Condition(inputs={"power": 1.0})
    watts = []
    for machine in (wired(way), wired(way).with_fields({what: how})):
        network = network_of(machine, condition, home_site(machine))
        leg_V = float(machine.value("heating_element.leg_V")) or 230.0
        watts.append(sum(clamp_A(network, leg)[leg] ** 2 for leg in LEGS) * leg_V**2 / (3500.0 / 3.0))
    assert watts[0] == pytest.approx(3500.0, rel=0.03)
    assert watts[1] / watts[0] == pytest.approx(share, abs=0.01)


def test_one_phase_left_carries_no_current_when_its_leg_is_lost() -> None:
    """The clamp tells which: 5.1 A in the sound legs, nothing in the lost one."""
    machine = wired(THREE_PHASES).with_fields({"mains.lost": "live_2"})
    run = heating(machine)
    assert value(run, f"amps {LEGS[0]}") == pytest.approx(3500.0 / 3.0 / 230.0, rel=0.02)
    assert value(run, f"amps {LEGS[1]}") < 0.01
    assert value(run, f"amps {LEGS[2]}") == pytest.approx(3500.0 / 3.0 / 230.0, rel=0.02)


@cache
def warm_up_min(way: str, what: str = "", how: str = "") -> float:
    """Minutes from cold to the pressure switch's first action."""
    machine = wired(way)
    run = Run.of(machine.with_fields({what: how}) if what else machine)
    do(run, "power: on; until: {device: pressure_switch, does: act, at_most: 7200 s}; wait: 1 s")
    return first_time(run, "pressure_switch", True) / 60.0


@pytest.mark.parametrize(("way", "what", "how", "share"), LOSSES, ids=IDS)
def test_warm_up_takes_longer_by_the_power_that_is_lost(way: str, what: str, how: str, share: float) -> None:
    """Loss of one leg of three adds about half (common practice, no source); what the machine loses meanwhile
    adds some more."""
    ratio = warm_up_min(way, what, how) / warm_up_min(way)
    assert 1.0 / share <= ratio <= 1.25 / share


CUT_OUTS = [
    (m, part.name) for m in library_ids() for part in find_machine(m).parts.values() if part.kind == "cut_out"
]


@pytest.mark.parametrize(("machine", "cut_out"), CUT_OUTS, ids=[" ".join(x) for x in CUT_OUTS])
def test_a_tripped_cut_out_shows_the_mains_across_it_and_nothing_at_the_element(
    machine: str, cut_out: str
) -> None:
    """Sound supply, no heat. Measured hot, with a tester; never bridged."""
    found = find_machine(machine)
    mains_V = float(found.value("mains.rated_V"))
    neutral = "cord.neutral_out" if "mains_filter" not in found.parts else "mains_filter.neutral_out"
    heater = heater_of(machine, str(found.value(f"{cut_out}.on")))
    for tripped in (True, False):
        condition = Condition(inputs={"power": 1.0}, held={cut_out: not tripped, **relays_closed(found)})
        network = network_of(found, condition, home_site(found))
        before = volts(network, f"{cut_out}.a", neutral).shown_V
        behind = volts(network, f"{heater}.live", f"{heater}.neutral").shown_V
        across = volts(network, f"{cut_out}.a", f"{cut_out}.b").shown_V
        assert before == pytest.approx(mains_V, rel=0.02)
        if tripped:
            assert behind < 1.0
            assert across == pytest.approx(mains_V, rel=0.02)
        else:
            assert behind == pytest.approx(mains_V, rel=0.02)
            assert across < 1.0


def relays_closed(machine: Machine) -> dict[str, bool]:
    """Relays that a controller would close by shares of the time, held closed."""
    return {part.name: True for part in machine.parts.values() if part.kind == "solid_state_relay"}
