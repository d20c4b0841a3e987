"""Loading a machine brings in neither compiler nor kernel, and is measured by a command."""

from __future__ import annotations

import subprocess
import sys

from collaudo.bench.measuring.loading import measure_loading
from collaudo.machine.load import library_ids


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
