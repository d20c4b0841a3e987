"""JSON Schema of machine files, made from what the kinds of part declare; editors complete and check with it.

``python -m collaudo.machine.schema`` writes it anew beside the library. It says which words and numbers may
stand where; how parts are joined is left to `collaudo.machine.validate`.
"""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

from collaudo.machine.load import LINE_NUMBERS, MACHINE_ID, PART_NAME
from collaudo.machine.overlay import NONE
from collaudo.machine.places import LIMITS
from collaudo.machine.spreads import WAYS
from collaudo.parts.part import Part, all_kinds, declared_fields

FILE_NAME = "machine.schema.json"

Schema = dict[str, Any]


def machine_schema() -> Schema:
    """The schema (JSON Schema, draft 2020-12) of a machine file."""
    kinds = dict(sorted(all_kinds().items()))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Machine",
        "description": "Parts, the lines between their ports, the wires between their terminals, settings.",
        "type": "object",
        "required": ["machine", "title"],
        "additionalProperties": False,
        "properties": {
            "machine": {"type": "string", "pattern": f"^{MACHINE_ID}$", "description": "id"},
            "title": {"type": "string", "description": "what it is, in words"},
            "like": {"type": "string", "description": "a machine of the library, or a file beside this one"},
            "parts": {"type": "object", "propertyNames": {"pattern": f"^{PART_NAME}$"}},
            "lines": {"type": "array", "items": _line(kinds)},
            "wires": {"type": "array", "items": _wire(kinds)},
            "without_lines": {"type": "array", "items": _ends_of("port", kinds)},
            "without_wires": {"type": "array", "items": _ends_of("terminal", kinds)},
            "settings": {"type": "object"},
            "spreads": {"type": "object"},
            "drawing": {"type": "object"},
        },
        "if": {"required": ["like"]},
        "then": {"properties": _what_differs(kinds)},
        "else": {
            "required": ["parts", "lines", "wires"],
            "properties": _whole(kinds) | {"without_lines": False, "without_wires": False},
        },
        "$defs": {word: _kind(kind) for word, kind in kinds.items()},
    }


def schema_text() -> str:
    """The schema as the file beside the library has it."""
    return json.dumps(machine_schema(), indent=1, ensure_ascii=False) + "\n"


def _whole(kinds: dict[str, type[Part]]) -> Schema:
    """What stands under a name in a file that gives a whole machine."""
    entries = {"parts": _part(kinds), "settings": _setting(), "spreads": _spread(), "drawing": _place()}
    return {key: {"additionalProperties": entry} for key, entry in entries.items()}


def _what_differs(kinds: dict[str, type[Part]]) -> Schema:
    """The same in a file that is ``like`` another: some of it, or the word that takes it out."""
    entries = {"parts": _part(kinds), "settings": _setting(), "spreads": _spread(), "drawing": _place()}
    for key in ("parts", "settings"):
        del entries[key]["required"]
    gone = {"const": NONE, "description": "takes it out"}
    return {key: {"additionalProperties": {"anyOf": [gone, entry]}} for key, entry in entries.items()}


def _part(kinds: dict[str, type[Part]]) -> Schema:
    cases = [
        {
            "if": {"properties": {"kind": {"const": word}}, "required": ["kind"]},
            "then": {"$ref": f"#/$defs/{word}"},
        }
        for word in kinds
    ]
    return {
        "type": "object",
        "required": ["kind"],
        "properties": {"kind": {"enum": list(kinds), "description": "what kind of part it is"}},
        "allOf": cases,
    }


def _spread() -> Schema:
    ways = {way: {"type": "number", "minimum": low, "maximum": high} for way, (low, high) in WAYS.items()}
    one = {"minProperties": 1, "maxProperties": 1}
    return {"type": "object", "properties": ways, "additionalProperties": False, **one}


def _place() -> Schema:
    number = {"type": "number", "minimum": LIMITS[0], "maximum": LIMITS[1]}
    return {"type": "array", "minItems": 2, "maxItems": 2, "items": number, "description": "column, row"}


def _kind(kind: type[Part]) -> Schema:
    declared = {name: _field(said) for name, said in declared_fields(kind).items()}
    return {
        "description": kind.text,
        "properties": {"kind": {"const": kind.kind}, **declared},
        "additionalProperties": False,
    }


def _field(declared: dict[str, Any]) -> Schema:
    common = {"default": declared["default"], "description": declared["text"]}
    if "low" in declared:
        limits = {"minimum": declared["low"], "maximum": declared["high"]}
        return {"type": "number", **limits, **common}
    if "known" in declared:
        return {"enum": list(declared["known"]), **common}
    if "names" in declared:
        what = "port, 'part.port', of a part" if "port" in declared else "name of a part"
        common["description"] += f" ({what} of kind {' or '.join(declared['names'])})"
    return {"type": "string", **common}


def _ends(owners: dict[str, tuple[str, ...]], text: str) -> Schema:
    """A text ``part.end``, with one of the ends that any kind has."""
    words = sorted({word for ends in owners.values() for word in ends})
    return {"type": "string", "pattern": f"^{PART_NAME}\\.({'|'.join(words)})$", "description": text}


def _end(what: str, kinds: dict[str, type[Part]]) -> Schema:
    owners = {word: kind.ports if what == "port" else kind.terminals for word, kind in kinds.items()}
    return _ends(owners, f"{what}, 'part.{what}'")


def _ends_of(what: str, kinds: dict[str, type[Part]]) -> Schema:
    return {"type": "array", "minItems": 2, "maxItems": 2, "items": _end(what, kinds)}


def _line(kinds: dict[str, type[Part]]) -> Schema:
    end = _end("port", kinds)
    numbers = {
        key: {"type": "number", "minimum": low, "maximum": high} for key, (low, high) in LINE_NUMBERS.items()
    }
    return {
        "type": "object",
        "required": ["from", "to", "bore_mm"],
        "properties": {"from": end, "to": end, **numbers},
        "additionalProperties": False,
    }


def _wire(kinds: dict[str, type[Part]]) -> Schema:
    return _ends_of("terminal", kinds)


def _setting() -> Schema:
    number = {"type": "number"}
    moved = {"type": "string", "description": "what it moves, 'part.field'"}
    return {
        "type": "object",
        "required": ["sets", "low", "high"],
        "properties": {"sets": moved, "low": number, "high": number},
        "additionalProperties": False,
    }


def main() -> None:
    """Write the schema beside the library."""
    with resources.as_file(resources.files("collaudo.library")) as folder:
        (Path(folder) / FILE_NAME).write_text(schema_text(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
