"""Signatures held in memory, a few machines at a time, so that a finding is answered at once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from collaudo.bench.judging.signatures import load_best
from collaudo.bench.sound.expect import expected_readings
from collaudo.bench.sound.expected import Expected
from collaudo.diagnosis.cache import best_set
from collaudo.diagnosis.signature_set import SignatureSet
from collaudo.diagnosis.surrogate import Surrogate

MOST_HELD = 4
"""Machines; a set takes some 10 MB."""
_MOST_SITES = 16


@dataclass(eq=False)
class Held:
    """The signatures of one machine, and what sound ones of it show where so much is known."""

    signatures: SignatureSet
    surrogate: Surrogate
    _expected: OrderedDict[frozenset[tuple[str, float]], dict[str, Expected]] = field(
        default_factory=OrderedDict
    )

    @property
    def draws(self) -> int:
        """Drawn machines behind it."""
        return int(self.signatures.known.shape[0])

    def expected(self, known: Mapping[str, float]) -> dict[str, Expected]:
        """Expected readings by ``check.reading``; worked out once for what is known."""
        of = frozenset(known.items())
        found = self._expected.get(of)
        if found is None:
            every = expected_readings(self.signatures, self.surrogate, known)
            found = {f"{one.check}.{one.reading}": one for one in every}
            self._expected[of] = found
            while len(self._expected) > _MOST_SITES:
                self._expected.popitem(last=False)
        return found


class HeldSignatures:
    """The best finished signatures by key; those of more draws take the place of those of fewer."""

    def __init__(self, most: int = MOST_HELD) -> None:
        self._most = most
        self._held: OrderedDict[str, tuple[Path, int, Held]] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: str) -> Held | None:
        """What is there under a key now, or None."""
        file = best_set(key)
        if file is None:
            return None
        with self._lock:
            stamp = file.stat().st_mtime_ns
            kept = self._held.get(key)
            if kept is None or kept[:2] != (file, stamp):
                loaded = load_best(key)
                if loaded is None:
                    return None
                kept = (file, stamp, Held(*loaded))
                self._held[key] = kept
            self._held.move_to_end(key)
            while len(self._held) > self._most:
                self._held.popitem(last=False)
            return kept[2]
