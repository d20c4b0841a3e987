"""A machine and its snapshot side by side: what stands where, who moves what."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from collaudo.machine.described import described
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit, Device, Site
from collaudo.parts.part import Part
from collaudo.paths.words import LEAST_FLOW_G_PER_S
from collaudo.twin.snapshot import LineFlow, LoadState, PartFlow, Snapshot


def part_of(port: str) -> str:
    """``pump.in`` -> ``pump``."""
    return port.partition(".")[0]


@dataclass
class View:
    """Look-ups over one moment; the machine with what was changed on it."""

    built: Machine
    snapshot: Snapshot
    machine: Machine = field(init=False)
    circuit: Circuit = field(init=False)

    def __post_init__(self) -> None:
        self.machine = self.built.with_fields(self.snapshot.fields)
        self.circuit = described(self.machine, Site(**self.snapshot.site))

    def part(self, name: str) -> Part:
        """The part a port, element or load belongs to."""
        return self.machine.parts[part_of(name)]

    @cached_property
    def lines_at(self) -> dict[str, list[int]]:
        """Numbers of the lines at each port."""
        found: dict[str, list[int]] = {}
        for number, line in enumerate(self.snapshot.lines):
            found.setdefault(line.from_port, []).append(number)
            found.setdefault(line.to_port, []).append(number)
        return found

    @cached_property
    def ports_of(self) -> dict[str, list[str]]:
        """Joined ports of each part, in the order of the machine file."""
        found: dict[str, list[str]] = {}
        for port in self.lines_at:
            found.setdefault(part_of(port), []).append(port)
        return found

    @cached_property
    def passages(self) -> dict[str, list[PartFlow]]:
        """Passages of each part."""
        found: dict[str, list[PartFlow]] = {}
        for passage in self.snapshot.flows:
            if part_of(passage.part) in self.machine.parts and " to " not in passage.part:
                found.setdefault(part_of(passage.part), []).append(passage)
        return found

    def is_space(self, part: str) -> bool:
        """Whether a part is a vessel or reservoir: water from any of its ports can leave by any other."""
        return part in self.circuit.vessels or part in self.circuit.reservoirs

    def hub(self, port: str) -> str:
        """The vessel or reservoir a port opens into; empty for bare ports."""
        if port in self.circuit.ports:
            return part_of(self.circuit.ports[port].vessel)
        if port in self.circuit.reservoir_ports:
            return part_of(self.circuit.reservoir_ports[port][0])
        return ""

    def gives(self, part: str) -> bool:
        """Whether a part is a source of water: a reservoir that a line of the machine file begins at."""
        ports = self.ports_of.get(part, ())
        begins = any(self.line(n).from_port == port for port in ports for n in self.lines_at[port])
        return part in self.circuit.reservoirs and begins

    def line(self, number: int) -> LineFlow:
        """A line of the machine file."""
        return self.snapshot.lines[number]

    def other_end(self, number: int, port: str) -> str:
        """The port at the far end of a line."""
        line = self.line(number)
        return line.to_port if line.from_port == port else line.from_port

    def arrives_degC(self, number: int) -> float:
        """Temperature of what leaves a line: of a leg's last cell, elsewhere as it entered."""
        line = self.line(number)
        begin = f"{line.from_port} to {line.to_port}.leg"
        cells = [name for name in self.snapshot.temperatures_degC if name.startswith(begin)]
        if not cells:
            return line.temperature_degC
        ordered = sorted(cells, key=lambda name: int(name.removeprefix(begin)))
        return self.snapshot.temperatures_degC[ordered[-1] if line.flow_g_per_s >= 0.0 else ordered[0]]

    def device(self, name: str) -> Device:
        """A device by name."""
        return next(x for x in self.circuit.devices if x.part == name)

    def load(self, name: str) -> LoadState:
        """A load by name."""
        return next(x for x in self.snapshot.loads if x.name == name)

    @cached_property
    def through(self) -> dict[int, float]:
        """Flow of each line [g/s] that is not circulation."""
        found = {n: line.flow_g_per_s for n, line in enumerate(self.snapshot.lines)}
        for loop in self.snapshot.circulations:
            for number, way in zip(loop.lines, loop.ways, strict=True):
                found[number] -= way * loop.flow_g_per_s
        for number in found:
            if self._is_blind(number):
                found[number] = 0.0  # a gauge's tube breathes
        # What the legs take up or give while they warm is no through-flow.
        return {
            n: 0.0 if self.line(n).leg and abs(flow) < 0.05 * abs(self.line(n).flow_g_per_s) else flow
            for n, flow in found.items()
        }

    def _is_blind(self, number: int) -> bool:
        """Whether a line ends in a part that nothing passes: a gauge."""
        line = self.line(number)
        ends = part_of(line.from_port), part_of(line.to_port)
        return any(end not in self.passages and not self.is_space(end) for end in ends)

    def moves(self, number: int) -> bool:
        """Whether water passes a line beyond the circulation."""
        return abs(self.through[number]) >= LEAST_FLOW_G_PER_S
