"""A machine's wiring in a given condition: every wire, contact, winding, insulation and stray path."""

from __future__ import annotations

from cmath import rect
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import radians
from typing import TYPE_CHECKING

from collaudo.current.nodal import Branch, Solved, solve
from collaudo.errors import unknown_name
from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit, Contact, Device, Site
from collaudo.parts.part import declared_fields

if TYPE_CHECKING:
    from collaudo.twin.run import Run

WIRE_OHM = 5.0e-3
"""0.3 m of copper of 1 mm2: 1.72e-8 ohm m (IEC 60028) times length over cross-section."""
CONTACT_OHM = 0.01
"""A clean contact, where its part declares nothing (common practice, no source)."""
BOND_OHM = 0.1
"""From metalwork to the earth pin, where the machine file has no earth wires (common practice, no source)."""
STRAY_FARAD = 5.0e-11
"""Between the two wires of an open contact, half a metre in one loom (common practice, no source)."""
PASSES_FROM_OHM = 1.0e8
"""A way of so many ohm counts as broken."""
_RELAY_ROUNDS = 20


@dataclass(frozen=True)
class Place:
    """A branch and what it is in the machine."""

    branch: Branch
    kind: str
    """wire, contact, load, leak (insulation, filter, bond), stray."""
    part: str
    one_way: bool = False

    @property
    def name(self) -> str:
        """Name of its branch."""
        return self.branch.name


@dataclass(frozen=True)
class Condition:
    """How the machine stands while it is measured."""

    inputs: Mapping[str, float] = field(default_factory=dict)
    """Positions 0..1 of what a hand moves; what is not named stands at rest."""
    held: Mapping[str, bool] = field(default_factory=dict)
    """Parts whose contacts, or single contacts that are closed (True) or open (False) whatever moves them."""
    plugged: bool = True
    lifted: frozenset[str] = frozenset()
    """Terminals whose wires are pulled off."""
    leak_ohm: Mapping[str, float] = field(default_factory=dict)
    """Insulation to the metalwork of parts that have grown damp."""
    broken: frozenset[str] = frozenset()
    """Names of branches that no longer lead."""


@dataclass(frozen=True)
class Network:
    """The wiring in one condition, ready to be measured."""

    places: tuple[Place, ...]
    sources: Mapping[str, complex]
    frequency_Hz: float
    pins: Mapping[str, str]
    """Where the supply enters, by conductor, live first: the mains' terminals, unplugged the plug's pins."""
    works_from_V: Mapping[str, float]
    mains: str
    """Name of the supply's part."""
    inside: frozenset[str]
    """Nodes within parts, where no probe can be held."""

    def solve(self) -> Solved:
        """Potentials and currents [V, A], root-mean-square phasors."""
        return solve((x.branch for x in self.places), self.sources, self.frequency_Hz)

    @property
    def points(self) -> tuple[str, ...]:
        """Every terminal a probe can be held to."""
        nodes = dict.fromkeys(self.pins.values())
        for place in self.places:
            nodes.update(dict.fromkeys((place.branch.a, place.branch.b)))
        return tuple(node for node in nodes if node not in self.inside)

    def point(self, name: str) -> str:
        """A terminal by its name; unplugged, the plug's pin for that of the mains. `UnknownNameError` with
        near misses otherwise."""
        if name in self.points:
            return name
        part, _, conductor = name.rpartition(".")
        if part == self.mains and conductor in self.pins:
            return self.pins[conductor]
        raise unknown_name("test point", name, self.points)

    def of_part(self, part: str) -> list[Place]:
        """The branches of a part, or the one called so; `UnknownNameError` where there are none."""
        found = [x for x in self.places if part in (x.part, x.name) and x.kind != "stray"]
        if not found:
            raise unknown_name("part with current", part, {x.part or x.name for x in self.places})
        return found

    def pin(self, word: str) -> str:
        """Where a conductor of the supply enters: ``live``, ``neutral``, ``earth``, ``live_2`` …"""
        if word not in self.pins:
            raise unknown_name("conductor of the supply", word, self.pins)
        return self.pins[word]


def network_of(machine: Machine, condition: Condition | None = None, site: Site | None = None) -> Network:
    """The wiring of ``machine`` at ``site`` (None: on the mains its plate names) in a condition.

    Relays and contactors follow their coils: settled by solving until none moves.
    """
    condition = condition or Condition()
    machine, leaks = _damp(machine, condition)
    circuit = described(machine, site)
    _known_names(circuit, condition)
    coils = {d.part: False for d in circuit.devices if d.kind == "relay"}
    network = _network(machine, circuit, condition, coils, leaks)
    for _ in range(_RELAY_ROUNDS if coils and condition.plugged else 0):
        acting = loads_that_act(network)
        now = {d.part: d.load in acting for d in circuit.devices if d.kind == "relay"}
        if now == coils:
            break
        coils = now
        network = _network(machine, circuit, condition, coils, leaks)
    return network


def condition_of(run: Run) -> Condition:
    """The condition a running twin is in: its inputs, and each part's contacts as they stand."""
    inputs = {name: float(run.mode.inputs[n]) for name, n in run.assembly.names.inputs.items()}
    names = _contact_names(described(run.machine, run.assembly.site))
    closed = (bool(value > 0.0) for value in run.mode.closed)
    return Condition(inputs, dict(zip(names, closed, strict=True)))


def loads_that_act(network: Network, solved: Solved | None = None) -> set[str]:
    """Loads with volts enough across them and a way for the current through them."""
    solved = solved or network.solve()
    acting = set()
    for place in network.places:
        if place.kind == "load" and place.branch.ohm < PASSES_FROM_OHM:
            volts = abs(solved.open_volts(place.branch.a, place.branch.b))
            if volts >= max(network.works_from_V[place.name], 1e-6):
                acting.add(place.name)
    return acting


def unplugged(network: Network, *, through_diodes: bool) -> Network:
    """The same wiring off the mains, as direct current finds it; capacitors pass nothing."""
    places = tuple(x for x in network.places if x.branch.farad == 0.0 and (through_diodes or not x.one_way))
    return replace(network, places=places, sources={}, frequency_Hz=0.0)


def _damp(machine: Machine, condition: Condition) -> tuple[Machine, dict[str, float]]:
    """Leaks go into the parts that declare an insulation; the others are returned."""
    others = {}
    for part, ohm in condition.leak_ohm.items():
        if "insulation_Mohm" in declared_fields(type(machine.part(part))):
            machine = machine.with_fields({f"{part}.insulation_Mohm": 1e-6 * ohm})
        else:
            others[part] = ohm
    return machine, others


def _known_names(circuit: Circuit, condition: Condition) -> None:
    """`UnknownNameError` for an input or a part with contacts there is not."""
    for name in condition.inputs:
        if name not in circuit.inputs:
            raise unknown_name("input", name, circuit.inputs)
    parts = {x.part for x in circuit.contacts} | set(_contact_names(circuit))
    for name in condition.held:
        if name not in parts:
            raise unknown_name("part with contacts", name, parts)


def _network(
    machine: Machine,
    circuit: Circuit,
    condition: Condition,
    coils: Mapping[str, bool],
    leaks: Mapping[str, float],
) -> Network:
    earth = [x.terminal for x in circuit.sources if x.terminal.endswith(".earth")]
    places = [*_wires(machine, condition), *_contacts(circuit, condition, coils)]
    places += [
        Place(Branch(x.name, x.a, x.b, x.ohm, x.henry, x.farad), "load", x.name, x.one_way)
        for x in circuit.loads
    ]
    places += _leaks(circuit, leaks, earth)
    places += _assumed_bonds(machine, places, earth)
    places = [x for x in places if x.name not in condition.broken]
    pins = _pins(machine, circuit, condition)
    if not condition.plugged:
        places = _machine_side(places, pins, [x.terminal for x in circuit.sources])
    volts = {x.terminal: rect(circuit.site.mains_V * x.share, radians(x.angle_deg)) for x in circuit.sources}
    sources = volts if condition.plugged else {}
    frequency_Hz = circuit.site.mains_Hz if condition.plugged else 0.0
    works = {x.name: x.works_from_V for x in circuit.loads}
    mains = next(iter(volts)).partition(".")[0]
    ends = {f"{part.name}.{word}" for part in machine.parts.values() for word in part.terminals}
    inside = frozenset(end for x in places for end in (x.branch.a, x.branch.b) if end not in ends)
    return Network(tuple(places), sources, frequency_Hz, pins, works, mains, inside)


def _pins(machine: Machine, circuit: Circuit, condition: Condition) -> dict[str, str]:
    """Where each conductor enters. One that the supply has lost still has its pin."""
    mains = [x.terminal.replace(".lost_", ".") for x in circuit.sources]
    plug = next((name for name, part in machine.parts.items() if part.kind == "plug"), "")
    words = [terminal.rpartition(".")[2] for terminal in mains]
    if condition.plugged or not plug:
        return dict(zip(words, mains, strict=True))
    return {word: f"{plug}.{word}_in" for word in words}


def _machine_side(places: list[Place], pins: Mapping[str, str], mains: list[str]) -> list[Place]:
    """What is left in hand with the plug out: not the building's conductors."""
    socket = {*mains, *(terminal.replace(".lost_", ".") for terminal in mains)} - set(pins.values())
    if not socket:
        return places
    left = [x for x in places if x.kind != "wire" or not {x.branch.a, x.branch.b} & set(pins.values())]
    while outside := [x for x in left if {x.branch.a, x.branch.b} & socket]:
        socket |= {end for x in outside for end in (x.branch.a, x.branch.b)}
        left = [x for x in left if x not in outside]
    return left


def _wires(machine: Machine, condition: Condition) -> Iterator[Place]:
    for a, b in machine.wires:
        if a not in condition.lifted and b not in condition.lifted:
            yield Place(Branch(f"wire {a} to {b}", a, b, WIRE_OHM), "wire", "")


def _contacts(circuit: Circuit, condition: Condition, coils: Mapping[str, bool]) -> Iterator[Place]:
    devices = {d.part: d for d in circuit.devices}
    for name, x in zip(_contact_names(circuit), circuit.contacts, strict=True):
        moved = _closed(x, condition, devices, circuit, coils)
        if condition.held.get(name, condition.held.get(x.part, moved)):
            yield Place(Branch(name, x.a, x.b, max(x.ohm, CONTACT_OHM)), "contact", x.part)
        elif x.open_ohm > 0.0:
            yield Place(Branch(f"{name} (open)", x.a, x.b, x.open_ohm), "stray", x.part)
        else:
            yield Place(Branch(f"{name} (open)", x.a, x.b, farad=STRAY_FARAD), "stray", x.part)


def _contact_names(circuit: Circuit) -> list[str]:
    """A contact is called like its part, with its terminals where the part has more than that contact."""
    things = [x.part for x in circuit.contacts] + [x.name for x in circuit.loads]
    return [
        x.part + (f" {_word(x.a)} to {_word(x.b)}" if things.count(x.part) > 1 else "")
        for x in circuit.contacts
    ]


def _word(terminal: str) -> str:
    return terminal.rpartition(".")[2]


def _closed(
    contact: Contact,
    condition: Condition,
    devices: Mapping[str, Device],
    circuit: Circuit,
    coils: Mapping[str, bool],
) -> bool:
    """Whether a contact is closed: devices that move by themselves are at rest."""
    command = contact.command
    position = {**circuit.inputs, **condition.inputs}
    if command.kind == "input":
        return position[command.name] >= 0.5
    if command.kind not in ("device", "device_off"):
        return True
    device = devices[command.name]
    on = coils.get(device.part, False)
    if device.kind == "input":
        on = position[device.input] >= device.high
    elif device.kind == "window":
        on = device.low <= position[device.input] < device.high
    return on == (command.kind == "device")


def _leaks(circuit: Circuit, damp: Mapping[str, float], earth: list[str]) -> Iterator[Place]:
    counted: dict[str, int] = {}
    for x in circuit.resistors:
        counted[x.part] = counted.get(x.part, 0) + 1
        name = f"{x.part} to {x.b.rpartition('.')[2]}" + (
            f" {counted[x.part]}" if counted[x.part] > 1 else ""
        )
        ohm = 0.0 if x.farad > 0.0 else x.ohm
        yield Place(Branch(name, x.a, x.b, ohm, farad=x.farad), "leak", x.part)
    ends = {x.name: x.a for x in circuit.loads}
    for part, ohm in damp.items():
        if part not in ends:
            raise unknown_name("load that could leak", part, ends)
        yield Place(Branch(f"{part} to earth", ends[part], earth[0], ohm), "leak", part)


def _assumed_bonds(machine: Machine, places: list[Place], earth: list[str]) -> Iterator[Place]:
    """Metalwork stands at earth where the machine file has no earth wires at all."""
    if any(end in earth for wire in machine.wires for end in wire):
        return
    bodies = dict.fromkeys(x.branch.b for x in places if x.branch.b.endswith(".body"))
    for body in bodies:
        yield Place(Branch(f"{body} to earth", body, earth[0], BOND_OHM), "leak", "earth bond")
