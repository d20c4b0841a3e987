"""Portraits of machines: a small picture that tells the construction at a glance, and the same in words."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.drawing.portrait.features import features_of
from collaudo.drawing.portrait.front import portrait
from collaudo.drawing.portrait.words import told
from collaudo.machine.load import find_machine


@dataclass(frozen=True)
class Portrait:
    """What a machine looks like."""

    machine: str
    """Its id."""
    title: str
    has: tuple[str, ...]
    """What the picture shows, a few words each."""
    svg: str


def portrait_of(name_or_path: str) -> Portrait:
    """The portrait of a machine of the library or of a file; `InputError` for what cannot be used."""
    machine = find_machine(name_or_path)
    return Portrait(machine.id, machine.title, tuple(told(features_of(machine))), portrait(machine))
