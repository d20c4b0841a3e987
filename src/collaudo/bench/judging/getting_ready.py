"""Making a machine ready for answers in a process of its own: the twin compiled, a first set of signatures
from a few drawn machines, then the whole one.

``python -m collaudo.bench.judging.getting_ready PLACE [sound]`` says how far it is in lines of JSON:
``{"stage": "compiling"}``, ``{"stage": "drawing", "done": 3, "of": 8}``, ``{"stage": "ready", "draws": 8}``,
and ``{"stage": "fault", "text": …}`` where it could not go on. It ends by itself when its input is closed,
that is when whoever began it is gone; its own processes then end too.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from functools import cache
from pathlib import Path

from collaudo.bench.beside import end_with_input
from collaudo.compiled import UNCOMPILED, cache_folder, sources_hash
from collaudo.diagnosis.cache import DRAWS, FIRST_DRAWS, best_set, draw_file, draws_in
from collaudo.errors import CollaudoError

FIRST, WHOLE = FIRST_DRAWS, DRAWS
"""Drawn machines behind a first answer, and behind a whole one."""
COMPILING_s = 180.0
"""What compiling the twin takes on a usual computer, until it is known better."""
LATE_SHARE, LEAST_LEFT_s = 0.25, 5.0
"""Of the time it has taken already: what is guessed to be left when it takes longer than that."""
SOUND = "sound"
"""Said after the place: sound machines alone are drawn, for what they should show."""
CALM = 5
"""So much the building gives way to whatever answers on the same computer."""


def compiling_left_s(waited_s: float) -> float:
    """A guess of what is left of compiling [s]; on a busy computer it takes longer than usual, and the more
    has passed, the more is left."""
    return max(COMPILING_s - waited_s, LATE_SHARE * (waited_s - COMPILING_s), LEAST_LEFT_s)


def twin_is_compiled() -> bool:
    """Whether the machine code of the twin lies in the cache."""
    return UNCOMPILED or _marker().exists()


@cache
def _marker() -> Path:
    """What `compiled_by_one` leaves behind when it is done."""
    place = hashlib.sha256(str(Path(__file__).resolve().parents[2]).encode()).hexdigest()[:8]
    return cache_folder() / "kernel" / sources_hash() / f"advance-{place}.done"


def finished_draws(key: str) -> int:
    """Drawn machines of the best finished signatures; 0 where there are none."""
    file = best_set(key)
    return draws_in(file) if file else 0


def begun_draws(key: str, of: int) -> int:
    """How many of the first ``of`` drawn machines are done, finished signatures or not."""
    return sum(draw_file(key, number).is_file() for number in range(of))


def get_ready(place: str, *, sound_only: bool = False) -> None:
    """Compile and build, telling every step on the standard output; ``sound_only``: sound machines alone."""
    from collaudo.bench.judging.signatures import builder
    from collaudo.diagnosis.cache import key_of

    if not twin_is_compiled():
        _tell(stage="compiling")

    def progress(done: int, of: int) -> None:
        if twin_is_compiled():
            _tell(stage="drawing", done=done, of=of)

    with builder(place, key_of(place), progress, sound_only=sound_only) as build:
        for draws in (FIRST_DRAWS, DRAWS):
            build(draws)
            _tell(stage="ready", draws=draws)


def _tell(**told: object) -> None:
    print(json.dumps(told), flush=True)


def main() -> int:
    """The process."""
    end_with_input()
    if hasattr(os, "nice"):
        with contextlib.suppress(OSError):
            os.nice(CALM)
    try:
        get_ready(sys.argv[1], sound_only=SOUND in sys.argv[2:])
    except CollaudoError as fault:
        _tell(stage="fault", text=str(fault)[:500])
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
