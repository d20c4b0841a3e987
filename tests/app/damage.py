"""Machine files damaged by accidents of typing, copying, cutting and storing: one for every number."""

from __future__ import annotations

import random
import re
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

from collaudo.errors import MachineFileError
from collaudo.machine.load import library_ids, library_text, read_machine

LONGEST_S = 1.0
_WORD, _NUMBER, _END = r"[\w.]+", r"\b[0-9]+(?:\.[0-9]+)?\b", r"\b[a-z_0-9]+\.[a-z_0-9]+\b"
_ODD_NUMBERS = [
    *("0", "-1", "1e308", "1e-9", "1e999", ".nan", ".inf", "99", "0.5", "3", "1_000", "0x10", "010", "1:30"),
    *("12345678901234567890", "true", "null", "''"),
]
_ODD_SCALARS = [
    *(
        "~",
        "''",
        '"\\u0000"',
        "!!python/object:os.system x",
        "&a 1",
        "*a",
        "{}",
        "[]",
        "[[[]]]",
        "? x",
        "- - -",
    ),
    *(
        "<<: {}",
        "none",
        "2026-01-01",
        "ja",
        "No",
        "@x",
        "`x`",
        "%x",
        "|",
        ">-",
        "'\"",
        "\u00fc\u4e2d\U0001f600",
        "\ud800",
    ),
    *("a" * 5000, "{" * 40, "[" * 400, "9" * 400, "kind", "like", "hx-vibration"),
]
_SIGNS = "{}[]:,-'\"#&*!|>%@\t\x00\x07\n \u00e4\u200b\ufeff0.\\"
_LINES = [
    *(
        "---",
        "...",
        "%YAML 1.2",
        "%TAG ! x",
        "like: hx-rotary",
        "like: hx-vibration",
        "like: ./x.yaml",
        "a: &b [*b]",
    ),
    *(
        "without_lines: [[tank.out, pump.in]]",
        "without_wires: 3",
        "parts: none",
        "lines: []",
        "settings: {a: {}}",
    ),
    *(
        "spreads: {pump.shutoff_bar: {share: 2}}",
        "drawing: {pump: [1, x]}",
        "  pump: none",
        "\t",
        "  x: {kind: tank}",
    ),
]


@cache
def texts() -> tuple[str, ...]:
    """Every machine of the library."""
    return tuple(library_text(name) for name in library_ids())


def damaged(number: int) -> str | bytes:
    """A file of the library after one to three accidents."""
    chance = random.Random(number)
    text = chance.choice(texts())
    for _ in range(chance.choice([1, 1, 1, 1, 2, 3])):
        text = chance.choice(ACCIDENTS)(text, chance)
    if text and chance.random() < 0.05:
        return _bytes_hit(text.encode("utf-8", "surrogatepass"), chance)
    return text


def _bytes_hit(raw: bytes, chance: random.Random) -> bytes:
    """Bytes overwritten, or another encoding."""
    if chance.random() < 0.3:
        return raw.decode("utf-8", "replace").encode(chance.choice(["utf-16", "latin-1", "utf-7"]), "replace")
    hit = bytearray(raw)
    for _ in range(chance.randint(1, 5)):
        hit[chance.randrange(len(hit))] = chance.randrange(256)
    return bytes(hit)


def _replaced(text: str, pattern: str, chance: random.Random, new: Callable[[str], str]) -> str:
    found = list(re.finditer(pattern, text))
    if not found:
        return text
    hit = chance.choice(found)
    return text[: hit.start()] + new(hit[0]) + text[hit.end() :]


def _line_dropped(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    at = chance.randrange(max(len(lines), 1))
    return "".join([*lines[:at], *lines[at + chance.choice([1, 1, 1, 3, 20]) :]])


def _line_doubled(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True) or [""]
    at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
    return "".join([*lines[:at], lines[to], *lines[at:]])


def _lines_swapped(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True) or [""]
    at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[at], lines[to] = lines[to], lines[at]
    return "".join(lines)


def _line_new(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True) or [""]
    at = chance.randrange(len(lines) + 1)
    return "".join([*lines[:at], chance.choice(_LINES) + "\n", *lines[at:]])


def _indented(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True) or [""]
    at = chance.randrange(len(lines))
    lines[at] = chance.choice([" " + lines[at], "    " + lines[at], lines[at].lstrip(), "\t" + lines[at]])
    return "".join(lines)


def _cut(text: str, chance: random.Random) -> str:
    position = chance.randrange(len(text) + 1)
    return chance.choice([text[:position], text[:position] + text[position + chance.randint(1, 40) :]])


def _sign_added(text: str, chance: random.Random) -> str:
    position = chance.randrange(len(text) + 1)
    return text[:position] + chance.choice(_SIGNS) + text[position:]


def _word_misspelt(text: str, chance: random.Random) -> str:
    def misspelt(word: str) -> str:
        at = chance.randrange(len(word))
        return chance.choice(
            [word[:at] + word[at + 1 :], word[:at] + "x" + word[at:], word.upper(), word + "s"]
        )

    return _replaced(text, _WORD, chance, misspelt)


def _word_exchanged(text: str, chance: random.Random) -> str:
    others = re.findall(_WORD, text) or [""]
    return _replaced(text, _WORD, chance, lambda _: chance.choice(others))


def _end_exchanged(text: str, chance: random.Random) -> str:
    others = re.findall(_END, text) or [""]
    return _replaced(text, _END, chance, lambda _: chance.choice(others))


def _number_odd(text: str, chance: random.Random) -> str:
    return _replaced(text, _NUMBER, chance, lambda _: chance.choice(_ODD_NUMBERS))


def _number_other(text: str, chance: random.Random) -> str:
    return _replaced(
        text, _NUMBER, chance, lambda old: f"{float(old) * chance.choice([0.1, 0.5, 1.2, 2, 10, 100]):g}"
    )


def _value_odd(text: str, chance: random.Random) -> str:
    return _replaced(text, r"(?<=: )[^,}\n]+", chance, lambda _: chance.choice(_ODD_SCALARS))


ACCIDENTS: tuple[Callable[[str, random.Random], str], ...] = (
    *(_line_dropped, _line_doubled, _lines_swapped, _line_new, _indented, _cut, _sign_added),
    *(_word_misspelt, _word_exchanged, _number_odd, _value_odd),
    *(_number_other, _number_other, _number_other, _end_exchanged, _end_exchanged, _end_exchanged),
)


@dataclass
class Outcome:
    """What became of many damaged files."""

    read: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    """First words of every problem told."""
    wrong: list[str] = field(default_factory=list)
    """Numbers of files with another exception, without message or remedy, or too slow."""
    slowest_s: float = 0.0


def outcome_of(numbers: range) -> Outcome:
    """Read every damaged file of ``numbers``."""
    found = Outcome()
    for number in numbers:
        text = damaged(number)
        begun = time.process_time()
        try:
            read_machine(text, name="mine.yaml")
            found.read += 1
        except MachineFileError as refused:
            for problem in refused.problems:
                found.refused[" ".join(problem.message.split()[-2:])] += 1
                if not (problem.message and problem.remedy and problem.file.endswith(".yaml")):
                    found.wrong.append(f"{number}: {problem!r}")
        except Exception as fault:
            found.wrong.append(f"{number}: {type(fault).__name__}: {fault}")
        taken = time.process_time() - begun
        found.slowest_s = max(found.slowest_s, taken)
        if taken > LONGEST_S:
            found.wrong.append(f"{number}: {taken:.1f} s")
    return found
