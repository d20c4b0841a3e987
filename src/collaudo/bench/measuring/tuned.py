"""Which parameters were chosen to fit the trade's ranges, their value and their origin."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources

from collaudo.errors import CatalogueError
from collaudo.machine.load import find_machine
from collaudo.machine.source import Problems, read_source, take_list, take_mapping, take_text
from collaudo.parts.part import declared_fields, kind_named


@dataclass(frozen=True)
class Tuned:
    """One tuned field of a kind of part (``kind.field``) with its default, or of one machine's part
    (``part.field``) with its value there, and why it has it."""

    field: str
    value: float
    moved_for: str
    origin: str
    machine: str = ""
    """Machine of the library whose file gives the value; empty: it is the default of a kind."""


def tuned_parameters() -> list[Tuned]:
    """Every tuned parameter; values are the defaults that parts declare, or those of a machine's file."""
    path = resources.files("collaudo.library") / "tuned.yaml"
    root = read_source(path.read_text(encoding="utf-8"), name="tuned.yaml", error=CatalogueError)
    problems = Problems()
    found = []
    top = take_mapping(root, "the file", problems, required=("tuned",))
    for entry in take_list(top["tuned"], "tuned", problems):
        given = take_mapping(
            entry, "an entry", problems, allowed=("machine",), required=("field", "moved_for", "origin")
        )
        words = {key: take_text(node, key, problems) or "" for key, node in given.items()}
        machine = words.get("machine", "")
        value = _value_in(machine, words["field"]) if machine else _default_of(words["field"])
        found.append(Tuned(words["field"], value, words["moved_for"], words["origin"], machine))
    problems.raise_if_any(CatalogueError)
    return found


def _default_of(field: str) -> float:
    kind, _, name = field.partition(".")
    return float(declared_fields(kind_named(kind))[name]["default"])


def _value_in(machine: str, field: str) -> float:
    return float(find_machine(machine).value(field))
