"""Everything a hand can do at a machine, in words of the trade, worked out from its parts.

What works a part that declares an input is found by the input's name: a part of that name (a tap, a lever),
or the switch or board that names the hand. A kind of part that is worked in a way of its own has a function
here; any other input gets plain positions, so that machines of one's own can be worked too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from collaudo.bench.naming import part_in_words
from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit
from collaudo.parts.part import Part

SHORT_CIRCUIT = "short circuit"
LATCHES = {
    "latch": ("press its button", "It is never bridged. Press it only when the reason is found."),
    "residual": ("switch it on again", "It is never bridged. Switch it on only when the reason is found."),
    "overcurrent": (
        "put in a new fuse",
        "A fuse of the same value, once the reason is found; never bridged.",
    ),
}
"""Devices that stay as they tripped: what a hand does to them, and the caution beside it."""
HOLDS = {
    "nothing": "nothing fitted",
    "basket": "empty basket",
    "puck": "coffee",
    "blind": "blind disc",
    "needle": "gauge with needle valve",
}
JUG = {"nothing": "no jug", "milk": "jug of cold milk"}


@dataclass(frozen=True)
class Position:
    """Where a hand can put it, or what it can do: the word on the key, and what is sent."""

    word: str
    do: dict[str, Any]


@dataclass(frozen=True)
class Control:
    """Something a hand can work. ``part``: the part one touches to work it."""

    id: str
    part: str
    title: str
    kind: str
    """switch, key, lever, tap, selector, portafilter, tank, tray or reset."""
    positions: tuple[Position, ...]
    caution: str = ""
    reads: tuple[str, ...] = field(default=(), repr=False)
    """How its position is read: ``input name``, ``field part.field``, ``device name``; none: it has none."""
    places: tuple[float | str, ...] = field(default=(), repr=False)
    """What is read in each position."""


def controls_of(machine: Machine) -> list[Control]:
    """Every control of a machine: what is switched first, then taps, what is fitted, tanks and trays, what
    has tripped."""
    circuit = described(machine)
    found = [*_inputs(machine, circuit), *_portafilters(machine), *_jugs(machine)]
    order = {"switch": 0, "key": 1, "lever": 1, "selector": 2, "tap": 3}
    found.sort(key=lambda one: order.get(one.kind, 4))
    return [*found, *_waters(machine, circuit), *_latches(circuit)]


# --- what is moved ------------------------------------------------------------------------------------------


def _inputs(machine: Machine, circuit: Circuit) -> Iterator[Control]:
    for name in circuit.inputs:
        part = machine.parts.get(name)
        makers = {
            "tap": _tap,
            "lever": _lever,
            "inlet_selector": _inlet,
            "mixing_valve": _mixing,
            "boiler_drain": _drain,
        }
        if part is not None and part.kind in makers:
            yield makers[part.kind](machine, circuit, part)
        else:
            yield _switched(circuit, machine, name)


def _moved(name: str, title: str, part: str, kind: str, words: dict[str, float], **more: Any) -> Control:
    """A control whose every position is a place of its input."""
    does = more.pop("does", {})
    positions = tuple(
        Position(word, does.get(word, {"move": {"input": name, "to": place}}))
        for word, place in words.items()
    )
    return Control(
        name, part, title, kind, positions, reads=("input", name), places=tuple(words.values()), **more
    )


def _operate(word: str, told: Any) -> dict[str, Any]:
    return {"operate": {word: told}}


def _tap(machine: Machine, circuit: Circuit, part: Part) -> Control:
    del machine, circuit
    name = part.name
    does = {"shut": _operate("close", name), "open": _operate("open", name)}
    does |= {
        word: _operate("open", {"tap": name, "share": share})
        for word, share in (("quarter", 0.25), ("half", 0.5))
    }
    words = {"shut": 0.0, "quarter": 0.25, "half": 0.5, "open": 1.0}
    return _moved(name, part_in_words(name), name, "tap", words, does=does)


def _lever(machine: Machine, circuit: Circuit, part: Part) -> Control:
    name = part.name
    levers = [other.name for other in machine.parts.values() if other.kind == "lever"]
    sprung = any(v.piston is not None and v.piston.input == name for v in circuit.vessels.values())
    words = {"let go": 0.0, "pulled": 1.0} if sprung else {"down": 0.0, "half up": 0.5, "up": 1.0}
    does = {}
    if len(levers) == 1:
        said = dict(zip(words, ("down", "up") if sprung else ("down", "half", "up"), strict=True))
        does = {word: _operate("lever", one) for word, one in said.items()}
    return _moved(name, part_in_words(name), name, "lever", words, does=does)


def _inlet(machine: Machine, circuit: Circuit, part: Part) -> Control:
    del machine, circuit
    does = {word: _operate("select", word) for word in ("tank", "line")}
    return _moved(
        part.name, part_in_words(part.name), part.name, "selector", {"tank": 0.0, "line": 1.0}, does=does
    )


def _mixing(machine: Machine, circuit: Circuit, part: Part) -> Control:
    del machine, circuit
    words = {"cold": 0.0, "half and half": 0.5, "mostly hot": 0.7, "hot": 1.0}
    return _moved(part.name, part_in_words(part.name), part.name, "selector", words)


def _drain(machine: Machine, circuit: Circuit, part: Part) -> Control:
    del machine, circuit
    caution = "Only cold and without pressure: a boiler under pressure empties itself as steam and scalds."
    words = {"shut": 0.0, "half": 0.5, "open": 1.0}
    return _moved(part.name, part_in_words(part.name), part.name, "tap", words, caution=caution)


def _switched(circuit: Circuit, machine: Machine, name: str) -> Control:
    """A switch, a key that begins a dose, a selector of several circuits, or plain positions."""
    devices = [device for device in circuit.devices if device.input == name]
    stem, _, number = name.rpartition("_")
    word, group = (stem, int(number)) if number.isdigit() and stem else (name, 1)
    if any(device.kind == "window" for device in devices):
        return _windows(devices[0].part.partition(".")[0], name, circuit)
    first = devices[0].part if devices else ""
    title = part_in_words(first) if first else part_in_words(name)
    does: dict[str, Any] = {}
    dose = next((device.part for device in devices if device.kind == "dose"), "")
    if dose:
        positions = tuple(
            Position(said, {"press": {"input": name, "running": running}})
            for said, running in (("pour a dose", True), ("stop", False))
        )
        return Control(name, dose, title, "key", positions, reads=("device", dose), places=(1.0, 0.0))
    if word == "brew" and _worded(machine, group, name):
        does = {
            on: _operate("brew", on if group == 1 else {"group": group, "does": on}) for on in ("off", "on")
        }
    elif name in ("power", "steam", "water"):
        does = {on: _operate(name, on) for on in ("off", "on")}
    return _moved(name, title, first, "switch", {"off": 0.0, "on": 1.0}, does=does)


def _worded(machine: Machine, group: int, name: str) -> bool:
    """Whether a session file's ``brew`` for a group works this very input."""
    inputs = described(machine).inputs
    found = next((one for one in (f"brew_{group}", "brew") if one in inputs), "")
    return found == name and (group == 1 or found != "brew")


def _windows(part: str, name: str, circuit: Circuit) -> Control:
    windows = [device for device in circuit.devices if device.input == name and device.kind == "window"]
    words = {"off": 0.0}
    words |= {
        device.part.rpartition(".")[2]: 0.5 * (device.low + min(device.high, 1.0)) for device in windows
    }
    return _moved(name, part_in_words(part), part, "selector", words)


# --- what is fitted, filled, poured out ---------------------------------------------------------------------


def _portafilters(machine: Machine) -> Iterator[Control]:
    found = [part for part in machine.parts.values() if part.kind == "portafilter"]
    for number, part in enumerate(found, 1):
        positions = tuple(
            Position(word, _operate("fit", holds if number == 1 else {"group": number, "holds": holds}))
            for holds, word in HOLDS.items()
        )
        yield Control(
            part.name,
            part.name,
            part_in_words(part.name),
            "portafilter",
            positions,
            "Never take it off while the group is under pressure: hot grounds spray.",
            reads=("field", f"{part.name}.holds"),
            places=tuple(HOLDS),
        )


def _jugs(machine: Machine) -> Iterator[Control]:
    """What is held under a steam wand."""
    found = _fed_by(machine, lambda other: getattr(other, "passes", "") == "steam")
    for number, part in enumerate(found, 1):
        positions = tuple(
            Position(word, {"jug": {"at": part.name, "holds": holds}}) for holds, word in JUG.items()
        )
        wand = part_in_words(f"steam_wand_{number}") if len(found) > 1 else "steam wand"
        yield Control(
            f"{part.name}.jug",
            part.name,
            f"under the {wand}",
            "selector",
            positions,
            reads=("field", f"{part.name}.contents"),
            places=tuple(JUG),
        )


def _fed_by(machine: Machine, feeds: Any) -> list[Part]:
    """Receivers at the end of a line from such a part."""
    names = dict.fromkeys(
        line.to_port.partition(".")[0]
        for line in machine.lines
        if feeds(machine.parts[line.from_port.partition(".")[0]])
    )
    return [machine.parts[name] for name in names if machine.parts[name].kind == "receiver"]


def _waters(machine: Machine, circuit: Circuit) -> Iterator[Control]:
    """Tanks to fill, cups and trays to pour out."""
    parts = machine.parts.values()
    for part in (one for one in parts if one.kind == "tank"):
        filled = Position("fill up", {"fill_tank": True})
        emptied = Position("empty", {"empty": part.name})
        yield Control(part.name, part.name, part_in_words(part.name), "tank", (filled, emptied))
    cups = _fed_by(
        machine,
        lambda other: (
            other.kind in ("portafilter", "mixing_valve") or getattr(other, "passes", "") == "water"
        ),
    )
    trays = [one for one in parts if one.kind == "drip_tray"]
    for part in (*cups, *trays):
        if part.name in circuit.reservoirs:
            poured = (Position("pour out", {"empty": part.name}),)
            yield Control(part.name, part.name, part_in_words(part.name), "tray", poured)


def _latches(circuit: Circuit) -> Iterator[Control]:
    for device in circuit.devices:
        if device.kind in LATCHES:
            word, caution = LATCHES[device.kind]
            yield Control(
                f"{device.part}.reset",
                device.part,
                part_in_words(device.part),
                "reset",
                (Position(word, {"reset": device.part}),),
                caution,
                reads=("latch", device.part),
            )
    word, caution = "renew the fuse before the machine", LATCHES["overcurrent"][1]
    yield Control(
        "supply.reset",
        "",
        "fuse before the machine",
        "reset",
        (Position(word, {"reset": SHORT_CIRCUIT}),),
        caution,
        reads=("supply", ""),
    )
