"""The states of a machine by name, and what every gauge, thermometer and flow shows in each of them."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from collaudo.checks.files import library_file
from collaudo.checks.roles import bind_roles
from collaudo.compiled import cache_folder
from collaudo.errors import CatalogueError, unknown_name
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.machine.site import site_from
from collaudo.machine.source import (
    Node,
    Problems,
    read_source,
    take_list,
    take_mapping,
    take_text,
)
from collaudo.parts.circuit import Site
from collaudo.twin.operations import Operation, inputs_of, perform, read_operations

if TYPE_CHECKING:
    from collaudo.twin.snapshot import Snapshot

_CODE = ("fluid", "laws", "parts", "machine", "twin")
_SNAPSHOT_ENDING = ".json"


@dataclass(frozen=True)
class StateSummary:
    """A state a machine can be in."""

    state: str
    title: str
    text: str


@dataclass(frozen=True)
class _Way:
    needs: tuple[str, ...]
    after: str
    operations: Node


@dataclass(frozen=True)
class _State:
    title: str
    text: str
    ways: tuple[_Way, ...]


@cache
def _all_states() -> dict[str, _State]:
    root = read_source(library_file("states.yaml").read_bytes(), name="states.yaml", error=CatalogueError)
    problems = Problems()
    states: dict[str, _State] = {}
    for name, node in take_mapping(root, "the states", problems).items():
        given = take_mapping(node, f"state {name}", problems, required=("title", "text", "ways"))
        ways = tuple(
            _read_way(entry, name, states, problems) for entry in take_list(given["ways"], name, problems)
        )
        title, text = (take_text(given[key], f"{name}.{key}", problems) or "" for key in ("title", "text"))
        states[name] = _State(title, text, ways)
    problems.raise_if_any(CatalogueError)
    return states


def _read_way(node: Node, state: str, before: Mapping[str, _State], problems: Problems) -> _Way:
    given = take_mapping(
        node, f"a way of {state}", problems, allowed=("after",), required=("needs", "operations")
    )
    needs = tuple(
        take_text(entry, f"{state}.needs", problems) or ""
        for entry in take_list(given["needs"], f"{state}.needs", problems)
    )
    after = take_text(given["after"], f"{state}.after", problems, known=before) if "after" in given else ""
    return _Way(needs, after or "", given["operations"])


def states_of(machine: str | Machine) -> list[StateSummary]:
    """The states ``machine`` (an id of the library, a file or a machine) can be in, in the order one meets
    them."""
    found = find_machine(machine) if isinstance(machine, str) else machine
    return [
        StateSummary(name, state.title, state.text)
        for name, state in _all_states().items()
        if _way_of(name, found) is not None
    ]


def _way_of(state: str, machine: Machine) -> _Way | None:
    """The first way into a state that the machine has what it needs for."""
    roles, has = bind_roles(machine), Counter(part.kind for part in machine.parts.values())
    has.update(f"input {name}" for name in inputs_of(machine))
    for way in _all_states()[state].ways:
        wanted = Counter(way.needs)
        enough = all(has[word] >= n or (n == 1 and word in roles) for word, n in wanted.items())
        if enough and (not way.after or _way_of(way.after, machine) is not None):
            return way
    return None


def operations_into(state: str, machine: Machine) -> tuple[Operation, ...]:
    """What is done to the cold machine to bring it into a state; `UnknownNameError` if it has no such
    state."""
    way = _way_of(state, machine) if state in _all_states() else None
    if way is None:
        raise unknown_name("state", state[:60], [summary.state for summary in states_of(machine)])
    problems = Problems()
    before = operations_into(way.after, machine) if way.after else ()
    operations = read_operations(way.operations, machine, problems, bind_roles(machine))
    problems.raise_if_any(CatalogueError)
    return before + operations


def snapshot_of(machine: str | Machine, state: str, site: Site | Mapping[str, str] | None = None) -> Snapshot:
    """``machine`` in a state by name, at a site (as options give it, or where such machines stand).

    Kept in the cache: asked for again, the answer is there at once. Raises `InputError` for what cannot be
    used, `RunError` where the twin cannot go on.
    """
    from collaudo.twin.snapshot import snapshot

    built = find_machine(machine) if isinstance(machine, str) else machine
    place = site if isinstance(site, Site) else site_from(site or {}, built)
    operations = operations_into(state, built)
    file = _file_of(built, state, place, operations)
    if (kept := _read(file)) is not None:
        return kept
    from collaudo.twin.run import Run

    run = Run.of(built, place)
    perform(run, operations)
    found = snapshot(run, state, built)
    _write(file, found)
    return found


def snapshot_is_kept(machine: str | Machine, state: str) -> bool:
    """Whether the answer of `snapshot_of` is there at once, without running the twin."""
    built = find_machine(machine) if isinstance(machine, str) else machine
    return _file_of(built, state, site_from({}, built), operations_into(state, built)).is_file()


# --- what is kept ---------------------------------------------------------------------------------------


@cache
def _code_key() -> str:
    digest = hashlib.sha256()
    package = Path(str(resources.files("collaudo")))
    for folder in _CODE:
        for file in sorted((package / folder).rglob("*.py")):
            digest.update(file.relative_to(package).as_posix().encode())
            digest.update(file.read_bytes())
    return digest.hexdigest()


def _file_of(machine: Machine, state: str, site: Site, operations: Sequence[Operation]) -> Path:
    what = (machine.id, machine.title, machine.parts, machine.lines, machine.wires, site, operations)
    digest = hashlib.sha256(f"{_code_key()}{what!r}".encode()).hexdigest()[:24]
    return cache_folder() / "snapshots" / f"{machine.id}-{state}-{digest}{_SNAPSHOT_ENDING}"


def _read(file: Path) -> Snapshot | None:
    """A kept snapshot; a file that cannot be read counts as none."""
    from collaudo.twin.snapshot import Snapshot

    with suppress(OSError, ValueError, TypeError, KeyError, AttributeError):
        return Snapshot.from_json(json.loads(file.read_text(encoding="utf-8")))
    return None


def _write(file: Path, found: Snapshot) -> None:
    """Keep a snapshot; a cache that cannot be written is no reason to fail."""
    with suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(found.as_json(), out, allow_nan=False)
        Path(name).replace(file)
