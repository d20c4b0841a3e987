"""A machine's parts and lines as items and joints of the water diagram."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from collaudo.drawing.items import End, Item, Joint, Picture, looks_of
from collaudo.drawing.plane import UPRIGHT
from collaudo.drawing.symbols import PLAIN, PortPlace, Symbol, symbol, symbol_of, water_symbol
from collaudo.drawing.vessel import APART, FAR_APART, Held, vessel_picture
from collaudo.machine.model import Machine
from collaudo.parts.part import Part, declared_fields
from collaudo.quantities.units import split_suffix, unit_of

OPEN_END = "open_end"
INLETS = ("in", "second", "third", "fourth")
"""Ports of what catches that each take one line."""
FEELS, FELT = "feels", "felt"
"""Ports of symbols for links: of what feels or moves another part, and of what is felt or moved."""


def water_items(
    machine: Machine,
    notes: Mapping[str, Sequence[str]] | None = None,
    heat: Mapping[tuple[str, str], str] | None = None,
    *,
    wide: bool = False,
) -> tuple[list[Item], list[Joint]]:
    """Everything that carries water, feels it or heats it, and what joins it.

    ``notes``: lines written below the name of parts, instead of what their symbols say. ``heat``: what goes
    from one part to another; drawn here where one of them is in the other. ``wide``: longer vessels,
    for a screen.
    """
    return _Water(machine, notes, heat or {}, FAR_APART if wide else APART).build()


def spoken(name: str) -> str:
    """A part's name as it is written on the sheet."""
    return name.replace("_", " ")


def said(part: Part, fields: Iterable[str]) -> tuple[str, ...]:
    """Values written beside a part: ``9.2 bar``; words as they are, ``nothing`` left out."""
    words = []
    for key in fields:
        value = getattr(part, key, None)
        if isinstance(value, str) and value not in ("", "nothing"):
            words.append(spoken(value))
        elif isinstance(value, int | float):
            words.append(f"{value:g} {unit_of(split_suffix(key)[1]).text}".strip())
    return tuple(words)


def hosts(part: Part, among: Iterable[str]) -> list[tuple[str, str]]:
    """Fields of a part that name another one, and that part's name."""
    known = set(among)
    found = []
    for key, declared in declared_fields(type(part)).items():
        if declared.get("names") and not declared.get("port") and getattr(part, key) in known:
            found.append((key, str(getattr(part, key))))
    return found


class _Water:
    """Sorts the parts: vessels, what they hold, what stands free, what feels."""

    def __init__(
        self,
        machine: Machine,
        notes: Mapping[str, Sequence[str]] | None,
        heat: Mapping[tuple[str, str], str],
        apart: int,
    ) -> None:
        self.machine = machine
        self.apart = apart
        self.notes = notes
        self.heat = heat
        self.symbols = {name: water_symbol(part) for name, part in machine.parts.items()}
        self.joined: dict[str, list[str]] = {}
        for line in machine.lines:
            for end in (line.from_port, line.to_port):
                name, _, port = end.partition(".")
                if port not in self.joined.setdefault(name, []):
                    self.joined[name].append(port)
        self.drawn = self._drawn()
        self.vessels = [name for name in self.drawn if self.symbols[name].role == "vessel"]
        self.host = {name: self._host(name) for name in self.drawn}
        self.links = self._links()
        self.items: dict[str, Item] = {}
        self.where: dict[str, tuple[str, str]] = {}
        """Port of a part (``part.port``) to the item and the port of its picture."""
        self.joints: list[Joint] = []

    def _drawn(self) -> list[str]:
        """Parts with a line, and parts without ports that refer to one of those, directly or not."""
        names = [name for name in self.machine.parts if name in self.joined]
        waiting = [
            name for name, part in self.machine.parts.items() if not part.ports and self._belongs(part)
        ]
        grown = True
        while grown:
            fresh = [name for name in waiting if hosts(self.machine.parts[name], names)]
            fresh += [
                name
                for name in waiting
                if name not in fresh
                and any(
                    (key, name) in hosts(self.machine.parts[n], [name])
                    for n in names
                    for key in self.symbols[n].ports
                )
            ]
            waiting = [name for name in waiting if name not in fresh]
            names += fresh
            grown = bool(fresh)
        return [name for name in self.machine.parts if name in names]

    def _belongs(self, part: Part) -> bool:
        """Whether a part without ports has a place here: a symbol, or nothing to do with current either."""
        return symbol_of(part, "water") is not None or not part.terminals

    def _more(self, name: str) -> tuple[str, ...]:
        """What is written below a part's name."""
        if self.notes is not None:
            return tuple(self.notes.get(name, ()))
        return said(self.machine.parts[name], self.symbols[name].says)

    def _host(self, name: str) -> str:
        found = hosts(self.machine.parts[name], self.drawn)
        return found[0][1] if found else ""

    def build(self) -> tuple[list[Item], list[Joint]]:
        """Vessels with what they hold, then the rest, then lines and links."""
        inside = {
            name
            for name in self.drawn
            if self.symbols[name].role == "inside" and self.host[name] in self.vessels
        }
        for name in self.vessels:
            self._vessel(
                name, [other for other in self.drawn if other in inside and self.host[other] == name]
            )
        for name in self.drawn:
            if name in inside or name in self.vessels:
                continue
            if self.symbols[name].role == "mouth":
                self._catcher(name)
            else:
                self._free(name, name, self.joined.get(name, []))
        for number, line in enumerate(self.machine.lines):
            self.joints.append(Joint(f"line-{number}", self._end(line.from_port), self._end(line.to_port)))
        self._join_links()
        return list(self.items.values()), self.joints

    def _end(self, port: str) -> End:
        return End(*self.where[port])

    def _links(self) -> list[tuple[str, str, str]]:
        """What feels or moves what: the part, its field that says so, the other part."""
        links = []
        for name in self.drawn:
            part, shown = self.machine.parts[name], self.symbols[name]
            if shown.role == "inside":
                continue
            for key, other in hosts(part, self.drawn):
                if not part.ports:
                    links.append((name, key, other))
                    break
                if key in shown.ports and not self.machine.parts[other].ports:
                    links.append((name, key, other))
        return links

    def _join_links(self) -> None:
        for name, key, other in self.links:
            mine = f"{name}.{FEELS if not self.machine.parts[name].ports else key}"
            theirs = f"{name}.at_host" if f"{name}.at_host" in self.where else f"{other}.{FELT}"
            self.joints.append(Joint(f"link-{name}-{key}", self._end(mine), self._end(theirs), "link"))

    def _feelers(self, name: str, inside: Sequence[str]) -> list[str]:
        """Parts without ports that touch a vessel or something in it."""
        return [
            other
            for other in self.drawn
            if not self.machine.parts[other].ports
            and other not in inside
            and self.host[other] in (name, *inside)
        ]

    def _vessel(self, name: str, inside: Sequence[str]) -> None:
        shape = self.symbols[name]
        held = []
        for other in inside:
            shown, sides = self.machine.parts[other], self.symbols[other].sides
            label = (spoken(other), *self._more(other))
            if shown.ports:
                ports = {f"{other}.{port}": sides.get(port, "W") for port in self.joined.get(other, [])}
                held.append(Held(other, "tube", ports, label, self._heat(other, name)))
            else:
                touching = [one for one in self._feelers(name, inside) if self.host[one] == other]
                ports = {f"{one}.at_host": "W" for one in touching[:1]}
                way = "element" if shown.terminals else "standing"
                held.append(Held(other, way, ports, label, self._heat(other, name)))
        for other in self._feelers(name, inside):
            if self.host[other] == name:
                side = self.symbols[other].sides.get(FEELS, "W")
                rod = side == "N" and "level_share" in declared_fields(type(self.machine.parts[other]))
                way = "feeler" if rod else "wall" if side in "EW" else "top"
                held.append(Held(f"{other}.feeler", way, {f"{other}.at_host": side}))
        sides = {port: shape.sides.get(port, "E") for port in _ordered(shape, self.joined.get(name, []))}
        words = (spoken(name), *self._more(name))
        picture = vessel_picture(name, words, sides, held, level=shape.level, apart=self.apart)
        self.items[name] = Item(
            name, name, picture, looks_of(picture, "")[:1], tuple(picture.ports), anchor=True
        )
        for key in picture.ports:
            self.where[key] = (name, key)

    def _heat(self, part: str, vessel: str) -> tuple[str, str] | None:
        """Which way heat goes between a part and the vessel it is in, and how much."""
        for way, ends in (("out", (part, vessel)), ("in", (vessel, part))):
            if ends in self.heat:
                return way, self.heat[ends]
        return None

    def _free(self, name: str, key: str, used: Sequence[str], *, end: bool = False) -> None:
        """A part on its own, or (``end``) one open end of a line that it catches."""
        part, shown = self.machine.parts[name], self.symbols[name]
        if end:
            shown = self._open_end(used[0])
        ports, size, shape = dict(shown.ports), (shown.width, shown.height), shown.shape
        stances = shown.stances
        if shown.name == PLAIN or not set(used) <= set(ports):
            size, ports = _plain_ports(part, used)
            shape, stances = f'<rect class="paper" width="{size[0]:g}" height="{size[1]:g}"/>', (UPRIGHT,)
        linked = [] if end else self._link_ports(name, ports, used, size)
        basins = {name: shown.basin} if shown.basin else {}
        picture = Picture(*size, ports, {name: shape}, letters=shown.letters, stances=stances, basins=basins)
        looks = looks_of(picture, spoken(name), () if end else self._more(name), [*used, *linked])
        self.items[key] = Item(key, name, picture, looks, (*used, *linked), pull=shown.pull)
        for port in (*used, *linked):
            self.where[f"{name}.{port}"] = (key, port)

    def _link_ports(
        self, name: str, ports: dict[str, PortPlace], used: Sequence[str], size: tuple[float, float]
    ) -> list[str]:
        """Ports that links of a part need; those its symbol lacks are added to ``ports``."""
        part = self.machine.parts[name]
        wanted = [FEELS if not part.ports else key for one, key, _ in self.links if one == name]
        wanted += [FELT for _, _, other in self.links if other == name][:1]
        for port in wanted:
            if port not in ports:
                busy = {ports[other].side for other in ports if other in (*used, *wanted)}
                ports[port] = _free_port(busy, *size)
        return wanted

    def _catcher(self, name: str) -> None:
        """What catches: one line ends in it; of several each ends openly, with its name."""
        inlets = [port for port in self.joined.get(name, []) if port in INLETS]
        others = [port for port in self.joined.get(name, []) if port not in INLETS]
        single = len(inlets) == 1 and not self._gets_steam(name)
        if single or others:
            self._free(name, name, [*(inlets if single else ()), *others])
        if not single:
            for port in inlets:
                self._free(name, f"{name}.{port}", [port], end=True)

    def _gets_steam(self, name: str) -> bool:
        """Whether a wand ends in it: steam is not caught in a cup."""
        feeders = {
            line.from_port.partition(".")[0]
            for line in self.machine.lines
            if line.to_port.startswith(f"{name}.")
        }
        return any(getattr(self.machine.parts[feeder], "passes", "") == "steam" for feeder in feeders)

    def _open_end(self, port: str) -> Symbol:
        """What catches from several lines is not drawn as a vessel but as an open end of each."""
        shown = symbol(OPEN_END, "water") or self.symbols[PLAIN]
        return replace(shown, ports={port: next(iter(shown.ports.values()))})


def _ordered(symbol: Symbol, joined: Sequence[str]) -> list[str]:
    known = [port for port in symbol.sides if port in joined]
    return known + [port for port in joined if port not in known]


def _plain_ports(part: Part, used: Sequence[str]) -> tuple[tuple[float, float], dict[str, PortPlace]]:
    """A box that has a place for every port: what enters at the left, what leaves at the right."""
    left = [port for port in used if port in part.inward or port == "in"]
    right = [port for port in used if port not in left]
    height = 40.0 * max(len(left), len(right), 1)
    ports = {port: PortPlace(0.0, 20.0 + 40.0 * row, "W") for row, port in enumerate(left)}
    ports |= {port: PortPlace(80.0, 20.0 + 40.0 * row, "E") for row, port in enumerate(right)}
    return (80.0, height), ports


def _free_port(busy: set[str], width: float, height: float) -> PortPlace:
    """A place for a link on a side that nothing else needs."""
    places = {
        "N": PortPlace(20.0, 0.0, "N"),
        "W": PortPlace(0.0, 20.0, "W"),
        "E": PortPlace(width, 20.0, "E"),
        "S": PortPlace(20.0, height, "S"),
    }
    return next((place for side, place in places.items() if side not in busy), places["N"])
