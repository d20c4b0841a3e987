"""Ten thousand damaged machine files: each is read or refused with file, message and remedy, within a second.

More of them: ``PYTHONPATH=src:. python tools/damaged_machines.py 100000``.
"""

from __future__ import annotations

import pytest

from tests.app.damage import Outcome, damaged, outcome_of

FILES, BATCHES = 10_000, 4
SIZE = FILES // BATCHES


@pytest.fixture(scope="module", params=range(BATCHES))
def outcome(request: pytest.FixtureRequest) -> Outcome:
    batch: int = request.param
    return outcome_of(range(batch * SIZE, (batch + 1) * SIZE))


def test_damaged_files_are_read_or_refused_and_nothing_else(outcome: Outcome) -> None:
    assert outcome.wrong == []


def test_enough_of_them_get_through_and_as_far_as_every_set_of_rules(outcome: Outcome) -> None:
    """So that the accidents do not all end at the reader of YAML."""
    assert 0.1 * SIZE < outcome.read < 0.5 * SIZE
    for ending in ("not connected", "not joined", "load between", "is empty", "no number", "a mapping"):
        assert outcome.refused[ending] >= 5, ending


def test_a_number_always_means_the_same_file() -> None:
    assert [damaged(n) for n in range(50)] == [damaged(n) for n in range(50)]
    assert len({damaged(n) for n in range(200)}) > 190
