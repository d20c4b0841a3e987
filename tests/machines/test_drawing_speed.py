"""Drawing is quick: nobody waits for a sheet."""

from __future__ import annotations

import pytest

from collaudo.bench.drawing_speed import ALLOWED_ms, measure_drawings
from collaudo.bench.drawings import DRAWN
from collaudo.machine.load import library_ids


@pytest.mark.parametrize("machine", library_ids())
def test_every_drawing_of_a_machine_takes_less_than_half_a_second(machine: str) -> None:
    found = measure_drawings(machine)
    assert [(item.machine, item.of) for item in found] == [(machine, of) for of in DRAWN]
    assert all(0.0 < item.best_ms < ALLOWED_ms for item in found), found
