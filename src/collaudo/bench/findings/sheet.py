"""A findings sheet: what its entries come to, one after the other.

Folding gives the same whenever it is done: what is taken back, struck or said anew later counts as if it had
never been said. A check that was made leaves the machine as it says; what is said of the machine afterwards
counts more.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from collaudo.bench.findings.entries import Refusal, in_unit
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.findings.words import complaint_in_words, stops
from collaudo.diagnosis.findings_file import HEATS, LIDS
from collaudo.quantities.digits import digits_of, with_digits
from collaudo.quantities.units import UNITS, unit_of
from collaudo.records.notebook import Entry


@dataclass(frozen=True)
class Typed:
    """A number as it was typed."""

    value: float
    unit: str


@dataclass(frozen=True)
class SheetFinding:
    """One reading that was taken, or that could not be."""

    entry: str
    check: str
    check_title: str
    reading: str
    title: str
    value: float | str | None
    """In ``unit``; a word; None: it did not come about, or was not measured."""
    unit: str
    typed: Typed | None
    doubted: bool
    measured: bool
    at: str


@dataclass(frozen=True)
class SheetCondition:
    """The machine now."""

    heat: str = "cold"
    lid: str = "on"


@dataclass(frozen=True)
class Sheet:
    """One job as far as it is known."""

    id: str
    machine: str
    title: str
    """Of the machine."""
    label: str
    begun: str
    changed: str
    demo: bool
    count: int
    """Entries so far: another number means that somebody has written."""
    complaints: list[str] = field(default_factory=list)
    stop: str = ""
    stopped: list[str] = field(default_factory=list)
    """Every danger that was there at some time."""
    condition: SheetCondition = SheetCondition()
    history: list[str] = field(default_factory=list)
    site: dict[str, float] = field(default_factory=dict)
    settings: dict[str, float] = field(default_factory=dict)
    known: dict[str, float] = field(default_factory=dict)
    cleaned: list[str] = field(default_factory=list)
    replaced: list[str] = field(default_factory=list)
    proven_good: list[str] = field(default_factory=list)
    note: str = ""
    findings: list[SheetFinding] = field(default_factory=list)
    undo: str = ""
    """What undo would take back, in words; empty: nothing."""


def fold(sheet: str, entries: Sequence[Entry], words: MachineWords | None) -> Sheet:
    """What the entries come to. Without ``words`` (the machine is gone) titles are the entries' own words."""
    first = entries[0]
    standing = kept_entries(entries)
    state = _State(words)
    for entry in standing:
        # A line that somebody wrote by hand may lack something: the others stand all the same.
        with contextlib.suppress(KeyError, TypeError, AttributeError):
            state.take(entry)
    return Sheet(
        id=sheet,
        machine=first["machine"],
        title=words.title if words else first["machine"],
        label=state.text["label"] or first.get("label", ""),
        begun=first["at"],
        changed=max(entry["at"] for entry in entries),
        demo=bool(first.get("demo")),
        count=len(entries),
        complaints=state.words["complaint"],
        stop=state.stop,
        stopped=state.stopped,
        condition=state.condition,
        history=state.words["history"],
        site=state.values["site"],
        settings=state.values["settings"],
        known=state.values["known"],
        cleaned=state.parts("cleaned"),
        replaced=state.parts("replaced"),
        proven_good=state.parts("proven_good"),
        note=state.text["note"],
        findings=list(state.findings.values()),
        undo=in_words(standing[-1], words, entries) if standing else "",
    )


def kept_entries(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that stand: neither the first, nor an undo, nor what one took back."""
    kept: list[Entry] = []
    for entry in entries[1:]:
        if entry["kind"] != "undo":
            kept.append(entry)
        elif "of" in entry:
            kept = [one for one in kept if one["entry"] != entry["of"]]
        elif kept:
            kept.pop()
    return kept


class _State:
    """What is known while the entries are gone through."""

    def __init__(self, words: MachineWords | None) -> None:
        self.known = words
        self.words: dict[str, list[str]] = {"complaint": [], "history": []}
        self.text = {"label": "", "note": ""}
        self.stop = ""
        self.stopped: list[str] = []
        self.condition = SheetCondition()
        self.values: dict[str, dict[str, float]] = {"site": {}, "settings": {}, "known": {}}
        self.done: dict[str, str] = {}
        self.findings: dict[str, SheetFinding] = {}

    def take(self, entry: Entry) -> None:
        """One entry more."""
        kind = entry["kind"]
        if kind in self.words:
            self.words[kind] = list(entry["words"])
        elif kind in self.text:
            self.text[kind] = entry["text"]
        elif kind in self.values:
            said = self.values[kind] | entry["values"]
            self.values[kind] = {key: value for key, value in said.items() if value is not None}
        elif kind in ("reading", "not_measured"):
            self._finding(entry)
        elif kind in ("doubt", "strike"):
            self._mark(entry)
        elif kind == "stop":
            self.stop = entry["word"]
            self.stopped = list(dict.fromkeys(word for word in [*self.stopped, self.stop] if word))
        elif kind == "condition":
            now = self.condition
            self.condition = SheetCondition(entry.get("heat", now.heat), entry.get("lid", now.lid))
        elif kind == "part":
            self.done.pop(entry["part"], None)
            self.done[entry["part"]] = entry["done"]

    def parts(self, done: str) -> list[str]:
        """Parts to which this was done last."""
        return [part for part, last in self.done.items() if last == done]

    def _mark(self, entry: Entry) -> None:
        found = self.findings.get(entry["of"])
        if found is None:
            return  # it was struck or taken back before
        if entry["kind"] == "strike":
            del self.findings[entry["of"]]
        else:
            self.findings[entry["of"]] = replace(found, doubted=entry["doubted"])

    def _finding(self, entry: Entry) -> None:
        measured = entry["kind"] == "reading"
        value = entry.get("value")
        about = self.known.readings.get(f"{entry['check']}.{entry['reading']}") if self.known else None
        check = self.known.checks.get(entry["check"]) if self.known else None
        typed, unit = None, about.unit if about else entry.get("unit", "")
        if isinstance(value, int | float):
            typed = Typed(float(value), entry["unit"])
            try:
                value = in_unit(float(value), entry["unit"], unit, entry["reading"])
            except Refusal:  # the machine's file has changed since
                value, unit = float(value), entry["unit"]
        self.findings[entry["entry"]] = SheetFinding(
            entry=entry["entry"],
            check=entry["check"],
            check_title=check.check.title if check else entry["check"],
            reading=entry["reading"],
            title=about.title if about else entry["reading"],
            value=value,
            unit=unit,
            typed=typed,
            doubted=False,
            measured=measured,
            at=entry["at"],
        )
        if measured and check:
            heat, lid = check.check.leaves, check.check.lid
            now = self.condition
            self.condition = SheetCondition(
                heat if heat in HEATS else now.heat, lid if lid in LIDS else now.lid
            )


# --- entries in words --------------------------------------------------------------------------------------

_DONE = {"cleaned": "cleaned", "replaced": "replaced", "proven_good": "proven good", "": "nothing done"}


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
    text = with_digits(float(value), digits_of(float(value), unit))
    return f"{text} {UNITS[unit].text if unit in UNITS else unit}".rstrip()
