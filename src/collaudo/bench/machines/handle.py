"""A machine in hand: its parts, its values with their units, and the same machine with other values."""

from __future__ import annotations

import os
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from collaudo.errors import InputError, Problem, QuantityError, unknown_name
from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine, read_machine, whole_machine
from collaudo.machine.model import LineBetween
from collaudo.machine.model import Machine as Model
from collaudo.machine.writer import dump
from collaudo.parts.part import declared_fields
from collaudo.quantities.units import from_si, parse_quantity, split_suffix, unit_of
from collaudo.twin.operations import inputs_of


@dataclass(frozen=True)
class PartInfo:
    """One part: what it is, what it does and how it fails."""

    name: str
    kind: str
    does: str
    fails: str
    ports: tuple[str, ...]
    terminals: tuple[str, ...]


@dataclass(frozen=True)
class Value:
    """One declared value: a number in ``unit`` from ``low`` to ``high``, or a word, of ``words`` if there are
    any."""

    key: str
    value: float | str
    unit: str
    """Suffix of the unit (``bar``, ``ml_per_min``); empty for words and for numbers without."""
    meaning: str
    low: float | None = None
    high: float | None = None
    words: tuple[str, ...] = ()

    def __str__(self) -> str:
        if isinstance(self.value, str):
            return self.value
        return f"{self.value:g} {unit_of(self.unit).text if self.unit else ''}".rstrip()


@dataclass(frozen=True)
class SettingInfo:
    """What a technician sets: now at ``value``, from ``low`` to ``high``, all in ``unit``."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    sets: str
    """The value it moves, ``part.field``."""


@dataclass(frozen=True)
class Machine:
    """A machine of the library or of a machine file, as it is there or with some values changed."""

    name: str
    """The library's id, or the file."""
    model: Model = field(repr=False)
    changes: Mapping[str, float | str] = field(default_factory=dict)
    """Values changed since, by ``part.field``, each in the unit of its key."""

    @classmethod
    def named(cls, name_or_path: str | os.PathLike[str]) -> Machine:
        """The machine of the library called so, or of the file; `InputError` otherwise."""
        name = os.fspath(name_or_path)
        return cls(name, find_machine(name))

    @property
    def id(self) -> str:
        """What the machine file calls it."""
        return self.model.id

    @property
    def title(self) -> str:
        """How it is built, in a few words."""
        return self.model.title

    @property
    def parts(self) -> dict[str, PartInfo]:
        """Its parts by name, in the order of the machine file."""
        return {
            name: PartInfo(name, part.kind, part.text, part.fails, part.ports, part.terminals)
            for name, part in self.model.parts.items()
        }

    @property
    def lines(self) -> tuple[LineBetween, ...]:
        """Hoses and pipes between ports, with bore and length [mm]."""
        return self.model.lines

    @property
    def wires(self) -> tuple[tuple[str, str], ...]:
        """Pairs of terminals joined by a wire."""
        return self.model.wires

    @property
    def inputs(self) -> list[str]:
        """What a hand can move: switches, keys, levers, taps."""
        return inputs_of(self.model)

    @property
    def settings(self) -> dict[str, SettingInfo]:
        """What a technician sets, by name."""
        found = {}
        for name, setting in self.model.settings.items():
            value, unit = float(self.model.value(setting.sets)), split_suffix(setting.sets)[1]
            found[name] = SettingInfo(name, value, unit, setting.low, setting.high, setting.sets)
        return found

    @property
    def values(self) -> dict[str, Value]:
        """Every declared value by ``part.field``, with unit, range and meaning."""
        return {
            f"{name}.{key}": self.value(f"{name}.{key}")
            for name, part in self.model.parts.items()
            for key in declared_fields(type(part))
        }

    def value(self, key: str) -> Value:
        """One declared value, ``machine.value("pump.shutoff_bar")``; `UnknownNameError` otherwise."""
        now = self.model.value(key)
        name, _, field_name = key.partition(".")
        declared = declared_fields(type(self.model.part(name)))[field_name]
        if "low" not in declared:
            return Value(key, now, "", declared["text"], words=tuple(declared.get("known", ())))
        return Value(key, now, unit_in(field_name), declared["text"], declared["low"], declared["high"])

    def with_values(self, values: Mapping[str, float | str]) -> Machine:
        """The same machine with other values, by ``part.field`` or by the name of a setting.

        A number is in the unit of the field (``{"relief_valve.set_bar": 9.0}``); a text brings its own
        (``{"brew_pressure": "130 psi"}``) or is one of the field's words. The changed machine is looked at as
        a machine file is: `MachineFileError` lists everything that cannot be, such as a working pressure
        too near to the safety valve.
        """
        changes = dict(self.changes)
        for key, value in values.items():
            setting = self.settings.get(key)
            target = setting.sets if setting else key
            known = self._value_or_setting(key, target)
            changes[target] = _understood(key, value, known)
            if setting and not setting.low <= float(changes[target]) <= setting.high:
                message = f"setting {key} is {float(changes[target]):g} {setting.unit}"
                raise InputError(Problem(message, f"it can be {setting.low:g} to {setting.high:g}"))
        changed = replace(self, changes=changes)
        text, folder = changed._overlay(Path.cwd()), Path.cwd()
        return replace(changed, model=read_machine(text, name=f"{self.id}, changed", folder=folder))

    def setting_texts(self, settings: Mapping[str, float | str]) -> dict[str, str]:
        """Settings as a findings file writes them; a number gets the setting's own unit."""
        known = self.settings
        for name in settings:
            if name not in known:
                raise unknown_name("setting", name[:60], known)
        return {
            name: value if isinstance(value, str) else f"{value:g} {known[name].unit}"
            for name, value in settings.items()
        }

    def _value_or_setting(self, key: str, target: str) -> Value:
        if "." not in target:
            raise unknown_name("setting or value", key[:60], [*self.settings, *self.values])
        return self.value(target)

    @property
    def text(self) -> str:
        """The whole machine file, with the changes."""
        with self.as_file() as name:
            return dump(whole_machine(name))

    def save(self, file: str | os.PathLike[str], *, overwrite: bool = False) -> None:
        """Write a machine file that is like this one and gives what was changed.

        The ending is ``.yaml``; `InputError` where a file is there already, unless ``overwrite``.
        """
        path = Path(file)
        refuse_output(path, overwrite=overwrite)
        path.write_text(self._overlay(path.parent), encoding="utf-8", newline="\n")

    @contextmanager
    def as_file(self) -> Iterator[str]:
        """A name under which all commands find it: its own, or for a while a file with the whole machine."""
        if not self.changes:
            yield self.name
            return
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{self.id}.yaml"
            path.write_text(self._overlay(path.parent), encoding="utf-8")
            whole = dump(whole_machine(str(path)))
            path.write_text(whole, encoding="utf-8")
            yield str(path)

    def _overlay(self, folder: Path) -> str:
        """A machine file in ``folder`` that says what it is like and what differs."""
        parts: dict[str, dict[str, float | str]] = defaultdict(dict)
        for key, value in self.changes.items():
            part, _, field_name = key.partition(".")
            parts[part][field_name] = value
        like = self.name
        if like not in library_ids():
            like = Path(os.path.relpath(Path(like).resolve(), folder.resolve())).as_posix()
        told: dict[str, Any] = {"machine": self.id, "title": self.title, "like": like, "parts": dict(parts)}
        return dump(told)


def refuse_output(path: Path, *, overwrite: bool) -> None:
    """`InputError` where a machine file cannot be written."""
    if path.suffix not in (".yaml", ".yml"):
        raise InputError(Problem("a machine file ends in .yaml", f"name it {path.name}.yaml", str(path)))
    if path.is_dir():
        raise InputError(Problem("this is a folder", "name a file in it", str(path)))
    if path.exists() and not overwrite:
        raise InputError(Problem("this file is there already", "name another, or overwrite it", str(path)))
    if not path.parent.is_dir():
        raise InputError(Problem(f"there is no folder {str(path.parent)!r}", "make it first", str(path)))


def unit_in(field_name: str) -> str:
    """Suffix of the unit in a field's name; empty where it names none."""
    try:
        return split_suffix(field_name)[1]
    except QuantityError:
        return ""


def _understood(key: str, value: float | str, known: Value) -> float | str:
    """A value in the unit of its field, or a word; what it can be is for the machine file to say."""
    if isinstance(known.value, str) and known.low is None:
        if not isinstance(value, str):
            raise InputError(Problem(f"{key} is {value!r}, not a word", ", ".join(known.words) or "a text"))
        return value
    if not isinstance(value, str):
        if isinstance(value, bool):
            raise InputError(Problem(f"{key} is {value}, not a number", f"give it in {known.unit}"))
        return float(value)
    try:
        return from_si(parse_quantity(value, unit_of(known.unit).dimension), known.unit)
    except QuantityError as fault:
        message, _, remedy = str(fault).partition(" -- ")
        raise InputError(Problem(f"{key}: {message}", remedy)) from None
