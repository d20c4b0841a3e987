"""Our integrator beside SciPy's stiff ones on the same rates: all tell the same story."""

from __future__ import annotations

from pathlib import Path

import pytest

from collaudo.bench.measuring.integrator import METHODS, compare_integrators

SESSION = """
operations:
  - power: on
  - wait: 20 s
  - lever: up
  - wait: 4 s
  - lever: down
  - wait: 6 s
"""


def test_scipys_integrators_pour_the_same_and_are_five_times_slower(tmp_path: Path) -> None:
    """Tolerance 1e-4 of every state's own size; what ran into the cup adds the errors of some hundred steps.
    SciPy's figures hold its calls from Python; five times is what is asked for."""
    file = tmp_path / "session.yaml"
    file.write_text(SESSION, encoding="utf-8")
    found = compare_integrators(str(file), rtol=1e-4)
    assert [other.method for other in found.others] == list(METHODS)
    assert found.own.cup_g > 10.0
    for other in found.others:
        assert other.cup_g == pytest.approx(found.own.cup_g, rel=2e-3), other.method
    assert found.times_faster > 5.0
