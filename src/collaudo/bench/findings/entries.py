"""What may be entered on a findings sheet: each entry is held against the words of the machine before it is
written down."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from collaudo.bench.findings.machine_words import MachineWords, Sayable
from collaudo.bench.findings.words import stops
from collaudo.checks.check import Reading
from collaudo.diagnosis.findings_file import HEATS, LARGEST, LIDS
from collaudo.diagnosis.noise import HIGH, LOW, NORMAL
from collaudo.errors import FindingsFileError, Problem, QuantityError, near_misses
from collaudo.machine.source import printable
from collaudo.quantities.units import UNITS, from_si, to_si, unit_of
from collaudo.records.notebook import ENTRY_ID, Entry

LONGEST_LABEL = 80
LONGEST_NOTE = 3500
MOST_COMPLAINTS = 3
MOST_AT_ONCE = 200
DONE_TO_PARTS = ("cleaned", "replaced", "set_anew", "proven_good")
DONE = ("", *DONE_TO_PARTS)
RELATIVE_WORDS = (LOW, NORMAL, HIGH)

Given = Mapping[str, Any]
Payload = dict[str, Any]


class Refusal(Exception):
    """What is wrong with one entry, and what would be right."""

    def __init__(self, message: str, remedy: str = "") -> None:
        self.problem = Problem(message, remedy)
        super().__init__(message)


def checked(
    given: Sequence[Given], words: MachineWords, there: Sequence[Entry], now: datetime | None = None
) -> list[Entry]:
    """The entries as they are written down; `FindingsFileError` tells everything that is wrong with any.

    The ``file`` of a problem is the id of the entry, its ``line`` its place among those given. ``there`` is
    what the sheet holds already.
    """
    if len(given) > MOST_AT_ONCE:
        raise FindingsFileError(Problem(f"{len(given)} entries at once", f"send at most {MOST_AT_ONCE}"))
    found: list[Entry] = []
    problems: list[Problem] = []
    for place, one in enumerate(given, 1):
        try:
            found.append(_checked(one, words, [*there, *found], now or datetime.now(UTC)))
        except Refusal as fault:
            name = str(one.get("entry", ""))[:64]
            problems.append(Problem(fault.problem.message, fault.problem.remedy, name, place))
    if problems:
        raise FindingsFileError(problems)
    return found


def _checked(given: Given, words: MachineWords, there: Sequence[Entry], now: datetime) -> Entry:
    entry = entry_id(given.get("entry"))
    kind = given.get("kind")
    if not isinstance(kind, str) or kind not in _KINDS:
        raise Refusal(f"unknown kind of entry {_short(kind)}", near_misses(_short(kind), _KINDS))
    payload = _KINDS[kind](given, words, there)
    return {"entry": entry, "at": time_of(given.get("at"), now), "kind": kind, **payload}


def entry_id(given: object) -> str:
    """The id of an entry as its page made it up."""
    if isinstance(given, str) and re.fullmatch(ENTRY_ID, given, re.ASCII):
        return given
    raise Refusal(f"entry {_short(given)} is no id", "8 to 64 letters, digits and -, such as a UUID")


def time_of(given: object, now: datetime) -> str:
    """When it was entered, as the page says; now where it does not say or says what is no time."""
    if isinstance(given, str) and len(given) <= 40:
        try:
            said = datetime.fromisoformat(given)
        except ValueError:
            said = now
        # A page whose clock goes wrong must not write into the future: what was changed last comes first.
        if said.tzinfo is not None and said <= now:
            return said.astimezone(UTC).isoformat(timespec="milliseconds")
    return now.isoformat(timespec="milliseconds")


def begin_entry(machine: str, label: object, entry: object, now: datetime | None = None) -> Entry:
    """The first entry of a sheet."""
    try:
        at = (now or datetime.now(UTC)).isoformat(timespec="milliseconds")
        first = {"entry": entry_id(entry), "at": at, "kind": "begin", "machine": machine}
        return first | {"label": text_of(label or "", "label", LONGEST_LABEL)}
    except Refusal as fault:
        raise FindingsFileError(fault.problem) from None


def text_of(given: object, what: str, longest: int) -> str:
    """A text of one's own: short enough, and nothing in it that cannot be printed."""
    if not isinstance(given, str):
        raise Refusal(f"{what} is {_short(given)}", "give a text")
    if len(given) > longest:
        raise Refusal(f"{what} has {len(given)} signs", f"at most {longest}")
    if not printable(given):
        raise Refusal(f"{what} has a sign that cannot be printed", "leave it out")
    return given


# --- kind by kind ------------------------------------------------------------------------------------------


def _complaint(given: Given, words: MachineWords, _there: Sequence[Entry]) -> Payload:
    found = _words(given.get("words"), words.complaints, "complaint")
    if len(found) > MOST_COMPLAINTS:
        raise Refusal(f"{len(found)} complaints", f"at most {MOST_COMPLAINTS}")
    return {"words": found}


def _history(given: Given, words: MachineWords, _there: Sequence[Entry]) -> Payload:
    return {"words": _words(given.get("words"), words.history, "history")}


def _stop(given: Given, _words: MachineWords, _there: Sequence[Entry]) -> Payload:
    return {"word": _one_of(given.get("word"), ("", *stops()), "stop")}


def _condition(given: Given, _words: MachineWords, _there: Sequence[Entry]) -> Payload:
    found = {}
    for key, known in (("heat", HEATS), ("lid", LIDS)):
        if key in given:
            found[key] = _one_of(given[key], known, key)
    if not found:
        raise Refusal("a condition says nothing", "heat: cold, warm or hot; lid: on or off")
    return found


def _values_of(group: str) -> Callable[[Given, MachineWords, Sequence[Entry]], Payload]:
    def values(given: Given, words: MachineWords, _there: Sequence[Entry]) -> Payload:
        sayable: Mapping[str, Sayable] = getattr(words, group)
        said = given.get("values")
        if not isinstance(said, Mapping):
            raise Refusal(f"{group} has no values", "values: {key: number}")
        return {"values": {key: _value(group, key, value, sayable) for key, value in said.items()}}

    return values


def _value(group: str, key: str, value: object, sayable: Mapping[str, Sayable]) -> float | None:
    if key not in sayable:
        raise Refusal(f"unknown {group} {key[:60]!r}", near_misses(key[:60], sayable))
    if value is None:
        return None  # not known after all
    number, about = _number(value, f"{group}.{key}"), sayable[key]
    if not about.low <= number <= about.high:
        raise Refusal(f"{group}.{key} is {number:g}", f"it can be {about.low:g} to {about.high:g}")
    return number


def _reading(given: Given, words: MachineWords, _there: Sequence[Entry]) -> Payload:
    reading = _reading_of(given, words)
    check, _, word = reading.id.partition(".")
    found: Payload = {"check": check, "reading": word}
    value = given.get("value")
    if value is None or (not reading.outcomes and value in RELATIVE_WORDS):
        return found | {"value": value}
    if reading.outcomes:
        return found | {"value": _one_of(value, [one.name for one in reading.outcomes], reading.id)}
    unit = given.get("unit") or reading.unit
    in_unit(_number(value, reading.id), unit, reading.unit, reading.id)
    return found | {"value": value, "unit": unit}


def in_unit(value: float, typed: object, wanted: str, what: str) -> float:
    """A number typed in one unit, in the one its reading has."""
    if not isinstance(typed, str) or typed not in UNITS or typed not in units_for_reading(wanted):
        fitting = ", ".join(units_for_reading(wanted))
        raise Refusal(f"{what} is given in {_short(typed)}", f"one of: {fitting}")
    try:
        found = value if typed == wanted else from_si(to_si(value, typed), wanted)
        if unit_of(wanted).offset:
            to_si(found, wanted)  # refuses what is below absolute zero
    except QuantityError as fault:
        message, _, remedy = str(fault).partition(" -- ")
        raise Refusal(f"{what}: {message}", remedy) from None
    if abs(found) > LARGEST:
        raise Refusal(f"{what} is {found:g}", f"nothing on a bench is beyond {LARGEST:g}; check the unit")
    return found


def units_for_reading(unit: str) -> list[str]:
    """Units in which a reading may be typed. A reading in ``K`` is a difference, never a temperature."""
    if unit == "K":
        return ["K", "degF_difference"]
    dimension = unit_of(unit).dimension
    return [unit, *(name for name, other in UNITS.items() if other.dimension == dimension and name != unit)]


def _not_measured(given: Given, words: MachineWords, _there: Sequence[Entry]) -> Payload:
    check, _, word = _reading_of(given, words).id.partition(".")
    return {"check": check, "reading": word}


def _doubt(given: Given, words: MachineWords, there: Sequence[Entry]) -> Payload:
    if not isinstance(given.get("doubted"), bool):
        raise Refusal(f"doubted is {_short(given.get('doubted'))}", "true or false")
    return _strike(given, words, there) | {"doubted": given["doubted"]}


def _strike(given: Given, _words: MachineWords, there: Sequence[Entry]) -> Payload:
    readings = [entry["entry"] for entry in there if entry["kind"] in ("reading", "not_measured")]
    if given.get("of") not in readings:
        raise Refusal(f"{_short(given.get('of'))} is no finding of this sheet", "name the entry of a finding")
    return {"of": given["of"]}


def _part(given: Given, words: MachineWords, _there: Sequence[Entry]) -> Payload:
    part = _one_of(given.get("part"), words.parts, "part")
    return {"part": part, "done": _one_of(given.get("done"), DONE, "done")}


def _note(given: Given, _words: MachineWords, _there: Sequence[Entry]) -> Payload:
    return {"text": text_of(given.get("text"), "note", LONGEST_NOTE)}


def _label(given: Given, _words: MachineWords, _there: Sequence[Entry]) -> Payload:
    return {"text": text_of(given.get("text"), "label", LONGEST_LABEL)}


def _undo(given: Given, _words: MachineWords, there: Sequence[Entry]) -> Payload:
    if "of" not in given:
        return {}
    if given["of"] not in [entry["entry"] for entry in there]:
        raise Refusal(f"{_short(given['of'])} is no entry of this sheet", "leave 'of' out: the last one")
    return {"of": given["of"]}


_KINDS: Mapping[str, Callable[[Given, MachineWords, Sequence[Entry]], Payload]] = {
    "complaint": _complaint,
    "stop": _stop,
    "condition": _condition,
    "history": _history,
    "site": _values_of("site"),
    "settings": _values_of("settings"),
    "known": _values_of("known"),
    "reading": _reading,
    "not_measured": _not_measured,
    "doubt": _doubt,
    "strike": _strike,
    "part": _part,
    "note": _note,
    "label": _label,
    "undo": _undo,
}


def _reading_of(given: Given, words: MachineWords) -> Reading:
    check = _one_of(given.get("check"), words.checks, "check")
    own = {reading.id.partition(".")[2]: reading for reading in words.checks[check].readings}
    return own[_one_of(given.get("reading"), own, f"reading of {check}")]


def _words(given: object, known: Mapping[str, str], what: str) -> list[str]:
    if not isinstance(given, Sequence) or isinstance(given, str):
        raise Refusal(f"{what} has no words", "words: [word, …]")
    return list(dict.fromkeys(_one_of(word, known, what) for word in given[:100]))


def _one_of(given: object, known: Mapping[str, Any] | Sequence[str], what: str) -> str:
    if isinstance(given, str) and given in known:
        return given
    raise Refusal(
        f"unknown {what} {_short(given)}", near_misses(_short(given), [one for one in known if one])
    )


def _number(given: object, what: str) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not abs(given) < 1e12:
        raise Refusal(f"{what} is {_short(given)}", "give a number")
    return float(given)


def _short(given: object) -> str:
    return str(given)[:60]
