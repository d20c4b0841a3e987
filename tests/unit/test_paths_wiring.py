"""The way of the current, and why a thing has none, on the wiring of a machine of the library."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from collaudo.bench.explaining.states import snapshot_of
from collaudo.machine.load import find_machine
from collaudo.parts.circuit import Contact
from collaudo.paths.reasons import Reasons
from collaudo.paths.view import View
from collaudo.paths.wiring import Wiring


def view_with(open_or_closed: Mapping[str, bool]) -> View:
    """The idle machine with contacts of some parts held open or closed."""
    machine = find_machine("hx-vibration")
    snapshot = snapshot_of(machine, "idle")
    contacts = tuple(replace(c, closed=open_or_closed.get(c.part, c.closed)) for c in snapshot.contacts)
    return View(machine, replace(snapshot, contacts=contacts))


def parts_of(contacts: list[Contact]) -> list[str]:
    return [contact.part for contact in contacts]


def openers(view: View, load: str) -> list[str]:
    found = next(x for x in view.circuit.loads if x.name == load)
    return parts_of(Wiring(view).openers(found))


def test_the_way_to_the_element_passes_switch_cut_out_and_pressure_switch_in_this_order() -> None:
    view = view_with({})
    element = next(x for x in view.circuit.loads if x.name == "heating_element")
    way = Wiring(view).way(element)
    assert way is not None
    passed = [hop.contact.part for hop in way.there if hop.contact is not None]
    assert passed[-3:] == ["power_switch", "cut_out", "pressure_switch"]
    assert passed[0] == "residual_current_device"
    assert way.there[0].a == "mains.live"
    assert way.back[-1].b == "mains.neutral"


def test_a_load_with_two_ways_names_both_open_contacts() -> None:
    view = view_with({"lever_switch": False, "level_control": False})
    assert sorted(openers(view, "pump")) == ["level_control", "lever_switch"]


def test_behind_an_open_main_switch_only_the_main_switch_is_named() -> None:
    view = view_with({"power_switch": False, "pressure_switch": True})
    assert openers(view, "heating_element") == ["power_switch"]


def test_two_open_contacts_in_a_row_leave_the_first_to_be_named() -> None:
    view = view_with({"power_switch": False, "pressure_switch": False})
    assert openers(view, "heating_element") == []
    element = next(x for x in view.circuit.loads if x.name == "heating_element")
    way = Wiring(view).way(element)
    assert way is not None
    assert way.opened is not None
    assert way.opened.part == "power_switch"


def test_an_open_neutral_is_found_too() -> None:
    view = view_with({})
    snapshot = view.snapshot
    contacts = tuple(
        replace(c, closed=False) if c.part == "cord" and c.a.endswith("neutral_in") else c
        for c in snapshot.contacts
    )
    broken = View(view.built, replace(snapshot, contacts=contacts))
    assert openers(broken, "power_lamp") == ["cord"]


def test_no_voltage_at_the_mains_is_told_before_anything_else() -> None:
    view = view_with({})
    dead = View(view.built, replace(view.snapshot, site={**view.snapshot.site, "mains_V": 0.0}))
    assert Reasons(dead).no_current("pump") == "there is no voltage at the mains"


@pytest.mark.parametrize(
    ("phase", "reason"),
    [(0.0, "the probe is wet"), (1.0, "the control waits a moment"), (4.0, "has locked itself out")],
)
def test_a_fill_control_says_why_it_does_not_fill(phase: float, reason: str) -> None:
    view = view_with({})
    other = View(
        view.built,
        replace(view.snapshot, devices={**view.snapshot.devices, "level_control": phase}),
    )
    assert reason in Reasons(other).no_current("fill_valve")
