"""Spreads that a machine's own file declares, over those of the library."""

from __future__ import annotations

import numpy as np

from collaudo.causes.draws import draw_machines, spreads_of
from collaudo.checks.roles import bind_roles
from collaudo.machine.load import find_machine, read_machine
from collaudo.machine.site import home_site

OWN = """\
machine: mine
title: One of our own
like: hx-vibration
spreads:
  boiler.shell_kg: {sd: 0.5}
  fuse.rated_A: {share: 0.1}
"""


def test_a_machines_own_spread_takes_the_place_of_the_librarys() -> None:
    machine = read_machine(OWN)
    spreads = spreads_of(machine, bind_roles(machine))
    found = {spread.target: spread for spread in spreads}
    assert len(found) == len(spreads)
    assert (found["boiler.shell_kg"].way, found["boiler.shell_kg"].amount) == ("sd", 0.5)


def test_spreads_the_file_does_not_name_stay_as_they_are() -> None:
    machine, like = read_machine(OWN), find_machine("hx-vibration")
    own = {x.target: x for x in spreads_of(machine, bind_roles(machine))}
    library = {x.target: x for x in spreads_of(like, bind_roles(like))}
    assert own.keys() == library.keys() | {"fuse.rated_A"}
    assert all(own[key] == library[key] for key in library if key != "boiler.shell_kg")


def test_drawn_machines_differ_as_the_file_says() -> None:
    machine = read_machine(OWN)
    drawn = draw_machines(machine, home_site(machine), bind_roles(machine), 64, 1)
    for key, sd in (("boiler.shell_kg", 0.5), ("fuse.rated_A", 0.1 * float(machine.value("fuse.rated_A")))):
        values = [float(d.machine.value(key)) for d in drawn]
        # The standard deviation of n draws is known to 1 / sqrt(2 n), here 9 %; three times that.
        assert abs(np.std(values) / sd - 1.0) < 3.0 / np.sqrt(2.0 * len(values))
