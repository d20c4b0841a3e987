"""Writing plain data as YAML text that people can read and ``read_source`` reads back unchanged."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn

from collaudo.errors import InputError, Problem
from collaudo.machine.source import MAX_DEPTH, MAX_DIGITS, plain_scalar, printable, read_source

_STEP = "  "
_SAFE_FIRST_SIGNS = "_(/°"


def dump(plain_data: Any) -> str:
    """YAML text of dictionaries (keys are texts), lists and scalars, in block style and given order.

    Texts get quotes only where they would be read as something else, several lines become a block.
    Equal data give equal text. ``InputError`` for what ``read_source`` could not read back: other types,
    keys that are no texts, numbers that are not finite, depth, size or number of values over its limits.
    """
    text = "\n".join(_lines(plain_data, 1)) + "\n"
    read_source(text, name="text to be written")
    return text


def _lines(value: Any, depth: int) -> Iterator[str]:
    """Lines of ``value`` as it stands on its own, not indented."""
    if depth > MAX_DEPTH + 1:
        _refuse(f"data nested deeper than {MAX_DEPTH}", "make them flatter")
    if isinstance(value, Mapping) and value:
        for key, inner in value.items():
            yield from _entry(f"{_key(key)}:", inner, depth)
    elif isinstance(value, list | tuple) and value:
        for inner in value:
            first, *rest = _lines(inner, depth + 1)
            yield f"- {first}"
            yield from (f"{_STEP}{line}" if line else "" for line in rest)
    else:
        yield from _scalar_lines(value, block=depth > 1)


def _entry(head: str, value: Any, depth: int) -> Iterator[str]:
    lines = list(_lines(value, depth + 1))
    if isinstance(value, Mapping | list | tuple) and value:
        yield head
    else:
        yield f"{head} {lines.pop(0)}"
    yield from (f"{_STEP}{line}" if line else "" for line in lines)


def _scalar_lines(value: Any, *, block: bool) -> list[str]:
    if isinstance(value, str) and block and _fits_block(value):
        return _block(value)
    return [_scalar(value)]


def _scalar(value: Any) -> str:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Mapping | list | tuple):
        return "{}" if isinstance(value, Mapping) else "[]"
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        if abs(value) >= 10**MAX_DIGITS:
            _refuse(f"whole number with more than {MAX_DIGITS} digits", "give it as a text")
        return int.__repr__(value)
    if isinstance(value, float):
        if not math.isfinite(value):
            _refuse(f"{value} is not a finite number", "leave the value out")
        return float.__repr__(value)
    return _refuse(
        f"a {type(value).__name__} has no YAML form", "give dictionaries, lists, texts and numbers"
    )


def _key(key: Any) -> str:
    if not isinstance(key, str):
        _refuse(f"key {key!r} is not a text", "make it a text")
    return _text(key)


def _text(text: str) -> str:
    if not printable(text):
        _refuse(f"text with a character that is not printable: {text[:60]!r}", "leave it out")
    if _is_plain(text):
        return str.__str__(text)
    quoted = json.dumps(text, ensure_ascii=False)
    return "".join(sign if sign.isprintable() else _escaped(sign) for sign in quoted)


def _escaped(sign: str) -> str:
    return f"\\u{ord(sign):04x}" if ord(sign) <= 0xFFFF else f"\\U{ord(sign):08x}"


def _is_plain(text: str) -> bool:
    """Whether a text without quotes is read as this same text."""
    if not text or not text.isprintable() or text != text.strip() or text.endswith(":"):
        return False
    if not (text[0].isalnum() or text[0] in _SAFE_FIRST_SIGNS) or ": " in text or " #" in text:
        return False
    try:
        return isinstance(plain_scalar(text), str)
    except ValueError:
        return False


def _fits_block(text: str) -> bool:
    lines = text.removesuffix("\n").split("\n")
    return (
        "\n" in text
        and bool(lines[0] and lines[-1])
        and not lines[0].startswith(" ")
        and all(line.isprintable() and line == line.rstrip() for line in lines)
    )


def _block(text: str) -> list[str]:
    return ["|" if text.endswith("\n") else "|-", *text.removesuffix("\n").split("\n")]


def _refuse(message: str, remedy: str) -> NoReturn:
    raise InputError(Problem(message, remedy))
