"""What is worth asking for: a number nobody said, that would narrow what the readings in hand can be.

The rule: for each number that was taken, or that the next check takes, and each value of the site or the
machine that was not said, the share of the reading's spread that comes from not knowing it is worked out for
a sound machine. Where knowing it would make the range narrower by more than a tenth, it is asked for; two
questions at most, the one that tells most first. Nothing is asked once one cause stands at more than 9 in 10.
Settings are never asked for: what they are set to is what the checks are to find.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collaudo.bench.findings.check_cards import CheckCard
from collaudo.bench.findings.held_signatures import Held
from collaudo.bench.findings.machine_words import MachineWords, Sayable
from collaudo.bench.findings.words import NEARLY_SURE
from collaudo.diagnosis.findings_file import Case
from collaudo.diagnosis.prediction import reading_variance
from collaudo.diagnosis.ranking import Ranking
from collaudo.machine.site import KEYS

NARROWER = 0.1
MOST_ASKED = 2
_OF_SITE = {f"site.{field}": key for key, (field, *_) in KEYS.items()}


@dataclass(frozen=True)
class Ask:
    """One thing worth asking for."""

    key: str
    """``site.mains_V`` or ``known.boiler.volume_l``: the group of the entry, then the key in it."""
    ask: str
    unit: str
    default: float
    low: float
    high: float
    why: str


def asks_of(
    case: Case, words: MachineWords, held: Held, ranking: Ranking, first: CheckCard | None
) -> list[Ask]:
    """What would change the answer now; usually nothing."""
    if ranking.causes[0].probability >= NEARLY_SURE:
        return []
    in_hand = [finding.reading for finding in case.findings if isinstance(finding.value, float)]
    if first is not None:
        in_hand += [f"{first.check}.{one.reading}" for one in first.readings if one.kind == "number"]
    found = []
    for k, name in enumerate(held.signatures.known_names):
        about = _sayable(name, words)
        if name in case.known or about is None:
            continue
        gain, reading = _most_narrowed(k, held, ranking, in_hand)
        if gain > NARROWER:
            found.append((gain, _ask(name, about, reading)))
    found.sort(key=lambda one: -one[0])
    return [ask for _, ask in found[:MOST_ASKED]]


def _sayable(name: str, words: MachineWords) -> Sayable | None:
    return words.site.get(_OF_SITE[name]) if name in _OF_SITE else words.known.get(name)


def _ask(name: str, about: Sayable, reading: str) -> Ask:
    group = "site" if name in _OF_SITE else "known"
    title = f"{about.title[:1].upper()}{about.title[1:]}?"
    why = f"“{reading}” depends on it"
    return Ask(f"{group}.{about.key}", title, about.unit, about.default, about.low, about.high, why)


def _most_narrowed(k: int, held: Held, ranking: Ranking, in_hand: Sequence[str]) -> tuple[float, str]:
    """By which share the range of a reading in hand would get narrower at most, and which."""
    signatures, prediction = held.signatures, ranking.beliefs.prediction
    sound = signatures.no_fault or 0
    best = (0.0, "")
    for name in dict.fromkeys(in_hand):
        r = signatures.reading_index.get(name)
        if r is None:
            continue
        mean = prediction.mean[sound, :, r].mean()
        noise = float(reading_variance(np.array([[mean]]), r, signatures.readings, held.surrogate)[0, 0])
        unknown = float((prediction.unknown[sound, :, r] ** 2).sum())
        whole = float((prediction.spread[sound, :, r] ** 2).mean()) + unknown + noise
        own = min(float(held.surrogate.slope[sound, k, r]) ** 2, unknown)
        gain = 1.0 - float(np.sqrt(1.0 - own / whole)) if whole > 0.0 else 0.0
        if gain > best[0]:
            best = gain, signatures.readings[r].title
    return best
