"""What of a machine can be told at a glance: groups, what is heated, where water and current come from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from collaudo.machine.model import Machine
from collaudo.parts.part import Part

GROUPS = {
    "circulation_group": "circulated",
    "bolted_group": "bolted",
    "spring_piston_group": "spring",
}
"""Kinds of part that hold the portafilter, and how they are kept hot or worked."""
HEATED = {"brew_boiler": "brew", "boiler": "steam", "flow_through_heater": "block"}
"""Kinds of part in which water is heated, in the order they stand from the left."""
ELEMENTS = ("heating_element",)


@dataclass(frozen=True)
class Group:
    """One place where coffee is made."""

    name: str
    way: str
    """circulated, bolted, spring; hung: bolted to nothing."""
    worked: str
    """lever, spring lever, keys, switch."""
    over: str
    """The heated part it belongs to; empty where it stands alone."""
    own_heat: bool
    """A cartridge heats its body."""


@dataclass(frozen=True)
class Heated:
    """One vessel or block in which water is heated."""

    name: str
    way: str
    """brew (full of water), steam (partly filled), block (a coil in metal)."""
    volume_l: float
    filled_share: float
    legs: int
    """Legs of the elements in it."""
    tubes: tuple[str, ...]
    """Groups whose water runs through an exchanger tube in it."""
    loose_tubes: int
    """Exchangers that feed no circulated group."""


@dataclass(frozen=True)
class Features:
    """Everything the portrait shows."""

    groups: tuple[Group, ...]
    heated: tuple[Heated, ...]
    pumps: tuple[str, ...]
    """vibration, rotary."""
    tank: bool
    water_line: bool
    steam_taps: int
    water_taps: int
    volts_V: float
    phases: int


def features_of(machine: Machine) -> Features:
    """What is to be seen of a machine."""
    heated = [part for kind in HEATED for part in _of(machine, kind)]
    mains = next(_of(machine, "mains"), None)
    taps = [str(getattr(tap, "passes", "")) for tap in _of(machine, "tap")]
    ways = {"vibration_pump": "vibration", "vane_pump": "rotary"}
    groups = tuple(_group(machine, part) for kind in GROUPS for part in _of(machine, kind))
    return Features(
        groups=groups,
        heated=tuple(_heated(machine, part) for part in heated),
        pumps=tuple(way for kind, way in ways.items() for _ in _of(machine, kind)),
        tank=any(_of(machine, "tank")),
        water_line=any(_of(machine, "water_line")),
        steam_taps=taps.count("steam"),
        water_taps=taps.count("water"),
        volts_V=float(getattr(mains, "rated_V", 0.0)),
        phases=3 if getattr(mains, "phases", "one") == "three" else 1,
    )


def _of(machine: Machine, kind: str) -> Iterator[Part]:
    return (part for part in machine.parts.values() if part.kind == kind)


def _group(machine: Machine, part: Part) -> Group:
    way = GROUPS[part.kind]
    over = str(getattr(part, "bolted_to", ""))
    tube = _tube_of(machine, part.name)
    if tube:
        over = str(getattr(machine.parts[tube], "in_boiler", ""))
    elif way == "bolted" and not over:
        way = "hung"
    own = any(getattr(heater, "heats", "") == part.name for heater in _of(machine, "cartridge_heater"))
    return Group(part.name, way, _worked(machine, way), over if over in machine.parts else "", own)


def _worked(machine: Machine, way: str) -> str:
    if way == "spring":
        return "spring lever"
    if any(_of(machine, "dose_control")):
        return "keys"
    return "lever" if any(_of(machine, "lever")) else "switch"


def _tube_of(machine: Machine, group: str) -> str:
    """The exchanger in a group's circulation; empty where there is none."""
    for line in machine.lines:
        ends = [end.partition(".")[0] for end in (line.from_port, line.to_port)]
        if group in ends:
            other = ends[0] if ends[1] == group else ends[1]
            if other in machine.parts and machine.parts[other].kind == "exchanger":
                return other
    return ""


def _heated(machine: Machine, part: Part) -> Heated:
    inside = [tube for tube in _of(machine, "exchanger") if getattr(tube, "in_boiler", "") == part.name]
    fed = {_tube_of(machine, group.name): group.name for kind in GROUPS for group in _of(machine, kind)}
    tubes = tuple(fed[tube.name] for tube in inside if tube.name in fed)
    legs = sum(
        int(getattr(element, "legs_count", 1))
        for kind in ELEMENTS
        for element in _of(machine, kind)
        if getattr(element, "in_boiler", "") == part.name
    )
    way = HEATED[part.kind]
    filled = float(getattr(part, "filled_share", 1.0)) if way == "steam" else 1.0
    volume = float(getattr(part, "volume_l", 0.0))
    return Heated(part.name, way, volume, filled, legs, tubes, len(inside) - len(tubes))
