"""Which parameters were chosen to fit the trade's ranges, their value and their origin."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources

from collaudo.errors import CatalogueError
from collaudo.machine.source import Problems, read_source, take_list, take_mapping, take_text
from collaudo.parts.part import declared_fields, kind_named


@dataclass(frozen=True)
class Tuned:
    """One tuned field of a kind of part (``kind.field``), its default and why it has it."""

    field: str
    value: float
    moved_for: str
    origin: str


def tuned_parameters() -> list[Tuned]:
    """Every tuned parameter; values are the defaults that parts declare."""
    path = resources.files("collaudo.library") / "tuned.yaml"
    root = read_source(path.read_text(encoding="utf-8"), name="tuned.yaml", error=CatalogueError)
    problems = Problems()
    found = []
    top = take_mapping(root, "the file", problems, required=("tuned",))
    for entry in take_list(top["tuned"], "tuned", problems):
        given = take_mapping(entry, "an entry", problems, required=("field", "moved_for", "origin"))
        words = {key: take_text(node, key, problems) or "" for key, node in given.items()}
        kind, _, name = words["field"].partition(".")
        value = declared_fields(kind_named(kind))[name]["default"]
        found.append(Tuned(words["field"], float(value), words["moved_for"], words["origin"]))
    problems.raise_if_any(CatalogueError)
    return found
