"""A machine as its parts describe it: vessels, openings, devices, contacts, loads."""

from __future__ import annotations

from collaudo.machine.model import Machine
from collaudo.machine.site import home_site
from collaudo.parts.circuit import Circuit, Site
from collaudo.parts.part import Part


def in_order(machine: Machine) -> list[Part]:
    """The parts in the order they describe themselves: the mains first, for others reckon from its volts."""
    return sorted(machine.parts.values(), key=lambda part: part.kind != "mains")


def described(machine: Machine, site: Site | None = None) -> Circuit:
    """What all parts of a machine say at ``site`` (None: at home)."""
    circuit = Circuit(site or home_site(machine))
    for part in in_order(machine):
        part.describe(circuit)
    return circuit
