"""Loading a machine is quick and brings in neither compiler nor kernel."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from collaudo.bench.loading import ALLOWED_ms, measure_loading
from collaudo.machine.load import find_machine, library_ids


def least_ms(work: Callable[[], object]) -> float:
    """Processor time of the best of nine."""
    times = []
    for _ in range(9):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return 1000.0 * min(times)


@pytest.mark.parametrize("machine_id", library_ids())
def test_a_machine_of_the_library_loads_within_fifty_milliseconds(machine_id: str) -> None:
    assert least_ms(lambda: find_machine(machine_id)) < ALLOWED_ms


def test_loading_imports_neither_compiler_nor_kernel_nor_numpy() -> None:
    code = (
        "import sys; from collaudo.machine.load import find_machine, library_ids\n"
        "for name in library_ids(): find_machine(name)\n"
        "print(*[m for m in sys.modules if m.split('.')[0] in ('numba', 'numpy', 'scipy') "
        "or m.startswith(('collaudo.twin', 'collaudo.compiled'))])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == ""


def test_what_is_measured_is_every_machine() -> None:
    found = measure_loading()
    assert [item.machine for item in found] == library_ids()
    assert all(0.0 < item.best_ms <= item.median_ms and item.parts > 10 for item in found)
    (one,) = measure_loading("hx-vibration")
    assert one.machine == "hx-vibration"
