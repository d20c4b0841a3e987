"""Findings files: what a technician knows of a job and has read on the bench, written by hand.

Reading needs only the words a machine's signatures know (`Vocabulary`), so that an answer from the cache does
not wait for the twin; every problem is told at once, with line and remedy.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from collaudo.checks.files import COMPLAINT
from collaudo.diagnosis.next_check import Condition
from collaudo.diagnosis.noise import HIGH, LOW, NORMAL, Finding
from collaudo.diagnosis.signature_set import ReadingInfo, SignatureSet
from collaudo.errors import FindingsFileError, QuantityError, near_misses
from collaudo.machine.site import read_site
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_flag,
    take_list,
    take_mapping,
    take_text,
)
from collaudo.quantities.units import from_si, parse_quantity, split_suffix, unit_of

NEVER = "never"
"""Word for a reading that did not come about: the lamp never went out."""
HEATS = ("cold", "warm", "hot")
LIDS = ("on", "off")
LARGEST = 1e6

_KEYS = (
    "site", "known", "settings", "complaint", "history", "condition",
    "findings", "cleaned", "replaced", "set_anew", "proven_good", "note",
)  # fmt: skip


@dataclass(frozen=True)
class Vocabulary:
    """The words a findings file for one machine may use."""

    readings: Mapping[str, ReadingInfo]
    known_names: tuple[str, ...]
    parts: tuple[str, ...]
    history_words: tuple[str, ...]

    @classmethod
    def of(cls, signatures: SignatureSet) -> Vocabulary:
        """The words of a signature set."""
        readings = {reading.id: reading for reading in signatures.readings}
        return cls(readings, signatures.known_names, signatures.parts, signatures.history_words)

    @property
    def checks(self) -> dict[str, dict[str, ReadingInfo]]:
        """Readings by check and by their own word."""
        found: dict[str, dict[str, ReadingInfo]] = {}
        for name, reading in self.readings.items():
            check, _, word = name.partition(".")
            found.setdefault(check, {})[word] = reading
        return found


@dataclass(frozen=True)
class Case:
    """One job as a findings file gives it."""

    file: str
    machine: str
    known: Mapping[str, float]
    history: tuple[str, ...]
    condition: Condition
    findings: tuple[Finding, ...]
    cleaned: tuple[str, ...]
    replaced: tuple[str, ...]
    proven_good: tuple[str, ...]
    set_anew: tuple[str, ...] = ()


def read_root(source: Path | str, *, name: str = "") -> tuple[Node, str]:
    """The file's contents and the machine it names; the rest is read once its words are known."""
    root = read_source(source, name=name, error=FindingsFileError)
    problems = Problems()
    top = take_mapping(root, "the findings file", problems, allowed=_KEYS, required=("machine",))
    machine = take_text(top["machine"], "machine", problems) if "machine" in top else None
    problems.raise_if_any(FindingsFileError)
    return root, machine or ""


def read_case(root: Node, machine: str, words: Vocabulary) -> Case:
    """The case of a file; raises `FindingsFileError` listing every problem."""
    problems = Problems()
    top = take_mapping(root, "the findings file", problems, allowed=_KEYS, required=("machine",))
    findings = []
    if "complaint" in top:
        findings += _complaints(top["complaint"], words, problems)
    if "findings" in top:
        findings += _findings(top["findings"], words, problems)
    if "note" in top:
        take_text(top["note"], "note", problems)
    case = Case(
        file=root.file,
        machine=machine,
        known=_known(top, words, problems),
        history=_words(top, "history", words.history_words, problems),
        condition=_condition(top["condition"], problems) if "condition" in top else Condition(),
        findings=tuple(findings),
        cleaned=_words(top, "cleaned", words.parts, problems),
        replaced=_words(top, "replaced", words.parts, problems),
        proven_good=_words(top, "proven_good", words.parts, problems),
        set_anew=_words(top, "set_anew", words.parts, problems),
    )
    problems.raise_if_any(FindingsFileError)
    return case


def _words(top: Mapping[str, Node], key: str, known: tuple[str, ...], problems: Problems) -> tuple[str, ...]:
    if key not in top:
        return ()
    node = top[key]
    entries = take_list(node, key, problems) if not isinstance(node.value, str) else [node]
    found = (take_text(entry, key, problems, known=known) for entry in entries)
    return tuple(word for word in found if word)


def _known(top: Mapping[str, Node], words: Vocabulary, problems: Problems) -> dict[str, float]:
    known: dict[str, float] = {}
    if "site" in top:
        site = {f"site.{field}": value for field, value in read_site(top["site"], problems).items()}
        known |= {name: value for name, value in site.items() if name in words.known_names}
    settings = {_stem(name): name for name in words.known_names if name.startswith("setting.")}
    parts = {_stem(name): name for name in words.known_names if name.partition(".")[0] in words.parts}
    for key, names, prefix in (("settings", settings, "setting."), ("known", parts, "")):
        if key not in top:
            continue
        allowed = [name.removeprefix(prefix) for name in (*names, *names.values())]
        for given, node in take_mapping(top[key], key, problems, allowed=allowed).items():
            full = names.get(prefix + given, prefix + given)
            value = _quantity(node, f"{key}.{given}", full, problems)
            if value is not None:
                known[full] = value
    return known


def _stem(name: str) -> str:
    """``boiler.volume`` of ``boiler.volume_l``."""
    part, _, field = name.partition(".")
    return f"{part}.{split_suffix(field)[0]}"


def _quantity(node: Node, what: str, full_name: str, problems: Problems) -> float | None:
    """A value in the unit that ``full_name`` ends in: a number where the key has the unit, else a text."""
    unit = split_suffix(full_name.partition(".")[2])[1]
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        if what.endswith(f"_{unit}"):
            return _in_range(float(node.value), node, what, problems)
        problems.add(
            f"{what} is the number {node.value} without a unit", node, f"write '{node.value} {unit}'"
        )
        return None
    return _text_quantity(node, what, unit, problems)


def _text_quantity(node: Node, what: str, unit: str, problems: Problems) -> float | None:
    text = take_text(node, what, problems)
    if text is None:
        return None
    try:
        value = from_si(parse_quantity(text, unit_of(unit).dimension), unit)
    except QuantityError as fault:
        message, _, remedy = str(fault).partition(" -- ")
        problems.add(f"{what}: {message}", node, remedy)
        return None
    return _in_range(value, node, what, problems)


def _in_range(value: float, node: Node, what: str, problems: Problems) -> float | None:
    if abs(value) <= LARGEST:
        return value
    problems.add(f"{what} is {value:g}", node, f"nothing on a bench is beyond {LARGEST:g}; check the unit")
    return None


def _condition(node: Node, problems: Problems) -> Condition:
    if isinstance(node.value, str):
        heat = take_text(node, "condition", problems, known=HEATS)
        return Condition(heat or "cold")  # type: ignore[arg-type]  # one of HEATS
    given = take_mapping(node, "condition", problems, allowed=("heat", "lid"))
    heat = take_text(given["heat"], "condition.heat", problems, known=HEATS) if "heat" in given else None
    lid = take_text(given["lid"], "condition.lid", problems, known=LIDS) if "lid" in given else None
    return Condition(heat or "cold", lid or "on")  # type: ignore[arg-type]  # one of HEATS, of LIDS


def _complaints(node: Node, words: Vocabulary, problems: Problems) -> list[Finding]:
    reading = words.readings[COMPLAINT]
    entries = [node] if isinstance(node.value, str) else take_list(node, "complaint", problems)
    found = (take_text(entry, "complaint", problems, known=reading.outcomes) for entry in entries)
    return [Finding(COMPLAINT, word) for word in found if word]


def _findings(node: Node, words: Vocabulary, problems: Problems) -> list[Finding]:
    checks = words.checks
    found: list[Finding] = []
    for check, child in take_mapping(node, "findings", problems).items():
        if check not in checks:
            problems.add(f"unknown check {check[:60]!r}", child, near_misses(check[:60], checks))
            continue
        for word, entry in take_mapping(child, check, problems).items():
            if word not in checks[check]:
                near = near_misses(word[:60], checks[check])
                problems.add(f"check {check} has no reading {word[:60]!r}", entry, near)
                continue
            entries = entry.value if isinstance(entry.value, list) else [entry]
            found += [
                finding
                for one in entries
                if (finding := _finding(one, checks[check][word], problems)) is not None
            ]
    return found


def _finding(node: Node, reading: ReadingInfo, problems: Problems) -> Finding | None:
    doubted = False
    if isinstance(node.value, dict):
        given = take_mapping(node, reading.id, problems, allowed=("doubted",), required=("value",))
        doubted = (
            "doubted" in given and take_flag(given["doubted"], f"{reading.id}.doubted", problems) is True
        )
        if "value" not in given:
            return None
        node = given["value"]
    if node.value == NEVER:
        return Finding(reading.id, None, doubted)
    if reading.kind == "outcome":
        word = take_text(node, reading.id, problems, known=(*reading.outcomes, NEVER))
        return Finding(reading.id, word, doubted) if word else None
    if node.value in (LOW, NORMAL, HIGH):
        return Finding(reading.id, str(node.value), doubted)
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        text = f"write '{node.value} {unit_of(reading.unit).text}'"
        problems.add(f"{reading.id} is the number {node.value} without a unit", node, text)
        return None
    value = _text_quantity(node, reading.id, reading.unit, problems)
    return None if value is None else Finding(reading.id, value, doubted)
