"""A findings sheet: what its entries come to, one after the other.

Folding gives the same whenever it is done: what is taken back, struck or said anew later counts as if it had
never been said. A check that was made leaves the machine as it says; what is said of the machine afterwards
counts more.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from collaudo.bench.findings.entries import Refusal, in_unit
from collaudo.bench.findings.entry_words import in_words
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.diagnosis.findings_file import HEATS, LIDS
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
    set_anew: list[str] = field(default_factory=list)
    proven_good: list[str] = field(default_factory=list)
    note: str = ""
    findings: list[SheetFinding] = field(default_factory=list)
    undo: str = ""
    """What undo would take back, in words; empty: nothing."""
    undo_of: str = ""
    """The entry that is: a page names it, so that an undo that comes late takes back nothing else."""


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
        set_anew=state.parts("set_anew"),
        proven_good=state.parts("proven_good"),
        note=state.text["note"],
        findings=list(state.findings.values()),
        undo=in_words(standing[-1], words, entries) if standing else "",
        undo_of=standing[-1]["entry"] if standing else "",
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
