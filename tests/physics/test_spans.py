"""Slopes lie where the assembly said they may: what is never cleared is never written.

Each row of the Jacobian, and of the slopes of what cells receive, is worked through within one span of the
states. A slope beyond it would stay for ever.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from collaudo.machine.load import find_machine, library_ids
from collaudo.twin.kernel.rates import rates
from collaudo.twin.ordering import elimination_program, ordered_program
from collaudo.twin.run import Run


def _brewing(name: str) -> Run:
    """A machine whose switches are all on, half a second later."""
    run = Run.of(find_machine(name), keep=False)
    for hand in run.assembly.names.inputs:
        run.set_input(hand, 1.0)
    run.advance(0.5)
    return run


def _beyond(row: Any, begin: int, end: int) -> int:
    return int(np.count_nonzero(row[:begin]) + np.count_nonzero(row[end:]))


@pytest.mark.parametrize("name", library_ids())
def test_no_slope_lies_beyond_the_span_of_its_row(name: str) -> None:
    """At states stirred up at random too, so that gas, liquid and both ways of every flow have their turn."""
    run = _brewing(name)
    tb, wk, n = run.tables, run.work, int(run.tables.state_count[0])
    chance = np.random.default_rng(7)
    for size in (0.0, 1e-3, 1e-2, 0.1):
        y = run.y.copy()
        y[:n] += size * chance.normal(size=n) * tb.state.scale_absolute
        rates(y, wk.rate, True, tb, run.mode, wk)
        assert np.count_nonzero(wk.jacobian[:n]) > n
        for row in range(n):
            assert _beyond(wk.jacobian[row], tb.state[row].row_begin, tb.state[row].row_end) == 0
        for z in range(tb.zone.size):
            for cell in range(tb.zone_first[z], tb.zone_first[z + 1]):
                assert _beyond(wk.source_by[cell], tb.zone[z].near_begin, tb.zone[z].near_end) == 0


def test_a_circuit_that_touches_no_other_is_worked_through_without_gaps() -> None:
    """Two circuits of twelve states joined by four: rows of the one that is eliminated reach the rest of it
    and the four, and those stand first in the block that is left."""
    pattern = np.eye(28, dtype=bool)
    for circuit in (range(12), range(12, 24)):
        both = [*circuit, *range(24, 28)]
        pattern[np.ix_(both, both)] = True
    order, program = ordered_program(pattern)
    assert program.tail > 0
    (circuit,) = {k // 12 for k in order[: program.tail]}
    assert {*order[:16]} == {*range(12 * circuit, 12 * circuit + 12), 24, 25, 26, 27}
    assert {*program.whole_end} == {16}


def test_a_row_of_mostly_gaps_is_worked_through_by_its_list() -> None:
    """One state that meets every third of thirty others, which are all alone."""
    pattern = np.eye(31, dtype=bool)
    pattern[0, ::3] = pattern[::3, 0] = True
    program = elimination_program(pattern)
    assert program.tail > 0
    assert program.whole_end[0] == 0
