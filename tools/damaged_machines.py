"""Read many damaged machine files; any that is neither read nor refused in good form is printed.

PYTHONPATH=src:. python tools/damaged_machines.py [HOW_MANY] [FIRST]
"""

from __future__ import annotations

import sys

from tests.app.damage import outcome_of


def main(arguments: list[str]) -> int:
    """Print what became of them; returns 1 where one went wrong."""
    many, first = (
        int(arguments[n]) if len(arguments) > n else default for n, default in ((0, 10_000), (1, 0))
    )
    found = outcome_of(range(first, first + many))
    print(f"{many} damaged files: {found.read} read, the slowest in {1000 * found.slowest_s:.0f} ms")
    for ending, times in found.refused.most_common(20):
        print(f"{times:7d} problems that end in ... {ending}")
    print("\n".join(found.wrong) or "none went wrong")
    return 1 if found.wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
