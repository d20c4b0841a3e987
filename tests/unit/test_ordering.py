"""The elimination program: what is worked through as a whole, and what along lists."""

from __future__ import annotations

import numpy as np

from collaudo.twin.ordering import elimination_program, ordered_program


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
