"""Sessions: what a person does at the machine, read from a file and performed on a run.

A session file gives the site, the settings and a list of operations. Reading resolves every word
against the machine, so that all that is wrong is told at once, before anything runs.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from collaudo.errors import OperationsFileError, near_misses
from collaudo.machine.described import described
from collaudo.machine.model import Machine, field_problem
from collaudo.machine.site import home_site, read_site
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_number,
    take_quantity,
    take_text,
    take_whole,
)
from collaudo.parts.circuit import Site
from collaudo.parts.part import Part, declared_fields, kind_named

if TYPE_CHECKING:
    from collaudo.twin.run import Run

LONGEST_SESSION_s = 48 * 3600.0
MOST_OPERATIONS = 20_000
PULLED_s = 8.0
"""A spring lever is held so long before it is let go: the chamber fills and the coffee swells (common
practice, no source)."""
# "hold": the pump stops and the group stays shut; of machines that cannot, it is "off".
_BREWING = {"on": 1.0, "off": 0.0, "hold": 0.5}
_ON_OFF = {"on": 1.0, "off": 0.0}
_LONGEST_STRETCH_s = 600.0
"""A longer wait is run in stretches, so that progress is told and Ctrl-C is heard."""


@dataclass(frozen=True)
class Move:
    """A hand moves something (``power``, ``lever``, a tap, a selector) to a position 0..1."""

    input: str
    position: float


@dataclass(frozen=True)
class Change:
    """Fields of parts change: a screw is turned, a disc is fitted."""

    field: str
    value: float | str


@dataclass(frozen=True)
class Wait:
    """Time passes."""

    seconds_s: float


@dataclass(frozen=True)
class Repeat:
    """Operations done several times over."""

    times: int
    operations: tuple[Operation, ...]


@dataclass(frozen=True)
class Mark:
    """The moment is given a name, for formulas to refer to."""

    name: str


@dataclass(frozen=True)
class Until:
    """Time passes until a device acts (or rests again), but never longer than ``at_most_s``."""

    device: str
    acts: bool
    at_most_s: float


Operation = Move | Change | Wait | Repeat | Mark | Until


@dataclass(frozen=True)
class Session:
    """A machine as set, where it stands, and what is done to it."""

    machine: Machine
    site: Site
    operations: tuple[Operation, ...]

    @property
    def duration_s(self) -> float:
        """Time the session takes."""
        return duration_s(self.operations)


def duration_s(operations: Sequence[Operation]) -> float:
    """Longest time [s] that operations take, repeats included."""
    total = 0.0
    for operation in operations:
        if isinstance(operation, Wait):
            total += operation.seconds_s
        elif isinstance(operation, Until):
            total += operation.at_most_s
        elif isinstance(operation, Repeat):
            total += operation.times * duration_s(operation.operations)
    return total


def operation_count(operations: Sequence[Operation]) -> int:
    """Number of single operations, repeats included."""
    return sum(x.times * operation_count(x.operations) if isinstance(x, Repeat) else 1 for x in operations)


def perform(
    run: Run,
    operations: Sequence[Operation],
    progress: Callable[[float], None] | None = None,
    marks: dict[str, float] | None = None,
) -> None:
    """Do ``operations`` on ``run``; ``progress`` is told the run's time [s] as it goes on.

    Named moments are written into ``marks``.

    Raises `RunError` where the twin cannot go on.
    """
    for operation in operations:
        if isinstance(operation, Move):
            run.set_input(operation.input, operation.position)
        elif isinstance(operation, Change):
            run.change({operation.field: operation.value})
        elif isinstance(operation, Wait):
            _let_pass(run, operation.seconds_s, progress)
        elif isinstance(operation, Mark):
            if marks is not None:
                marks[operation.name] = run.time_s
        elif isinstance(operation, Until):
            _await(run, operation)
        else:
            for _ in range(operation.times):
                perform(run, operation.operations, progress, marks)


def _await(run: Run, operation: Until) -> None:
    """Look ahead for the event, then go back and on to its very moment."""
    before = run.save()
    start_s, seen = run.time_s, len(run.events)
    wanted = float(operation.acts)
    run.advance(operation.at_most_s)
    for time_s, device, state in run.events[seen:]:
        if device == operation.device and state == wanted:
            run.restore(before)
            run.advance(time_s - start_s)
            return


def _let_pass(run: Run, seconds_s: float, progress: Callable[[float], None] | None) -> None:
    left_s = seconds_s
    while left_s > 0.0:
        stretch_s = min(left_s, _LONGEST_STRETCH_s)
        run.advance(stretch_s)
        left_s -= stretch_s
        if progress is not None:
            progress(run.time_s)


def _groups(found: Sequence[Part]) -> str:
    return "it has one group" if len(found) == 1 else f"it has groups 1 to {len(found)}"


# --- reading --------------------------------------------------------------------------------------------


def read_session(source: Path | str, machine: Machine, *, name: str = "") -> Session:
    """Read a session for ``machine``; raises `OperationsFileError` listing every problem."""
    root = read_source(source, name=name, error=OperationsFileError)
    problems = Problems()
    top = take_mapping(root, "the session", problems, allowed=("site", "settings"), required=("operations",))
    site = home_site(machine, read_site(top["site"], problems) if "site" in top else {})
    if "settings" in top:
        machine = _with_settings(top["settings"], machine, problems)
    operations = _Reader(machine, problems).operations(top["operations"]) if "operations" in top else ()
    if "operations" in top and not problems:
        _check_limits(operations, top["operations"], problems)
    problems.raise_if_any(OperationsFileError)
    return Session(machine, site, operations)


def read_operations(
    node: Node, machine: Machine, problems: Problems, roles: Mapping[str, str] | None = None
) -> tuple[Operation, ...]:
    """Operations of a list for ``machine``; ``roles`` are further names of its parts."""
    return _Reader(machine, problems, roles).operations(node)


def _with_settings(node: Node, machine: Machine, problems: Problems) -> Machine:
    changes: dict[str, float | str] = {}
    for name, entry in take_mapping(node, "settings", problems, allowed=machine.settings).items():
        setting = machine.settings[name]
        value = take_number(entry, f"settings.{name}", problems)
        if value is None:
            continue
        if not setting.low <= value <= setting.high:
            problems.add(
                f"setting {name} is {value:g}", entry, f"it can be {setting.low:g} to {setting.high:g}"
            )
        else:
            changes[setting.sets] = value
    return machine.with_fields(changes)


def _check_limits(operations: Sequence[Operation], node: Node, problems: Problems) -> None:
    count, time_s = operation_count(operations), duration_s(operations)
    if count > MOST_OPERATIONS:
        problems.add(
            f"{count:,} operations, repeats included", node, f"at most {MOST_OPERATIONS:,} in one session"
        )
    if time_s > LONGEST_SESSION_s:
        problems.add(
            f"the session takes {time_s / 3600:.1f} h",
            node,
            f"at most {LONGEST_SESSION_s / 3600:.0f} h in one session",
        )
    if time_s == 0.0:
        problems.add("no time passes in the session", node, "add a wait, such as '- wait: 30 s'")


def inputs_of(machine: Machine) -> list[str]:
    """What a hand can move on ``machine``: switches, keys, levers, taps."""
    return list(described(machine).inputs)


class _Reader:
    """Reads operations of one machine. A class because all words share the machine and the problems."""

    def __init__(self, machine: Machine, problems: Problems, roles: Mapping[str, str] | None = None) -> None:
        self.machine = machine
        self.problems = problems
        self.roles = roles or {}
        circuit = described(machine)
        self.inputs = circuit.inputs
        self.sprung = {v.piston.input for v in circuit.vessels.values() if v.piston is not None}
        self.devices = [device.part for device in circuit.devices]
        self.words: dict[str, Callable[[Node], list[Operation]]] = {
            "power": lambda node: self._switch("power", node),
            "lever": self._lever,
            "brew": self._brew,
            "dose": self._dose,
            "steam": lambda node: self._switch("steam", node),
            "water": lambda node: self._switch("water", node),
            "open": self._open,
            "close": self._close,
            "fit": self._fit,
            "wait": self._wait,
            "set": self._set,
            "select": self._select,
            "repeat": self._repeat,
            "mark": self._mark,
            "until": self._until,
        }

    def operations(self, node: Node) -> tuple[Operation, ...]:
        """All operations of a list."""
        found: list[Operation] = []
        entries = take_list(node, "operations", self.problems)
        if node.value == []:
            self.problems.add("operations is an empty list", node, "add at least '- wait: 30 s'")
        for entry in entries:
            found += self._operation(entry)
        return tuple(found)

    def _operation(self, node: Node) -> list[Operation]:
        given = take_mapping(node, "an operation", self.problems)
        if not isinstance(node.value, dict):
            return []
        if len(given) != 1:
            self.problems.add(
                f"one operation has {len(given)} words ({', '.join(given)[:60]})",
                node,
                "begin each operation with its own '- '",
            )
            return []
        word, value = next(iter(given.items()))
        if word not in self.words:
            self.problems.add(f"unknown operation {word[:60]!r}", value, near_misses(word[:60], self.words))
            return []
        return self.words[word](value)

    def _switch(self, name: str, node: Node) -> list[Operation]:
        """A switch that is worked by this very word."""
        word = take_text(node, name, self.problems, known=_ON_OFF)
        if word is None:
            return []
        if name not in self.inputs:
            self.problems.add(
                f"{self.machine.id} has no switch worked by {name}", node, f"leave {name!r} out"
            )
            return []
        return [Move(name, _ON_OFF[word])]

    def _lever(self, node: Node) -> list[Operation]:
        positions = {"up": 1.0, "half": 0.5, "down": 0.0}
        word = take_text(node, "lever", self.problems, known=positions)
        part = self._of_group("lever", 1, node)
        return [Move(part.name, positions[word])] if word and part else []

    def _brew(self, node: Node) -> list[Operation]:
        """Whatever starts or stops a coffee here: a group's switch or key, its lever, a spring let go."""
        group, word = self._group_and_word("brew", "does", node, _BREWING)
        if word is None:
            return []
        key = next((name for name in (f"brew_{group}", "brew") if name in self.inputs), "")
        if key and (group == 1 or key != "brew"):
            return [Move(key, 1.0 if word == "on" else 0.0)]
        part = self._of_group("lever", group, node)
        if part is None:
            return []
        if part.name not in self.sprung:
            return [Move(part.name, _BREWING[word])]
        pulled: list[Operation] = [Move(part.name, 1.0), Wait(PULLED_s), Move(part.name, 0.0)]
        return pulled if word == "on" else [Move(part.name, 0.0)]

    def _dose(self, node: Node) -> list[Operation]:
        """Press the dose key of a group, or press it again."""
        group, word = self._group_and_word("dose", "does", node, _ON_OFF)
        if word is None:
            return []
        key = next((name for name in (f"dose_{group}", "dose") if name in self.inputs), "")
        if not key:
            remedy = "leave 'dose' out, or write 'brew'"
            self.problems.add(f"{self.machine.id} has no dose key of group {group}", node, remedy)
            return []
        return [Move(key, _ON_OFF[word])]

    def _group_and_word(
        self, what: str, key: str, node: Node, known: Collection[str]
    ) -> tuple[int, str | None]:
        """``on``, or ``{group: 2, does: on}``; group 1 where none is named."""
        if not isinstance(node.value, dict):
            return 1, take_text(node, what, self.problems, known=known)
        given = take_mapping(node, what, self.problems, required=("group", key))
        group = take_whole(given["group"], f"{what}.group", self.problems) if "group" in given else None
        word = take_text(given[key], f"{what}.{key}", self.problems, known=known) if key in given else None
        return (group, word) if group is not None else (1, None)

    def _select(self, node: Node) -> list[Operation]:
        positions = {"tank": 0.0, "line": 1.0}
        word = take_text(node, "select", self.problems, known=positions)
        part = self._only("inlet_selector", node)
        return [Move(part.name, positions[word])] if word and part else []

    def _fit(self, node: Node) -> list[Operation]:
        known = declared_fields(kind_named("portafilter"))["holds"]["known"]
        group, word = self._group_and_word("fit", "holds", node, known)
        part = self._of_group("portafilter", group, node)
        return [Change(f"{part.name}.holds", word)] if word and part else []

    def _of_group(self, kind: str, group: int, node: Node) -> Part | None:
        """The part of a kind that belongs to group 1, 2 …, in the order of the machine file."""
        found = [part for part in self.machine.parts.values() if part.kind == kind]
        if len(found) == 1 and group == 1:
            return found[0]
        if len(found) > 1 and 1 <= group <= len(found):
            return found[group - 1]
        word = kind.replace("_", " ")
        if not found:
            self._missing(kind, found, node)
        else:
            self.problems.add(f"{self.machine.id} has no group {group} with a {word}", node, _groups(found))
        return None

    def _only(self, kind: str, node: Node) -> Part | None:
        """The machine's one part of a kind."""
        found = [part for part in self.machine.parts.values() if part.kind == kind]
        if len(found) == 1:
            return found[0]
        self._missing(kind, found, node)
        return None

    def _missing(self, kind: str, found: Sequence[Part], node: Node) -> None:
        word = kind.replace("_", " ")
        has = f"has no {word}" if not found else f"has {len(found)} parts of kind {kind}"
        self.problems.add(f"{self.machine.id} {has}", node, f"this operation needs a machine with one {word}")

    def _open(self, node: Node) -> list[Operation]:
        if isinstance(node.value, str):
            tap, share = self._tap(node), 1.0
        else:
            given = take_mapping(node, "open", self.problems, allowed=("share",), required=("tap",))
            tap = self._tap(given["tap"]) if "tap" in given else None
            share = self._share(given["share"]) if "share" in given else 1.0
        return [Move(tap, share)] if tap else []

    def _share(self, node: Node) -> float:
        value = take_number(node, "open.share", self.problems)
        if value is not None and not 0.0 < value <= 1.0:
            self.problems.add(
                f"open.share is {value:g}", node, "it can be above 0 and up to 1; to shut it write 'close'"
            )
        return value or 0.0

    def _close(self, node: Node) -> list[Operation]:
        tap = self._tap(node)
        return [Move(tap, 0.0)] if tap else []

    def _tap(self, node: Node) -> str | None:
        taps = [part.name for part in self.machine.parts.values() if part.kind == "tap"]
        names = [*taps, *(role for role, name in self.roles.items() if name in taps)]
        word = take_text(node, "a tap", self.problems, known=names or ("(this machine has no taps)",))
        return self.roles.get(word, word) if word else None

    def _wait(self, node: Node) -> list[Operation]:
        seconds_s = take_quantity(node, "wait", "time", self.problems)
        if seconds_s is None:
            return []
        if not 0.0 < seconds_s <= LONGEST_SESSION_s:
            limit = f"it can be more than 0 s and up to {LONGEST_SESSION_s / 3600:.0f} h"
            self.problems.add(f"wait is {seconds_s:g} s", node, limit)
            return []
        return [Wait(seconds_s)]

    def _set(self, node: Node) -> list[Operation]:
        given = take_mapping(node, "set", self.problems)
        return [change for key, entry in given.items() for change in self._field(key, entry)]

    def _field(self, key: str, node: Node) -> list[Operation]:
        name, _, field = key.partition(".")
        name = self.roles.get(name, name)
        if name not in self.machine.parts:
            near = near_misses(name[:60], self.machine.parts)
            self.problems.add(f"set: no part {name[:60]!r}", node, near)
            return []
        known = declared_fields(type(self.machine.parts[name]))
        if field not in known:
            near = near_misses(field[:60], known)
            self.problems.add(f"set: {name} has no field {field[:60]!r}", node, near)
            return []
        if "low" not in known[field] and "known" not in known[field]:
            self.problems.add(f"set: {key} is how the machine is built", node, "change the machine file")
            return []
        take = take_number if "low" in known[field] else take_text
        value = take(node, f"set.{key}", self.problems)
        if value is None:
            return []
        if fault := field_problem(key, value, known[field]):
            self.problems.add(f"set: {fault}", node, str(known[field].get("text", "")))
            return []
        return [Change(f"{name}.{field}", value)]

    def _mark(self, node: Node) -> list[Operation]:
        name = take_text(node, "mark", self.problems)
        return [Mark(name)] if name else []

    def _until(self, node: Node) -> list[Operation]:
        given = take_mapping(node, "until", self.problems, required=("device", "does", "at_most"))
        if len(given) < 3:
            return []
        roles = {role: name for role, name in self.roles.items() if name in self.devices}
        device = take_text(given["device"], "until.device", self.problems, known=(*self.devices, *roles))
        does = take_text(given["does"], "until.does", self.problems, known=("act", "rest"))
        at_most = self._wait(given["at_most"])
        if device is None or does is None or not at_most:
            return []
        return [Until(roles.get(device, device), does == "act", duration_s(at_most))]

    def _repeat(self, node: Node) -> list[Operation]:
        given = take_mapping(node, "repeat", self.problems, required=("times", "operations"))
        times = take_whole(given["times"], "repeat.times", self.problems) if "times" in given else None
        inner = self.operations(given["operations"]) if "operations" in given else ()
        if times is None:
            return []
        if not 1 <= times <= MOST_OPERATIONS:
            limit = f"it can be 1 to {MOST_OPERATIONS:,}"
            self.problems.add(f"repeat.times is {times}", given["times"], limit)
            return []
        return [Repeat(times, inner)]
