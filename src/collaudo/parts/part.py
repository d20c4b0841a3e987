"""What every kind of part has in common: fields with unit, range and meaning; ports; terminals."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import dataclass, field, fields
from typing import Any, ClassVar

from collaudo.errors import unknown_name
from collaudo.parts.circuit import Circuit
from collaudo.quantities.units import split_suffix, to_si


def quantity(default: float, low: float, high: float, text: str) -> Any:
    """A field with default, permitted range (in the field's own unit) and meaning."""
    return field(default=default, metadata={"low": low, "high": high, "text": text})


def choice(default: str, known: tuple[str, ...], text: str) -> Any:
    """A field that takes one of a few words."""
    return field(default=default, metadata={"known": known, "text": text})


def reference(default: str, kinds: tuple[str, ...], text: str) -> Any:
    """A field that names another part, of one of ``kinds``."""
    return field(default=default, metadata={"names": kinds, "text": text})


def port_reference(default: str, kinds: tuple[str, ...], text: str) -> Any:
    """A field that names a port, ``part.port``, of a part of one of ``kinds``."""
    return field(default=default, metadata={"names": kinds, "port": True, "text": text})


def word(default: str, text: str) -> Any:
    """A field that takes a free word."""
    return field(default=default, metadata={"text": text})


@dataclass(frozen=True)
class Part:
    """One part of a machine; kinds are its subclasses, one file each."""

    name: str

    kind: ClassVar[str] = ""
    text: ClassVar[str] = ""
    """What it does, in half a sentence for an apprentice: ``holds the boiler's pressure``."""
    customer: ClassVar[str] = ""
    """The same in a customer's words; empty: as for an apprentice."""
    fails: ClassVar[str] = ""
    """How it fails and how that shows, in half a sentence: ``wears and lets pressure creep away``."""
    symbol: ClassVar[str] = "box"
    """Graphic symbol of `collaudo.drawing` it is drawn with."""
    ports: ClassVar[tuple[str, ...]] = ()
    open_ports: ClassVar[tuple[str, ...]] = ()
    """Ports that may stay unconnected."""
    inward: ClassVar[tuple[str, ...]] = ()
    """Ports water only enters by (fitting against the arrow is refused)."""
    outward: ClassVar[tuple[str, ...]] = ()
    terminals: ClassVar[tuple[str, ...]] = ()
    open_terminals: ClassVar[tuple[str, ...]] = ()
    """Terminals that may stay unconnected."""
    relieved_by: ClassVar[str] = ""
    """Kind of part that must keep its pressure in bounds, with nothing between that can shut; empty: none."""

    def si(self, field_name: str) -> float:
        """Value of a unit-suffixed field in SI."""
        return to_si(float(getattr(self, field_name)), split_suffix(field_name)[1])

    def at(self, port: str) -> str:
        """``name.port``."""
        return f"{self.name}.{port}"

    def describe(self, circuit: Circuit) -> None:
        """Say to ``circuit`` what this part is."""
        raise NotImplementedError


def all_kinds() -> dict[str, type[Part]]:
    """Every kind of part in this folder, by its word."""
    if not _KINDS:
        package = __name__.rpartition(".")[0]
        for module in pkgutil.iter_modules(importlib.import_module(package).__path__):
            importlib.import_module(f"{package}.{module.name}")
        waiting = list(Part.__subclasses__())
        while waiting:
            kind = waiting.pop()
            waiting.extend(kind.__subclasses__())
            if kind.kind:
                _KINDS[kind.kind] = kind
    return _KINDS


_KINDS: dict[str, type[Part]] = {}


def kind_named(word: str) -> type[Part]:
    """The kind of part called ``word``; `UnknownNameError` with near misses otherwise."""
    kinds = all_kinds()
    if word not in kinds:
        raise unknown_name("kind of part", word, kinds)
    return kinds[word]


def declared_fields(kind: type[Part]) -> dict[str, dict[str, Any]]:
    """Fields a machine file may give for a kind: name to default, range or words, meaning."""
    return {f.name: {"default": f.default, **f.metadata} for f in fields(kind) if f.name != "name"}
