"""Entries of a findings sheet in a few words, as undo and reasons name them: numbers as they were typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.findings.words import complaint_in_words, stops
from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import UNITS, unit_of
from collaudo.records.notebook import Entry

_DONE = {
    "cleaned": "cleaned",
    "replaced": "replaced",
    "set_anew": "set anew",
    "proven_good": "proven good",
    "": "nothing done",
}


def in_words(entry: Entry, words: MachineWords | None, entries: Sequence[Entry]) -> str:
    """One entry in a few words, as undo names it."""
    kind = entry["kind"]
    if kind in ("reading", "not_measured"):
        return _reading_in_words(entry, words)
    if kind in ("doubt", "strike"):
        of = next((one for one in entries if one["entry"] == entry["of"]), None)
        what = "struck" if kind == "strike" else "doubted" if entry["doubted"] else "no longer doubted"
        return f"{what}: {_reading_in_words(of, words)}" if of else what
    return _said_in_words(entry, words)


def _said_in_words(entry: Entry, words: MachineWords | None) -> str:
    kind = entry["kind"]
    history = words.history if words else {}
    if kind == "complaint":
        text = ", ".join(complaint_in_words(word) for word in entry["words"]) or "none"
    elif kind == "history":
        text = ", ".join(history.get(word, word) for word in entry["words"]) or "none"
    elif kind == "stop":
        text = stops()[entry["word"]].title if entry["word"] else "no danger"
    elif kind == "condition":
        lid = f"lid {entry['lid']}" if "lid" in entry else ""
        text = ", ".join(filter(None, [entry.get("heat", ""), lid]))
    elif kind in ("site", "settings", "known"):
        text = ", ".join(_value_in_words(kind, key, value, words) for key, value in entry["values"].items())
    elif kind == "part":
        name = words.parts.get(entry["part"], entry["part"]) if words else entry["part"]
        text = f"{name} {_DONE[entry['done']]}"
    else:
        text = entry.get("text", "")[:40]
    return f"{kind}: {text}" if text else kind


def _value_in_words(group: str, key: str, value: float | None, words: MachineWords | None) -> str:
    about: Any = getattr(words, group).get(key) if words else None
    title = about.title if about else key
    unit = unit_of(about.unit).text if about and about.unit else ""
    return f"{title} not known" if value is None else f"{title} {value:g} {unit}".rstrip()


def _reading_in_words(entry: Entry, words: MachineWords | None) -> str:
    about = words.readings.get(f"{entry['check']}.{entry['reading']}") if words else None
    check = words.checks.get(entry["check"]) if words else None
    title = about.title if about else entry["reading"]
    text = value_in_words(entry.get("value"), entry.get("unit", ""), measured=entry["kind"] == "reading")
    return f"{check.check.title if check else entry['check']}, {title}: {text}"


def value_in_words(value: float | str | None, unit: str, *, measured: bool = True) -> str:
    """``9.6 bar``, ``blows``, ``never came about``, ``could not be measured``."""
    if not measured:
        return "could not be measured"
    if value is None:
        return "never came about"
    if isinstance(value, str):
        return value.replace("-", " ")
    return f"{as_typed(float(value), unit)} {UNITS[unit].text if unit in UNITS else unit}".rstrip()


def as_typed(value: float, unit: str) -> str:
    """A number with every digit that was typed, and no fewer than an instrument shows."""
    behind = f"{value:.3f}".rstrip("0").partition(".")[2]
    return with_digits(value, max(len(behind), digits_of(value, unit)))
