"""Many watch a running machine at once: each gets its frames, a slow one holds up nobody."""

from __future__ import annotations

import asyncio
import sys

import pytest

from tests.app.served import Bench
from tests.app.web.asking import Asker
from tools.stream import Figure, beside_a_slow_one, median_ms, slope, stream

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="reads tables of the Linux kernel"
)
FRAMES_PER_s = 15.0
BUSY = 0.6
"""Share of the frames that must come even where tests on all cores want the processor too."""
CORE_SHARE = 0.15


def test_five_clients_get_their_frames_for_little_of_one_core(served: Bench) -> None:
    """Counted in seconds of the processor, which other work on the computer does not change."""
    asyncio.run(stream(served, 1, 1.0))  # the machine is put on its stand
    seen, core = asyncio.run(stream(served, 5, 6.0))
    assert len(seen) == 5
    assert min(watched.per_s() for watched in seen) > BUSY * FRAMES_PER_s
    assert max(watched.per_s() for watched in seen) < 1.2 * FRAMES_PER_s
    assert core < CORE_SHARE


def test_a_client_that_never_reads_holds_up_nobody_and_costs_no_memory(served: Bench) -> None:
    asyncio.run(stream(served, 1, 0.5))
    seen, taken_MB = asyncio.run(beside_a_slow_one(served, 8.0))
    assert seen.per_s() > BUSY * FRAMES_PER_s
    assert seen.longest_gap_s() < 2.0
    assert taken_MB < 5.0


def test_figures_know_whether_they_keep_their_limit() -> None:
    assert Figure("", 3.0, "s", 4.0).holds
    assert not Figure("", 5.0, "s", 4.0).holds
    assert Figure("", 5.0, "s", 4.0, at_least=True).holds
    assert not Figure("", 3.0, "s", 4.0, at_least=True).holds
    assert "NOT KEPT" in Figure("", 5.0, "s", 4.0).line()
    assert slope([(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)]) == pytest.approx(2.0)


def test_a_short_answer_does_not_wait_for_a_full_packet(served: Bench) -> None:
    """With Nagle's algorithm left on, each answer waits for the delayed acknowledgement, 40 ms on Linux."""
    asker = Asker(served)
    quickest_ms = min(median_ms(lambda _: asker.ask("GET", "/api/token"), 5) for _ in range(4))
    asker.close()
    assert quickest_ms < 30.0
