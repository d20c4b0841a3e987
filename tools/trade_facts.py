"""Print every fact of the trade that the twin computes: its range and what each machine shows.

    PYTHONPATH=src:. python tools/trade_facts.py [machine ...]

The ranges are those of tests/machines/test_trade_facts.py and test_trade_facts_by_construction.py (common
practice, no source). With names of machines, only theirs.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

from tests.machines import bench_readings, construction_readings
from tests.machines import test_trade_facts as one_group
from tests.machines import test_trade_facts_by_construction as by_construction


def facts() -> Iterator[tuple[str, str, str, float, float, bool]]:
    """Text, machine, reading, range, and whether it is one of the facts by construction."""
    for text, machine, reading, low, high in one_group.FACTS:
        yield text, machine, reading, low, high, False
    for text, reading, low, high in by_construction.FACTS:
        yield text, text.partition(":")[0], reading, low, high, True


def main() -> int:
    """Print the table; returns 1 where a reading lies outside its range."""
    told = outside = 0
    for text, machine, reading, low, high, constructed in facts():
        if sys.argv[1:] and machine not in sys.argv[1:]:
            continue
        taken = construction_readings if constructed else bench_readings
        value = taken.readings(machine)[reading]
        inside = low <= value <= high
        told, outside = told + 1, outside + (not inside)
        print(f"{'inside ' if inside else 'OUTSIDE'}  {value:8.2f}  {low:6.4g} to {high:<6.4g}  {text}")
    print(f"{told} facts, {outside} outside")
    return 1 if outside else 0


if __name__ == "__main__":
    sys.exit(main())
