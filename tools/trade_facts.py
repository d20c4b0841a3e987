"""Print every fact of the trade that the twin computes: its range and what each machine shows.

    PYTHONPATH=src:. python tools/trade_facts.py

The ranges are those of tests/machines/test_trade_facts.py (common practice, no source).
"""

from __future__ import annotations

import sys

from tests.machines.bench_readings import readings
from tests.machines.test_trade_facts import FACTS


def main() -> int:
    """Print the table; returns 1 where a reading lies outside its range."""
    outside = 0
    for text, machine, reading, low, high in FACTS:
        value = readings(machine)[reading]
        inside = low <= value <= high
        outside += not inside
        print(f"{'inside ' if inside else 'OUTSIDE'}  {value:8.2f}  {low:6g} to {high:<6g}  {text}")
    print(f"{len(FACTS)} facts, {outside} outside")
    return 1 if outside else 0


if __name__ == "__main__":
    sys.exit(main())
