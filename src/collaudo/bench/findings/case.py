"""A findings sheet as a findings file, as a case for the diagnosis, and a findings file as a sheet's entries.

All three say the same: the causes of a sheet are those its file gets from the command line. A file holds no
danger (a stop word) and nothing that could not be measured.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from collaudo.bench.findings.entries import DONE_TO_PARTS
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.findings.sheet import Sheet, SheetFinding
from collaudo.bench.machines.shelf import ENDING
from collaudo.checks.files import COMPLAINT
from collaudo.diagnosis.findings_file import NEVER, Case, read_case, read_root
from collaudo.errors import FindingsFileError, InputError, Problem
from collaudo.machine.library import library_ids
from collaudo.machine.source import Node
from collaudo.machine.writer import dump
from collaudo.quantities.units import unit_of
from collaudo.records.notebook import Entry

WordsOf = Callable[[str], MachineWords]
FILE_NAME = "findings file"


def usable(sheet: Sheet, words: MachineWords) -> Sheet:
    """The sheet without what the machine, whose file may have changed since, knows no longer."""
    return replace(
        sheet,
        complaints=[word for word in sheet.complaints if word in words.complaints],
        history=[word for word in sheet.history if word in words.history],
        site={key: value for key, value in sheet.site.items() if key in words.site},
        settings={key: value for key, value in sheet.settings.items() if key in words.settings},
        known={key: value for key, value in sheet.known.items() if key in words.known},
        cleaned=[part for part in sheet.cleaned if part in words.parts],
        replaced=[part for part in sheet.replaced if part in words.parts],
        set_anew=[part for part in sheet.set_anew if part in words.parts],
        proven_good=[part for part in sheet.proven_good if part in words.parts],
        findings=[one for one in in_order(sheet.findings) if _fits(one, words)],
    )


def _fits(finding: SheetFinding, words: MachineWords) -> bool:
    about = words.readings.get(f"{finding.check}.{finding.reading}")
    if about is None or finding.check not in words.checks:
        return False
    if isinstance(finding.value, str):
        known = [one.name for one in about.outcomes] if about.outcomes else ["low", "normal", "high"]
        return finding.value in known
    return finding.value is None or (not about.outcomes and finding.unit == about.unit)


def in_order(findings: Iterable[SheetFinding]) -> list[SheetFinding]:
    """As a file has them: check by check, reading by reading, repeats as they were taken."""
    checks: dict[str, dict[str, list[SheetFinding]]] = {}
    for one in findings:
        checks.setdefault(one.check, {}).setdefault(one.reading, []).append(one)
    return [one for readings in checks.values() for several in readings.values() for one in several]


def case_of(sheet: Sheet, words: MachineWords) -> Case:
    """The case of a `usable` sheet: first its complaints, then its measured findings in order."""
    return read_case(_node(data_of(sheet)), words.place, words.vocabulary)


def _node(plain: Any) -> Node:
    if isinstance(plain, dict):
        return Node({key: _node(value) for key, value in plain.items()}, 0, FILE_NAME)
    if isinstance(plain, list):
        return Node([_node(value) for value in plain], 0, FILE_NAME)
    return Node(plain, 0, FILE_NAME)


def data_of(sheet: Sheet) -> dict[str, Any]:
    """What a findings file of the sheet holds; what could not be measured is no part of it."""
    in_library = sheet.machine in library_ids()
    found: dict[str, Any] = {"machine": sheet.machine if in_library else f"{sheet.machine}{ENDING}"}
    for key in ("site", "known", "settings"):
        found[key] = dict(getattr(sheet, key))
    found["complaint"] = list(sheet.complaints)
    found["history"] = list(sheet.history)
    found["condition"] = {"heat": sheet.condition.heat, "lid": sheet.condition.lid}
    checks: dict[str, dict[str, list[Any]]] = {}
    for one in in_order(sheet.findings):
        if one.measured:
            checks.setdefault(one.check, {}).setdefault(one.reading, []).append(_value(one))
    found["findings"] = {
        check: {word: several[0] if len(several) == 1 else several for word, several in readings.items()}
        for check, readings in checks.items()
    }
    for key in DONE_TO_PARTS:
        found[key] = list(getattr(sheet, key))
    found["note"] = sheet.note
    return {key: value for key, value in found.items() if value not in ([], {}, "")}


def _value(finding: SheetFinding) -> Any:
    value: Any = NEVER if finding.value is None else finding.value
    if finding.typed is not None:
        text = unit_of(finding.typed.unit).text
        unit = text if text.isascii() and text else finding.typed.unit
        value = f"{finding.typed.value!r} {unit}"
    return {"value": value, "doubted": True} if finding.doubted else value


def file_of(sheet: Sheet) -> str:
    """The findings file that the command line diagnoses."""
    label = "".join(sign if sign.isprintable() else " " for sign in sheet.label)
    return f"# {' '.join(['Findings', sheet.id, label]).strip()}\n{dump(data_of(sheet))}"


# --- a file as entries -------------------------------------------------------------------------------------


def entries_of(text: str, words_of: WordsOf) -> tuple[str, list[Entry]]:
    """The machine a findings file names and the entries of a sheet that says the same.

    `FindingsFileError` tells every problem with its line. A machine of one's own is named by its file's name,
    and looked for among one's own machines alone.
    """
    root, named = read_root(text, name=FILE_NAME)
    machine = named.removesuffix(ENDING)
    try:
        words = words_of(machine)
    except InputError as fault:
        node = root.value["machine"] if isinstance(root.value, dict) else root
        raise FindingsFileError(
            Problem(one.message, one.remedy, node.file, node.line) for one in fault.problems
        ) from None
    case = read_case(root, words.place, words.vocabulary)
    plain = root.plain()
    return machine, joined_doubts([_entry(*one) for one in _payloads(case, plain, words)])


def _payloads(case: Case, plain: dict[str, Any], words: MachineWords) -> list[tuple[str, dict[str, Any]]]:
    complaints = [str(one.value) for one in case.findings if one.reading == COMPLAINT]
    found: list[tuple[str, dict[str, Any]]] = []
    if complaints:
        found.append(("complaint", {"words": list(dict.fromkeys(complaints))}))
    if case.history:
        found.append(("history", {"words": list(case.history)}))
    if site := plain.get("site"):
        found.append(("site", {"values": {key: float(value) for key, value in site.items()}}))
    for kind, prefix in (("settings", "setting."), ("known", "")):
        keys = getattr(words, kind)
        values = {key: case.known[prefix + key] for key in keys if prefix + key in case.known}
        if values:
            found.append((kind, {"values": values}))
    for done in DONE_TO_PARTS:
        found += [("part", {"part": part, "done": done}) for part in getattr(case, done)]
    if plain.get("note"):
        found.append(("note", {"text": plain["note"]}))
    for one in case.findings:
        if one.reading != COMPLAINT:
            check, _, reading = one.reading.partition(".")
            payload: dict[str, Any] = {"check": check, "reading": reading, "value": one.value}
            if isinstance(one.value, float):
                payload["unit"] = words.readings[one.reading].unit
            found.append(("reading", payload))
            if one.doubted:
                found.append(("doubt", {"doubted": True}))
    # Last, for the checks that are told before it leave the machine as they say.
    found.append(("condition", {"heat": case.condition.heat, "lid": case.condition.lid}))
    return found


def _entry(kind: str, payload: dict[str, Any]) -> Entry:
    at = datetime.now(UTC).isoformat(timespec="milliseconds")
    return {"entry": str(uuid.uuid4()), "at": at, "kind": kind, **payload}


def joined_doubts(entries: Sequence[Entry]) -> list[Entry]:
    """The entries with every doubt naming the finding before it."""
    found: list[Entry] = []
    for entry in entries:
        found.append({**entry, "of": found[-1]["entry"]} if entry["kind"] == "doubt" else entry)
    return found
