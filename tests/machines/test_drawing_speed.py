"""What `collaudo measure drawing` measures: every sheet of a machine."""

from __future__ import annotations

from collaudo.bench.explaining.drawings import DRAWN
from collaudo.bench.measuring.drawing_speed import measure_drawings


def test_every_sheet_of_a_machine_is_measured() -> None:
    found = measure_drawings("single-boiler")
    assert [(item.machine, item.of) for item in found] == [("single-boiler", of) for of in DRAWN]
    assert all(item.best_ms > 0.0 for item in found)
