"""Two machines side by side: what differs in parts, values, settings, lines, wires, and what is the same."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.bench.machines.handle import Machine, PartInfo, SettingInfo, Value
from collaudo.bench.naming import part_in_words
from collaudo.machine.model import LineBetween


@dataclass(frozen=True)
class Side:
    """One of the two."""

    id: str
    title: str
    parts: tuple[PartInfo, ...]
    """Parts that only this one has, or has of another kind."""
    lines: tuple[str, ...]
    """Lines that only this one has, in words."""
    wires: tuple[str, ...]


@dataclass(frozen=True)
class TwoValues:
    """A value that both have, with what it means."""

    part: str
    meaning: str
    first: Value
    second: Value


@dataclass(frozen=True)
class TwoSettings:
    """A setting that one of them or both have."""

    name: str
    first: SettingInfo | None
    second: SettingInfo | None

    @property
    def differs(self) -> bool:
        """Whether there is anything to see."""
        return self.first != self.second


@dataclass(frozen=True)
class Comparison:
    """Everything in which two machines differ, and what they share."""

    first: Side
    second: Side
    values: tuple[TwoValues, ...]
    settings: tuple[TwoSettings, ...]
    same_parts: tuple[str, ...]
    """Parts both have with the same values, as they are called."""
    same_values: tuple[TwoValues, ...]

    @property
    def differ(self) -> bool:
        """Whether there is any difference at all."""
        sides = any(side.parts or side.lines or side.wires for side in (self.first, self.second))
        return bool(sides or self.values or any(two.differs for two in self.settings))


def compare(first: str, second: str) -> Comparison:
    """Two machines, each of the library or of a file."""
    a, b = Machine.named(first), Machine.named(second)
    both = [name for name, part in a.parts.items() if name in b.parts and b.parts[name].kind == part.kind]
    values = [_two(a, b, key) for key in a.values if key.partition(".")[0] in both and key in b.values]
    differing = tuple(two for two in values if two.first.value != two.second.value)
    touched = {two.part for two in differing}
    settings = dict.fromkeys([*a.settings, *b.settings])
    return Comparison(
        _side(a, b, both),
        _side(b, a, both),
        differing,
        tuple(TwoSettings(name, a.settings.get(name), b.settings.get(name)) for name in settings),
        tuple(part_in_words(name) for name in both if name not in touched),
        tuple(two for two in values if two.first.value == two.second.value),
    )


def _two(a: Machine, b: Machine, key: str) -> TwoValues:
    first = a.value(key)
    return TwoValues(key.partition(".")[0], first.meaning, first, b.value(key))


def _side(one: Machine, other: Machine, both: list[str]) -> Side:
    parts = tuple(part for name, part in one.parts.items() if name not in both)
    lines = {_line(line) for line in one.lines} - {_line(line) for line in other.lines}
    wires = {_wire(*wire) for wire in one.wires} - {_wire(*wire) for wire in other.wires}
    in_order = tuple(dict.fromkeys(said for line in one.lines if (said := _line(line)) in lines))
    return Side(one.id, one.title, parts, in_order, tuple(sorted(wires)))


def _line(line: LineBetween) -> str:
    return f"{line.from_port} to {line.to_port}, bore {line.bore_mm:g} mm, length {line.length_mm:g} mm"


def _wire(first: str, second: str) -> str:
    return " to ".join(sorted((first, second)))
