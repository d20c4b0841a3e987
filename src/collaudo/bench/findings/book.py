"""The book of findings: every sheet that is being worked on, written down entry by entry, and answered."""

from __future__ import annotations

import contextlib
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from collaudo.bench.demo import DEMO_CASE, DEMO_MACHINE, demo_file
from collaudo.bench.findings.answers import Building, SheetAnswer, answer_to, leading_cause
from collaudo.bench.findings.case import entries_of, file_of, usable
from collaudo.bench.findings.entries import begin_entry, checked
from collaudo.bench.findings.held_signatures import Held, HeldSignatures
from collaudo.bench.findings.machine_words import MachineWords, words_for
from collaudo.bench.findings.sheet import Sheet, fold
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.units_in_texts import told_in_units
from collaudo.errors import CollaudoError, UnknownNameError
from collaudo.quantities.units import Choice
from collaudo.records.notebook import SHEET_ID, Entry, Notebook

__all__ = ["SHEET_ID", "FindingsBook", "SheetLine"]

DEMO = f"demo-{DEMO_CASE}"
"""Id of the demonstration's sheet."""
ANSWERS_KEPT = 32


@dataclass(frozen=True)
class SheetLine:
    """One sheet in the list."""

    id: str
    machine: str
    title: str
    label: str
    begun: str
    changed: str
    complaints: list[str]
    leading: str
    """Title of the likeliest cause; empty while there is none."""
    demo: bool


class FindingsBook:
    """The sheets below a data folder. Nothing that was confirmed is ever lost."""

    def __init__(self, data: Path, held: HeldSignatures | None = None) -> None:
        self.notebook = Notebook(data / "findings")
        self.shelf = Shelf(data)
        self.held = held or HeldSignatures()
        self._leading: dict[str, tuple[int, int, str]] = {}
        self._answers: OrderedDict[tuple[str, int, Choice, str], SheetAnswer] = OrderedDict()
        self._answering = threading.Lock()
        self._opening = threading.Lock()
        self._opened = False

    def open(self) -> None:
        """Lay the demonstration's sheet in, the first time."""
        with self._opening:
            if not self._opened and DEMO not in self.notebook.sheets() and not self.notebook.is_removed(DEMO):
                self.reset_demo()
            self._opened = True

    def warm(self, machine: str = "") -> None:
        """Load beside everything else what the first question needs: catalogue, words and signatures."""

        def load() -> None:
            with contextlib.suppress(CollaudoError, OSError):  # told to whoever asks
                self.held.get(self.words(machine or DEMO_MACHINE).key)
                self.sheets()
                # What only the first answer waits for is loaded with it.
                self.answer(self.sheet(DEMO), Choice())

        threading.Thread(target=load, name="findings", daemon=True).start()

    def sheets(self) -> list[SheetLine]:
        """Every sheet, the one changed last first."""
        self.open()
        found = []
        for name in self.notebook.sheets():
            with contextlib.suppress(UnknownNameError):  # removed meanwhile, or without a beginning
                found.append(self._line(self.sheet(name)))
        return sorted(found, key=lambda line: _instant(line.changed), reverse=True)

    def begin(self, machine: str, label: str, entry: str) -> Sheet:
        """A new sheet for a machine; the same one again where ``entry`` was sent before."""
        words = self.words(machine)
        return self.sheet(self.notebook.begin(begin_entry(words.id, label, entry)))

    def bring_in(self, text: str, entry: str) -> Sheet:
        """A new sheet from the text of a findings file; `FindingsFileError` tells each problem's line."""
        machine, entries = entries_of(text, self.words)
        sheet = self.notebook.begin(begin_entry(machine, "", entry))
        if len(self.notebook.entries(sheet)) == 1:
            self.notebook.add(sheet, entries)
        return self.sheet(sheet)

    def reset_demo(self) -> Sheet:
        """The demonstration's sheet as it was at first."""
        with demo_file() as file:
            machine, entries = entries_of(file.read_text(encoding="utf-8"), self.words)
        self.notebook.erase(DEMO)
        first = begin_entry(machine, "Demonstration", f"{DEMO}-0") | {"demo": True}
        self.notebook.begin(first, sheet=DEMO)
        self.notebook.add(DEMO, entries)
        return self.sheet(DEMO)

    def sheet(self, sheet: str) -> Sheet:
        """One sheet as it stands."""
        return self._folded(sheet, self.notebook.entries(sheet))

    def add(self, sheet: str, given: Sequence[Mapping[str, Any]]) -> Sheet:
        """Write entries down, all or none; those written before are confirmed again."""
        there = self.notebook.entries(sheet)
        known = [entry["entry"] for entry in there]
        new = [one for one in given if one.get("entry") not in known]
        words = self.words(there[0]["machine"])
        return self._folded(sheet, self.notebook.add(sheet, checked(new, words, there)))

    def answer(self, sheet: Sheet, choice: Choice, building: Building | None = None) -> SheetAnswer:
        """What a sheet says now."""
        words, building = self.words(sheet.machine), building or Building()
        held = self.held.get(words.key)
        if held is None:
            return told_in_units(answer_to(sheet, words, None, choice, building), choice)
        # What neither changes a cause nor is told with one: a note is no reason to work it all out again.
        said = replace(sheet, id="", label="", note="", begun="", changed="", count=0, undo="")
        of = (words.key, held.draws, choice, repr(said))
        with self._answering:
            kept = self._answers.get(of)
        found = kept or told_in_units(answer_to(sheet, words, held, choice, building), choice)
        with self._answering:
            self._answers[of] = found
            self._answers.move_to_end(of)
            while len(self._answers) > ANSWERS_KEPT:
                self._answers.popitem(last=False)
        return replace(found, building=building.building, left_s=building.left_s)

    def file(self, sheet: str) -> str:
        """The findings file that says what the sheet says."""
        found = self.sheet(sheet)
        words = self._words_if_there(found.machine)
        return file_of(usable(found, words) if words else found)

    def remove(self, sheet: str) -> None:
        """Put a sheet aside."""
        self.notebook.remove(sheet)

    def bring_back(self, sheet: str) -> Sheet:
        """Take a removed sheet up again."""
        self.notebook.bring_back(sheet)
        return self.sheet(sheet)

    def words(self, machine: str) -> MachineWords:
        """What may be entered for a machine."""
        return words_for(self.shelf, machine)

    def _folded(self, sheet: str, entries: list[Entry]) -> Sheet:
        if not entries or entries[0]["kind"] != "begin":
            raise UnknownNameError(f"sheet {sheet} has no beginning that can be read")
        return fold(sheet, entries, self._words_if_there(entries[0]["machine"]))

    def _words_if_there(self, machine: str) -> MachineWords | None:
        try:
            return self.words(machine)
        except CollaudoError:
            return None  # its file is gone or broken: the sheet is shown all the same

    def _line(self, sheet: Sheet) -> SheetLine:
        return SheetLine(
            id=sheet.id,
            machine=sheet.machine,
            title=sheet.title,
            label=sheet.label,
            begun=sheet.begun,
            changed=sheet.changed,
            complaints=sheet.complaints,
            leading=self._leading_of(sheet),
            demo=sheet.demo,
        )

    def _leading_of(self, sheet: Sheet) -> str:
        words = self._words_if_there(sheet.machine)
        held: Held | None = self.held.get(words.key) if words else None
        if words is None or held is None:
            return ""
        count, draws, title = self._leading.get(sheet.id, (0, 0, ""))
        if (count, draws) != (sheet.count, held.draws):
            title = leading_cause(sheet, words, held)
            self._leading[sheet.id] = (sheet.count, held.draws, title)
        return title


def _instant(at: str) -> datetime:
    try:
        return datetime.fromisoformat(at)
    except ValueError:
        return datetime.min.replace(tzinfo=UTC)
