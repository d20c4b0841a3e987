"""Which part of a machine plays which role: checks and causes speak of roles, machines of names.

A role is a kind of part, where need be of a certain field (a tap that passes steam) or joined by a line to a
part of another role (the gauge on the boiler). A machine that has no such part has no such role, and what
needs the role does not apply to it.
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

_WORD = re.compile(r"(?<![\w.])[a-z][a-z0-9_]*")


@dataclass(frozen=True)
class Role:
    """What a part must be to play a role."""

    kinds: tuple[str, ...]
    fields: Mapping[str, str] = field(default_factory=dict)
    joined_to: str = ""
    """Role at the other end of one of its lines; empty: any."""


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
        joined_to = words.pop("joined_to", "")
        if joined_to and joined_to not in roles:
            problems.add(
                f"role {name} is joined to the unknown role {joined_to!r}", node, "name one above it"
            )
        roles[name] = Role(kinds, words, joined_to)
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
            if part.kind not in role.kinds:
                continue
            if any(getattr(part, key, None) != word for key, word in role.fields.items()):
                continue
            if role.joined_to and bound.get(role.joined_to) not in neighbours.get(part.name, set()):
                continue
            bound[role_name] = part.name
            break
    return bound


def roles_in(place: str) -> list[str]:
    """Roles named in a place such as ``exchanger.hot to group.hot.leg1``."""
    return [word for word in _WORD.findall(place) if word in all_roles()]


def place_of(place: str, bound: Mapping[str, str]) -> str:
    """The place with the machine's own names put in for roles."""
    return _WORD.sub(lambda found: bound.get(found.group(), found.group()), place)
