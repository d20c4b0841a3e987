"""Changing single values in the text of a machine file and nothing else: comments and order stay.

A value is found where the YAML parser says it stands and only these letters are replaced; a value that is not
there yet is put into its part. What comes out is read again, and must differ from what went in by exactly
what was asked for; else nothing is changed and the text has to be edited by hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import yaml

from collaudo.errors import InputError, MachineFileError, Problem
from collaudo.machine.source import read_source
from collaudo.machine.writer import dump

PARTS = "parts"
Change = float | str | None
"""A new value; None takes it out, so that it is as in the machine this one is like."""


def with_fields(text: str, changes: Mapping[str, Change]) -> str:
    """``text`` with values of ``part.field`` changed.

    `MachineFileError` where the text is no YAML or a change cannot be made without touching more of it.
    """
    for key, given in changes.items():
        part, _, field = key.partition(".")
        value = float(f"{given:.10g}") if isinstance(given, float) else given  # as it will be written
        wanted = _wanted(read_source(text, error=MachineFileError).plain(), part, field, value)
        changed = _changed(text, part, field, value)
        if changed is None or _plain(changed) != wanted or _comments(changed) != _comments(text):
            said = f"{key} cannot be changed here without rewriting more of the file"
            raise MachineFileError(Problem(said, "change it in the text"))
        text = changed
    return text


def _plain(text: str) -> Any:
    try:
        return read_source(text).plain()
    except InputError:  # whatever is wrong with it, it is not what was wanted
        return None


def _wanted(plain: Any, part: str, field: str, value: Change) -> Any:
    """The data as they should be afterwards."""
    if not isinstance(plain, dict):
        return None
    parts = plain.get(PARTS)
    parts = dict(parts) if isinstance(parts, dict) else {}
    given = parts.get(part, {})
    if not isinstance(given, dict):
        return None
    if value is None:
        given = {name: kept for name, kept in given.items() if name != field}
    else:
        given = {**given, field: value}
    if given or part in parts:
        parts[part] = given
    return {**plain, PARTS: parts} if parts or PARTS in plain else plain


def _changed(text: str, part: str, field: str, value: Change) -> str | None:
    """The text with one value changed, as far as that can be told from its shape."""
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    parts = _entry(root, PARTS)
    if parts is None:
        return (
            None if value is None else f"{text.rstrip()}\n{PARTS}:\n  {part}: {{{field}: {_word(value)}}}\n"
        )
    given = _entry(parts[1], part)
    if given is None:
        return text if value is None else _added(text, parts, part, f"{{{field}: {_word(value)}}}")
    there = _entry(given[1], field)
    if there is None:
        return text if value is None else _added(text, given, field, _word(value))
    if value is None:
        return _without(text, given[1], there)
    node = there[1]
    return text[: node.start_mark.index] + _word(value) + text[node.end_mark.index :]


def _entry(node: Any, key: str) -> tuple[Any, Any] | None:
    """Key and value of an entry of a mapping."""
    if not isinstance(node, yaml.MappingNode):
        return None
    return next(((name, value) for name, value in node.value if name.value == key), None)


def _word(value: Change) -> str:
    """A value as written in a flow mapping."""
    if isinstance(value, float | int):
        return f"{value:.10g}"
    word = dump({"k": value}).removeprefix("k: ").rstrip("\n")
    return f'"{word}"' if word[:1] != '"' and any(sign in word for sign in ",[]{}#") else word


def _added(text: str, holder: tuple[Any, Any], key: str, word: str) -> str | None:
    """The text with a new last entry in a mapping."""
    name, mapping = holder
    if not isinstance(mapping, yaml.MappingNode):
        return _begun(text, name, mapping, key, word)
    if mapping.flow_style:
        if not mapping.value and name.start_mark.column == 0:
            return (
                text[: mapping.start_mark.index].rstrip()
                + f"\n  {key}: {word}"
                + text[mapping.end_mark.index :]
            )
        close = mapping.end_mark.index - 1
        comma = ", " if mapping.value else ""
        return text[:close].rstrip() + f"{comma}{key}: {word}" + text[close:]
    last_key, last = mapping.value[-1]
    end = text.find("\n", max(last.end_mark.index - 1, last.start_mark.index))
    indent = " " * last_key.start_mark.column
    if isinstance(last, yaml.CollectionNode) and not last.flow_style:
        end = last.end_mark.index - 1
    end = len(text) if end < 0 else end
    return f"{text[:end]}\n{indent}{key}: {word}{text[end:]}"


def _begun(text: str, name: Any, scalar: Any, key: str, word: str) -> str | None:
    """The text with a first entry where nothing stands behind a key."""
    if scalar.value:
        return None
    at = text.find(":", name.end_mark.index) + 1
    return f"{text[:at]} {{{key}: {word}}}{text[at:]}"


def _without(text: str, mapping: Any, there: tuple[Any, Any]) -> str | None:
    """The text without one entry of a mapping."""
    key, value = there
    begin, end = key.start_mark.index, value.end_mark.index
    if not mapping.flow_style:
        if len(mapping.value) == 1:
            return None
        begin = text.rfind("\n", 0, begin) + 1
        stop = text.find("\n", max(begin, end - 1))
        return text[:begin] + text[len(text) if stop < 0 else stop + 1 :]
    if mapping.value[-1][0] is not key:
        return text[:begin] + text[end:].lstrip()[1:].lstrip()
    if len(mapping.value) > 1:
        begin = mapping.value[-2][1].end_mark.index
    return text[:begin] + text[end:]


def _comments(text: str) -> list[str]:
    """The comments of a text, in order."""
    ends = [
        (token.start_mark.index, token.end_mark.index) for token in yaml.scan(text, Loader=yaml.SafeLoader)
    ]
    found, before = [], 0
    for begin, end in [*ends, (len(text), len(text))]:
        between = text[before:begin]
        found += [line.partition("#")[2].strip() for line in between.split("\n") if "#" in line]
        before = max(before, end)
    return found
