"""Reading YAML that people write: machines, findings, operations, catalogues.

What is read is a strict part of YAML 1.2: one document of mappings, lists and scalars. Booleans are
``true`` and ``false`` alone; ``on``, ``off``, ``yes``, ``no``, dates, ``1:30`` and ``010`` stay texts.
Everything that could surprise (anchors, tags, duplicate keys, tabs) or exhaust the machine (size,
depth, number of values) is refused with one message that says where and what would be right.
No object is ever built from what a file says; only the parser's events are used.
"""

from __future__ import annotations

import math
import re
import stat
from collections.abc import Collection, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import yaml

from collaudo.errors import InputError, Problem, QuantityError, near_misses
from collaudo.quantities.units import parse_quantity, split_suffix

MAX_BYTES = 256 * 1024
MAX_DEPTH = 20
MAX_NODES = 20_000
MAX_DIGITS = 18
"""Longer whole numbers are serial numbers written without quotes."""

Scalar = str | int | float | bool | None

_PARSER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_INT = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
_FLOAT = re.compile(r"[-+]?(?:(?:0|[1-9][0-9]*)(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_NOT_A_NUMBER = re.compile(r"[-+]?\.(?:inf|nan)", re.IGNORECASE)
# Everything YAML calls printable, and no more; surrogates can come from "\ud800" in quotes.
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")

_REMEDIES = (
    ("nesting", "write it flatter, or close the brackets"),
    ("escape", "in double quotes a backslash is written twice; in single quotes once"),
    ("quoted scalar", "close the quote that was opened here"),
    ("flow", "close the bracket opened here and put commas between its entries"),
    ("mapping values", "put a text that contains ': ' in quotes; else check the indentation"),
    ("cannot start", "put a text that begins with @, %, ` or another sign in quotes"),
    ("expected ':'", "write 'key: value'"),
    ("stream", "the file seems to be cut off"),
)
_COMMON_REMEDY = "entries of one list or mapping begin in the same column; check this line and the one before"


@dataclass(frozen=True, slots=True)
class Node:
    """One value of a file and where it stands. A value in a mapping has the line of its key."""

    value: dict[str, Node] | list[Node] | Scalar
    line: int
    file: str = ""

    def plain(self) -> Any:
        """The same value as plain dictionaries, lists and scalars."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value


class Problems(list[Problem]):
    """Everything wrong in a file, collected so that all of it is told at once."""

    def add(self, message: str, node: Node | None = None, remedy: str = "") -> None:
        """Note a problem at ``node``."""
        self.append(Problem(message, remedy, node.file if node else "", node.line if node else 0))

    def raise_if_any(self, error: type[InputError] = InputError) -> None:
        """Raise ``error`` with all problems in the order of the file, if there are any."""
        if self:
            raise error(sorted(self, key=lambda problem: (problem.file, problem.line)))


def read_source(source: Path | str | bytes, *, name: str = "", error: type[InputError] = InputError) -> Node:
    """Read a file (``Path``) or a text (``str``, ``bytes``) as one YAML document.

    ``name`` is the file named in messages (for a ``Path`` its own name when empty). Whatever is wrong,
    syntax or limits, raises ``error`` with exactly one problem.
    """
    file = name or (str(source) if isinstance(source, Path) else "")
    try:
        raw = _bytes_of(source, file) if isinstance(source, Path) else source
        text = _text_of(raw.encode("utf-8", "surrogatepass") if isinstance(raw, str) else raw, file)
        events: Any = yaml.parse(text, Loader=_PARSER)
        with closing(events):
            return _Builder(events, file, max(1, len(text.splitlines()))).document()
    except InputError as refused:
        raise error(refused.problems) from None


def plain_scalar(text: str) -> Scalar:
    """What an unquoted ``text`` stands for; ``ValueError(message, remedy)`` for a number out of bounds."""
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if _INT.fullmatch(text):
        if len(text.lstrip("+-")) > MAX_DIGITS:
            raise ValueError(f"number with more than {MAX_DIGITS} digits", "put a serial number in quotes")
        return int(text)
    if _NOT_A_NUMBER.fullmatch(text) or (_FLOAT.fullmatch(text) and not math.isfinite(float(text))):
        raise ValueError(
            f"{text[:40]} is not a finite number", "give a finite number, or leave the value out"
        )
    return float(text) if _FLOAT.fullmatch(text) else text


def printable(text: str) -> bool:
    """Whether a text holds only characters that YAML calls printable."""
    return not _UNPRINTABLE.search(text)


def _refuse(message: str, remedy: str, file: str, line: int = 0) -> NoReturn:
    raise InputError(Problem(message, remedy, file, line)) from None


def _bytes_of(path: Path, file: str) -> bytes:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            _refuse("this is a folder", "name a file in it", file)
        if not stat.S_ISREG(mode):
            _refuse("this is no ordinary file", "name a file that holds YAML text", file)
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        beside = [other.name for other in path.parent.glob("*.y*ml")]
        _refuse("no such file", near_misses(path.name, beside) if beside else "check folder and name", file)
    except PermissionError:
        _refuse("the file may not be read", "give yourself the right to read it", file)
    except (OSError, ValueError) as fault:
        _refuse(f"the file cannot be read ({fault})", "check folder and name", file)


def _text_of(raw: bytes, file: str) -> str:
    if len(raw) > MAX_BYTES:
        _refuse(
            f"larger than {MAX_BYTES // 1024} kB", "split it, and keep long logs in their own files", file
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        _refuse("not a text in UTF-8", "save it as UTF-8 text", file, line)
    if bad := _UNPRINTABLE.search(text):
        line = text.count("\n", 0, bad.start()) + 1
        _refuse(f"binary character U+{ord(bad[0]):04X}", "save it as plain text", file, line)
    if "\t" in text:
        line = text.count("\n", 0, text.index("\t")) + 1
        _refuse("tab character", "use spaces", file, line)
    return text


class _Builder:
    """Turns the parser's events into nodes and refuses what is outside the strict part of YAML."""

    def __init__(self, events: Iterator[Any], file: str, lines: int) -> None:
        self._events = events
        self._file = file
        self._lines = lines
        self._count = 0
        self._last_line = 1

    def document(self) -> Node:
        event = self._next()
        while isinstance(event, yaml.StreamStartEvent | yaml.DocumentStartEvent):
            if isinstance(event, yaml.DocumentStartEvent) and (event.version or event.tags):
                self._refuse("directive (a line that begins with %)", event, "leave it out")
            event = self._next()
        if isinstance(event, yaml.StreamEndEvent):
            _refuse("the file is empty", "write 'key: value' lines", self._file)
        root = self._node(event, depth=1, line=0)
        self._next()  # the end of the document
        if not isinstance(extra := self._next(), yaml.StreamEndEvent):
            self._refuse(
                "a second document begins",
                extra,
                "keep one document in a file, with '---' at most at its top",
            )
        if root.value is None:
            _refuse("the file is empty", "write 'key: value' lines", self._file)
        return root

    def _next(self) -> Any:
        try:
            event = next(self._events)
        except yaml.YAMLError as fault:
            self._refuse_syntax(fault)
        except (ValueError, OverflowError):
            # The parser in plain Python trips over "\UFFFFFFFF"; the compiled one reports it itself.
            remedy = "write the character itself"
            _refuse("a character escape that does not exist", remedy, self._file, self._last_line)
        self._last_line = self._line(event)
        return event

    def _node(self, event: Any, depth: int, line: int) -> Node:
        line = line or self._line(event)
        self._count += 1
        if self._count > MAX_NODES:
            self._refuse(
                f"more than {MAX_NODES} values", event, "split it, and keep long logs in their own files"
            )
        if isinstance(event, yaml.AliasEvent) or event.anchor:
            self._refuse(
                "anchor or alias (& or *)", event, "write the value out; put a text with & or * in quotes"
            )
        if event.tag:
            self._refuse("tag (!)", event, "leave it out; put a text that begins with ! in quotes")
        if isinstance(event, yaml.ScalarEvent):
            return Node(self._scalar(event), line, self._file)
        if depth > MAX_DEPTH:
            self._refuse(f"nested deeper than {MAX_DEPTH}", event, "write it flatter")
        if isinstance(event, yaml.SequenceStartEvent):
            return Node(self._list(depth), line, self._file)
        return Node(self._mapping(depth), line, self._file)

    def _list(self, depth: int) -> list[Node]:
        nodes = []
        while not isinstance(event := self._next(), yaml.SequenceEndEvent):
            nodes.append(self._node(event, depth + 1, 0))
        return nodes

    def _mapping(self, depth: int) -> dict[str, Node]:
        nodes: dict[str, Node] = {}
        while not isinstance(event := self._next(), yaml.MappingEndEvent):
            key = self._node(event, depth + 1, 0)
            if not isinstance(key.value, str):
                self._refuse("a key that is not a text", event, "put the key in quotes")
            if key.value in nodes:
                first = nodes[key.value].line
                self._refuse(
                    f"key {key.value[:60]!r} stands twice", event, f"keep one; the first is in line {first}"
                )
            nodes[key.value] = self._node(self._next(), depth + 1, key.line)
        return nodes

    def _scalar(self, event: Any) -> Scalar:
        text: str = event.value
        if not printable(text):
            self._refuse("a character escape that is not printable", event, "leave it out")
        if not event.implicit[0]:
            return text
        try:
            return plain_scalar(text)
        except ValueError as fault:
            message, remedy = fault.args
            self._refuse(message, event, remedy)

    def _line(self, event: Any) -> int:
        return min(int(event.start_mark.line) + 1, self._lines)

    def _refuse(self, message: str, event: Any, remedy: str) -> NoReturn:
        _refuse(message, remedy, self._file, self._line(event))

    def _refuse_syntax(self, fault: yaml.YAMLError) -> NoReturn:
        context, problem = getattr(fault, "context", None), getattr(fault, "problem", None)
        said = f"{context or ''} {problem or fault}"
        remedy = next((remedy for word, remedy in _REMEDIES if word in said), _COMMON_REMEDY)
        opened_here = "quoted" in said or "flow" in said
        marks = [getattr(fault, "problem_mark", None), getattr(fault, "context_mark", None)]
        mark = next((mark for mark in (reversed(marks) if opened_here else marks) if mark), None)
        line = min(mark.line + 1, self._lines) if mark else 0
        _refuse(f"not readable as YAML ({problem or 'no reason given'})", remedy, self._file, line)


def take_mapping(
    node: Node,
    what: str,
    problems: Problems,
    *,
    allowed: Collection[str] | None = None,
    required: Collection[str] = (),
) -> dict[str, Node]:
    """The mapping at ``node``; unknown and missing keys are noted, unknown ones left out."""
    if not isinstance(node.value, dict):
        problems.add(f"{what} is {_kind(node)}", node, "write a mapping, 'key: value' lines")
        return {}
    for key in required:
        if key not in node.value:
            problems.add(f"{what} has no {key!r}", node, f"add '{key}: …'")
    if allowed is None:
        return node.value
    known = {*allowed, *required}
    for key, value in node.value.items():
        if key not in known:
            problems.add(f"{what} has the unknown key {key[:60]!r}", value, near_misses(key[:60], known))
    return {key: value for key, value in node.value.items() if key in known}


def take_list(node: Node, what: str, problems: Problems) -> list[Node]:
    """The list at ``node``, empty after noting that there is none."""
    if isinstance(node.value, list):
        return node.value
    problems.add(f"{what} is {_kind(node)}", node, "write a list, lines that begin with '- '")
    return []


def take_text(node: Node, what: str, problems: Problems, *, known: Collection[str] = ()) -> str | None:
    """The text at ``node``, one of ``known`` where these are given."""
    if not isinstance(node.value, str):
        problems.add(f"{what} is {_kind(node)}", node, "write a text, in quotes where it looks like a number")
        return None
    if known and node.value not in known:
        problems.add(f"{what}: unknown {node.value[:60]!r}", node, near_misses(node.value[:60], known))
        return None
    return node.value


def take_flag(node: Node, what: str, problems: Problems) -> bool | None:
    """The truth value at ``node``."""
    if isinstance(node.value, bool):
        return node.value
    problems.add(f"{what} is {_kind(node)}", node, "write true or false")
    return None


def take_number(node: Node, what: str, problems: Problems) -> float | None:
    """The number at ``node``."""
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        return float(node.value)
    problems.add(f"{what} is {_kind(node)}", node, "write a number with a decimal point")
    return None


def take_whole(node: Node, what: str, problems: Problems) -> int | None:
    """The whole number at ``node``."""
    if isinstance(node.value, int) and not isinstance(node.value, bool):
        return node.value
    problems.add(f"{what} is {_kind(node)}", node, "write a whole number")
    return None


def take_quantity(node: Node, what: str, dimension: str, problems: Problems) -> float | None:
    """The quantity at ``node`` in SI: a number whose key ends in a unit, or a text such as ``1.1 bar``.

    ``what`` is the path to the value. Its last key decides: ``relief.set_bar: 9.5`` has the unit in the
    key, ``relief.set: 9.5 bar`` in the value.
    """
    value = node.value
    if isinstance(value, dict | list | bool) or value is None:
        problems.add(f"{what} is {_kind(node)}", node, f"write a {dimension.replace('_', ' ')} with its unit")
        return None
    try:
        return _quantity(what.rpartition(".")[2], value, dimension)
    except QuantityError as fault:
        message, _, remedy = str(fault).partition(" -- ")
        problems.add(f"{what}: {message}", node, remedy)
        return None


def _quantity(key: str, value: str | float, dimension: str) -> float:
    try:
        stem, unit = split_suffix(key)
    except QuantityError:
        stem, unit = key, ""
    if not isinstance(value, str):
        return parse_quantity(f"{value!r} {unit}", dimension)
    if unit:
        raise QuantityError(
            f"a text where the key has the unit -- write '{key}: 1.2' or '{stem}: 1.2 {unit}'"
        )
    return parse_quantity(value, dimension)


def _kind(node: Node) -> str:
    value = node.value
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "empty"
    if isinstance(value, str):
        return f"the text {value[:40]!r}"
    return str(value).lower() if isinstance(value, bool) else f"the number {value}"


def option_node(option: str, key: str, text: str) -> Node:
    """The value of ``--option key=text`` as a file would hold it; `InputError` where no file could."""
    try:
        return Node(plain_scalar(text), 0, option)
    except ValueError as fault:
        message, remedy = fault.args
        raise InputError(Problem(f"{key}: {message}", remedy, option)) from None
