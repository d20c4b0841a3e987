"""Which part of a machine plays which role: checks and causes speak of roles, machines of names.

A role is a kind of part, where need be of a certain field (a tap that passes steam), one that names the part
of another role (the element in the boiler) or is named by it (the relay a controller drives), joined by a
line to a part of another role (the gauge on the boiler) or the one besides a part of another role (the second
group). A machine that has no such part has no such role, and what needs the role does not apply to it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from collaudo.checks.files import library_file
from collaudo.errors import CatalogueError
from collaudo.machine.model import Machine
from collaudo.machine.source import Problems, read_source, take_mapping, take_text
from collaudo.parts.part import Part, declared_fields

_WORD = re.compile(r"(?<![\w.])[a-z][a-z0-9_]*")


@dataclass(frozen=True)
class Role:
    """What a part must be to play a role."""

    kinds: tuple[str, ...]
    fields: Mapping[str, str] = field(default_factory=dict)
    joined_to: tuple[str, ...] = ()
    """Roles one of which is at the other end of one of its lines; empty: any."""
    besides: str = ""
    """Role whose part it is not; empty: none."""
    named_by: str = ""
    """Field of another role's part that names it, ``brew_controller.drives``; empty: none need."""


@cache
def all_roles() -> dict[str, Role]:
    """The roles of ``library/roles.yaml`` by name."""
    root = read_source(library_file("roles.yaml").read_bytes(), name="roles.yaml", error=CatalogueError)
    problems = Problems()
    roles: dict[str, Role] = {}
    for name, node in take_mapping(root, "the roles", problems).items():
        given = take_mapping(node, f"role {name}", problems, required=("kind",))
        words = {key: take_text(child, f"{name}.{key}", problems) or "" for key, child in given.items()}
        kinds = tuple(words.pop("kind", "").split(" or "))
        joined_to = tuple(filter(None, words.pop("joined_to", "").split(" or ")))
        besides, named_by = words.pop("besides", ""), words.pop("named_by", "")
        for other in (*joined_to, *filter(None, [besides, named_by.partition(".")[0]])):
            if other not in roles:
                problems.add(f"role {name} speaks of the unknown role {other!r}", node, "name one above it")
        roles[name] = Role(kinds, words, joined_to, besides, named_by)
    problems.raise_if_any(CatalogueError)
    return roles


def bind_roles(machine: Machine) -> dict[str, str]:
    """Name of the part that plays each role of ``machine``; where several could, the first."""
    neighbours: dict[str, set[str]] = {}
    for line in machine.lines:
        a, b = line.from_port.partition(".")[0], line.to_port.partition(".")[0]
        neighbours.setdefault(a, set()).add(b)
        neighbours.setdefault(b, set()).add(a)
    bound: dict[str, str] = {}
    for role_name, role in all_roles().items():
        for part in machine.parts.values():
            if _is_named(part, role, bound, machine) and _plays(
                part, role, bound, neighbours.get(part.name, set())
            ):
                bound[role_name] = part.name
                break
    return bound


def _is_named(part: Part, role: Role, bound: Mapping[str, str], machine: Machine) -> bool:
    if not role.named_by:
        return True
    other, _, key = role.named_by.partition(".")
    return other in bound and getattr(machine.part(bound[other]), key, None) == part.name


def _plays(part: Part, role: Role, bound: Mapping[str, str], neighbours: set[str]) -> bool:
    if part.kind not in role.kinds or (role.besides and part.name == bound.get(role.besides)):
        return False
    known = declared_fields(type(part))
    for key, word in role.fields.items():
        wanted: list[str | None] = list(word.split(" or "))
        if "names" in known.get(key, {}):
            # A field that names a part is compared with the part that plays the role.
            wanted = [bound.get(other) for other in word.split(" or ")]
        value = getattr(part, key, None)
        if value is None or (f"{value:g}" if isinstance(value, int | float) else value) not in wanted:
            return False
    return not role.joined_to or any(bound.get(other) in neighbours for other in role.joined_to)


def roles_in(place: str) -> list[str]:
    """Roles named in a place such as ``exchanger.hot to group.hot.leg1``."""
    return [word for word in _WORD.findall(place) if word in all_roles()]


def place_of(place: str, bound: Mapping[str, str]) -> str:
    """The place with the machine's own names put in for roles."""
    return _WORD.sub(lambda found: bound.get(found.group(), found.group()), place)
