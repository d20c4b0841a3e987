"""What one frame on the screen needs of a running machine, read from one row of numbers, many times a
second.

A `Snapshot` tells everything and takes milliseconds. Here all that does not change between frames (which
number of the row a value comes from, which parts lie between which ports) is worked out once for a machine as
it stands; `tests/unit/test_glance.py` holds the two against each other.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collaudo.bench.runs.channels import Channel, channels_of
from collaudo.fluid.water import liquid_energy, saturation_temperature, vapour_enthalpy
from collaudo.parts.circuit import Command
from collaudo.twin.network import Network, Passage, network_of
from collaudo.twin.results import Results
from collaudo.twin.run import Run
from collaudo.twin.taking import MOVES_KG_PER_S, STEAM_CP_J_PER_KG_K, Taker

Floats = NDArray[np.float64]
WATER, STEAM, AIR = 0, 1, 2
LEAST_SHARED_KG_PER_S = 1e-9
"""What a passage passes less tells nothing of what is in a line."""


@dataclass(frozen=True)
class LineNow:
    """What passes a line of the machine file, positive from its ``from`` to its ``to``."""

    flow_kg_per_s: float
    temperature_K: float
    contents: int
    """WATER, STEAM or AIR: what is most of it."""


@dataclass(frozen=True)
class _Way:
    """A line passed in one direction: where what it passes comes from."""

    shown_by: tuple[int, ...]
    """Elements that tell what is in it; the first that passes anything counts."""
    coming: tuple[tuple[int, int], ...]
    """Elements that feed its beginning, and the node their water comes from."""
    node: int
    """Node it begins at; -1: the room."""
    boils_K: float
    """Boiling point where it begins, at an open mouth; 0: elsewhere."""


@dataclass(frozen=True)
class _Seat:
    """How far an opening stands open: a command, and the place of what commands it."""

    command: Command
    index: int
    acting: tuple[float, ...] = (1.0,)
    """Phases in which a device counts as on."""


class Glance:
    """Reads rows of one run. A class because all readings share what was worked out once."""

    def __init__(self, run: Run, known: Mapping[object, Floats] | None = None) -> None:
        self.run = run
        taker = Taker(run)
        self._network = taker.network
        self._circuit = taker.circuit
        self.start = Results(_without_frames(run)).start
        self._nodes = {**run.assembly.names.cells}
        cells = int(run.tables.cell.size)
        self._nodes |= {wall: cells + n for wall, n in run.assembly.names.walls.items()}
        passages = tuple((x.part, x.inlet, x.outlet) for x in self._network.passages)
        self.structure = (run.machine.lines, passages)
        self._columns, self.by_row = self._flow_matrix(taker, (known or {}).get(self.structure))
        self._ways = [(self._way(taker, x.a, x.b), self._way(taker, x.b, x.a)) for x in taker.lines]
        self.channels: dict[str, Channel] = channels_of(run)
        self._values, self._offsets, self._least = self._value_matrix()
        self.seats = self._seats()
        self.loads = list(run.assembly.names.loads)
        self.vessels = self._vessels()

    # --- worked out once

    def _flow_matrix(self, taker: Taker, known: Floats | None) -> tuple[NDArray[np.int64], Floats]:
        """Flows of lines follow linearly from flows of elements, edges of cells and circulations: columns of
        the row, and the matrix, found by asking the network for the flow of each alone."""
        run, start = self.run, self.start
        columns = [start["element"] + 3 * e for e in range(run.tables.element.size)]
        columns += [start["edge"] + c for c in range(run.tables.cell.size)]
        columns += [start["state"] + int(loop.state) for loop in run.tables.loop]
        where = np.array(columns, np.int64)
        if known is not None:
            return where, known
        alone = copy.copy(run)
        alone.work = run.work._replace(
            element=np.zeros_like(run.work.element), cell=np.zeros_like(run.work.cell)
        )
        alone.y = np.zeros_like(run.y)
        found = np.zeros((len(taker.lines), len(columns)))

        def asked() -> list[float]:
            return network_of(taker.layout, taker.lines, alone).line_flows

        count = 0
        for table, field in ((alone.work.element, "flow"), (alone.work.cell, "edge")):
            for n in range(table.size):
                table[field][n] = 1.0
                found[:, count] = asked()
                table[field][n] = 0.0
                count += 1
        for loop in run.tables.loop:
            alone.y[int(loop.state)] = 1.0
            found[:, count] = asked()
            alone.y[int(loop.state)] = 0.0
            count += 1
        return where, found

    def _way(self, taker: Taker, donor: str, other: str) -> _Way:
        """As `Taker` and `collaudo.twin.network` read it."""
        network, circuit, layout = self._network, self._circuit, taker.layout
        passages = network.passages
        ends = ((other, "inlet"), (donor, "outlet"), (other, "outlet"), (donor, "inlet"))
        shown = tuple(x.element for port, side in ends for x in passages if getattr(x, side) == port)
        node = int(network.place_of(donor)[1])
        fixed = donor in circuit.ports or donor in circuit.reservoir_ports
        place = layout.reservoir_place.get(donor)
        open_to = circuit.reservoirs[place[0]] if place else None
        if fixed or (open_to is None and network.in_joint(donor)):
            return _Way(shown, (), node, 0.0)
        coming = tuple((x.element, _source(x, network)) for x in passages if x.outlet == donor)
        if open_to is None:
            return _Way(shown, coming, node, 0.0)
        return _Way(shown, coming, -1, saturation_temperature(open_to.pressure_Pa))

    def _value_matrix(self) -> tuple[Floats, Floats, Floats]:
        """Every channel is a sum over the row, but that the needle of a gauge rests on its pin."""
        width = int(self.run.row.size)
        asked = _without_frames(self.run)
        asked.frames = [np.vstack([np.zeros((1, width)), np.eye(width)])]
        results = Results(asked)
        names = list(self.channels)
        values, offsets = np.zeros((len(names), width)), np.zeros(len(names))
        least = np.full(len(names), -np.inf)
        for n, channel in enumerate(self.channels.values()):
            query, shift = channel.query, 0.0
            word, _, of = query.partition(" ")
            if word == "gauge":
                query, least[n] = f"pressure {of}.in", 0.0
                shift = float(self.run.machine.value(f"{of}.offset_bar"))
            series = results.series(query).values
            offsets[n] = series[0] + shift
            values[n] = series[1:] - series[0]
        return values, offsets, least

    def _seats(self) -> dict[str, _Seat]:
        names = self.run.assembly.names
        kinds = {device.part: device.kind for device in self._circuit.devices}
        found: dict[str, _Seat] = {}
        for member in self._circuit.members:
            command = member.command
            part = member.part.partition(".")[0]
            if command.kind == "input":
                found.setdefault(part, _Seat(command, names.inputs[command.name]))
            elif command.kind in ("load", "load_off"):
                found.setdefault(part, _Seat(command, names.loads[command.name]))
            elif command.kind in ("device", "device_off"):
                acting = (2.0, 3.0) if kinds[command.name] == "fill_control" else (1.0,)
                found.setdefault(part, _Seat(command, names.devices[command.name], acting))
        return found

    def _vessels(self) -> dict[str, tuple[int, float, float]]:
        """Of what stands partly filled: the row's number, and level = number * gain + offset."""
        names, zones, found = self.run.assembly.names.zones, self.run.tables.zone, {}
        for part in self._circuit.vessels:
            if " " not in part:
                found[part] = (self.start["zone"] + 2 * names[part] + 1, 1.0, 0.0)
        for part, reservoir in self._circuit.reservoirs.items():
            if reservoir.volume_m3 > 0.0:
                zone = zones[names[part]]
                gain = 1e-3 / reservoir.volume_m3
                shift = gain * float(zone.mass_reference)
                found[part] = (self.start["state"] + int(zone.mass), gain, shift)
        return found

    def temperature_nodes(self, parts: Sequence[str]) -> list[list[int]]:
        """Of each part the row's numbers of its metal's temperature, or of its water's where it has no
        metal; none where nothing is known."""
        found = []
        at = self.start["node"]
        for part in parts:
            if part in self._nodes:
                found.append([at + self._nodes[part]])
            else:
                found.append([at + n for name, n in self._nodes.items() if name.startswith(f"{part}.")])
        return found

    # --- read from a row

    def lines(self, row: Floats) -> list[LineNow]:
        """What passes every line of the machine file."""
        flows = (self.by_row @ row[self._columns]).tolist()
        at = self.start["element"]
        elements = row[at : self.start["node"]].tolist()
        nodes = row[self.start["node"] : self.start["edge"]].tolist()
        room_K = self.run.assembly.site.room_K
        return [
            _line(flow, ways[0] if flow >= 0.0 else ways[1], elements, nodes, room_K)
            for flow, ways in zip(flows, self._ways, strict=True)
        ]

    def values(self, row: Floats) -> Floats:
        """Every channel, in the unit its name ends in."""
        found: Floats = np.maximum(self._values @ row + self._offsets, self._least)
        return found

    def several(self, rows: Floats) -> Floats:
        """Every channel at several moments, one a row."""
        found: Floats = np.maximum(rows @ self._values.T + self._offsets, self._least)
        return found

    def openings(self) -> list[float]:
        """How far each of ``seats`` stands open now."""
        mode = self.run.mode
        return [_opening(seat, mode.inputs, mode.energised, mode.device) for seat in self.seats.values()]

    def levels(self, row: Floats) -> dict[str, float]:
        """Of vessels, tanks and trays: how full they are, 0 to 1."""
        return {
            part: round(float(row[n]) * gain + shift, 4) for part, (n, gain, shift) in self.vessels.items()
        }


def _without_frames(run: Run) -> Run:
    found = copy.copy(run)
    found.frames = []
    return found


def _source(passage: Passage, network: Network) -> int:
    """Node that what passes comes from; inside a chain of throats the chain's inlet."""
    return int(network.fixed_place(network.between.get(passage.inlet, (passage.inlet,))[0])[1])


def _line(flow: float, way: _Way, elements: list[float], nodes: list[float], room_K: float) -> LineNow:
    steam = air = 0.0
    for e in way.shown_by:
        if abs(elements[3 * e]) > LEAST_SHARED_KG_PER_S:
            steam = elements[3 * e + 1]
            air = max(1.0 - steam - elements[3 * e + 2], 0.0)
            break
    kelvin = room_K if way.node < 0 else nodes[way.node]
    for e, source in way.coming:
        if elements[3 * e] > MOVES_KG_PER_S:
            kelvin = nodes[source]
            if way.boils_K > 0.0:
                kelvin, flashed = _at_mouth(kelvin, way.boils_K, steam=elements[3 * e + 1] > 0.5)
                steam = max(steam, flashed)
            break
    contents = STEAM if steam > 0.5 else AIR if air > 0.5 else WATER
    return LineNow(flow, kelvin, contents)


def _at_mouth(kelvin: float, boils_K: float, *, steam: bool) -> tuple[float, float]:
    """Temperature and share of steam of what comes out at an open mouth, at constant enthalpy."""
    if steam:
        throttled_K = (vapour_enthalpy(kelvin)[0] - vapour_enthalpy(boils_K)[0]) / STEAM_CP_J_PER_KG_K
        return boils_K + throttled_K, 1.0
    if kelvin <= boils_K:
        return kelvin, 0.0
    boils_J = liquid_energy(boils_K)[0]
    excess_J = liquid_energy(kelvin)[0] - boils_J
    return boils_K, excess_J / (vapour_enthalpy(boils_K)[0] - boils_J)


def _opening(seat: _Seat, inputs: Floats, energised: Floats, devices: np.recarray) -> float:
    command = seat.command
    if command.kind == "input":
        share = (float(inputs[seat.index]) - command.start) / (command.full - command.start)
        return round(min(max(share, 0.0), 1.0), 3)
    if command.kind in ("load", "load_off"):
        on = float(energised[seat.index])
        return on if command.kind == "load" else 1.0 - on
    forced = float(devices["forced"][seat.index])
    on = float(forced > 0.5) if forced >= 0.0 else float(devices["phase"][seat.index] in seat.acting)
    return on if command.kind == "device" else 1.0 - on
