"""Takes the snapshot of a run: reads the kernel's work space at the moment the run has come to."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np

from collaudo.fluid.water import liquid_energy, saturation_temperature, vapour_enthalpy
from collaudo.machine.described import in_order
from collaudo.machine.model import Machine
from collaudo.parts.circuit import Circuit
from collaudo.parts.part import declared_fields
from collaudo.twin.kernel import tables as k
from collaudo.twin.kernel.heat import heat_flows
from collaudo.twin.kernel.potentials import impedance
from collaudo.twin.layout import Layout, Line, lay_out
from collaudo.twin.network import Network, Passage, network_of
from collaudo.twin.run import Run
from collaudo.twin.snapshot import (
    Circulation,
    ContactState,
    HeatFlow,
    LineFlow,
    LoadState,
    PartFlow,
    PortReading,
    Snapshot,
)
from collaudo.twin.zones import loop_of, make_zones

MOVES_KG_PER_S = 1e-6
"""Less than a milligram a second is a seat's leak or a gauge's breath."""
STEAM_CP_J_PER_KG_K = 2080.0
"""Heat capacity of steam at 1 atm, 100 degC (IAPWS-95: 2080 J/(kg K)); throttled steam keeps its enthalpy."""


def _changed(before: Machine, now: Machine) -> dict[str, float | str]:
    return {
        f"{name}.{key}": getattr(part, key)
        for name, part in now.parts.items()
        for key in declared_fields(type(part))
        if getattr(part, key) != getattr(before.parts[name], key)
    }


class Taker:
    """Reads one run. A class because all readings share circuit, layout and names."""

    def __init__(self, run: Run) -> None:
        self.run = run
        self.site = run.assembly.site
        self.circuit = Circuit(self.site, cell_factor=run.assembly.cell_factor)
        for part in in_order(run.machine):
            part.describe(self.circuit)
        self.lines = [
            Line(x.from_port, x.to_port, x.bore_mm * 1e-3, x.length_mm * 1e-3, x.fittings, x.line)
            for x in run.machine.lines
        ]
        self.layout: Layout = lay_out(self.circuit, self.lines)
        self.network: Network = network_of(self.layout, self.lines, run)

    def take(self, state: str, built: Machine) -> Snapshot:
        """All readings, under the name of a state; ``built`` tells which fields were changed since."""
        run, names = self.run, self.run.assembly.names
        cells = len(run.tables.cell)
        nodes = {**names.cells, **{wall: cells + n for wall, n in names.walls.items()}}
        return Snapshot(
            machine=run.machine.id,
            title=run.machine.title,
            state=state,
            time_s=run.time_s,
            site=asdict(self.site),
            ports={port: self._port(port) for port in self.network.ports},
            flows=tuple(self._flow(x) for x in self.network.passages),
            lines=self._lines(),
            circulations=self._circulations(),
            temperatures_degC={
                name: float(run.work.temperature[node]) - 273.15 for name, node in nodes.items()
            },
            levels=self._levels(),
            masses_g=self._masses(),
            elevations_mm=self._elevations(),
            inputs={name: float(run.mode.inputs[n]) for name, n in names.inputs.items()},
            devices={name: float(run.mode.device[n].phase) for name, n in names.devices.items()},
            contacts=self._contacts(),
            loads=self._loads(),
            heaters_W={name: float(run.work.power[n].sum()) for name, n in names.heaters.items()},
            duties={name: float(run.work.regulator[n].duty) for name, n in names.regulators.items()},
            heats=self._heats(),
            sensed=self._sensed(),
            fields=_changed(built, run.machine),
        )

    # --- water

    def _gauge_bar(self, zone: int) -> float:
        return (float(self.run.work.zone[zone].pressure) - self.site.atmosphere_Pa) * 1e-5

    def _port(self, port: str) -> PortReading:
        zone, cell, share = self.network.place_of(port)
        bar = self._gauge_bar(zone)
        if share > 0.0:
            other, _, _ = self.network.far_place_of(port)
            bar += share * (self._gauge_bar(other) - bar)
        degC = self._stream_degC(port)
        if degC is None:
            degC = float(self.run.work.temperature[cell]) - 273.15
        return PortReading(bar, degC, float(self.run.work.zone[zone].level))

    def _stream_degC(self, port: str) -> float | None:
        """Temperature of what comes out of a part by a port screwed to a vessel or open to the room; at an
        open mouth that nothing leaves, of the room. None anywhere else.

        Water that comes hotter than it boils there flashes on the way out and cools to its boiling point.
        """
        place = self.layout.reservoir_place.get(port)
        open_to = self.circuit.reservoirs[place[0]] if place else None
        if port in self.circuit.ports or port in self.circuit.reservoir_ports:
            return None
        if open_to is None and self.network.in_joint(port):
            return None  # what meets there has mixed
        coming = self._coming(port)
        if not coming:
            return self.site.room_K - 273.15 if open_to else None
        kelvin = self._source_K(coming[0])
        if open_to is None:
            return kelvin - 273.15
        boils_K = saturation_temperature(open_to.pressure_Pa)
        if float(self.run.work.element[coming[0].element].steam_share) > 0.5:
            throttled_K = (vapour_enthalpy(kelvin)[0] - vapour_enthalpy(boils_K)[0]) / STEAM_CP_J_PER_KG_K
            return boils_K + throttled_K - 273.15
        return min(kelvin, boils_K) - 273.15

    def _flow(self, passage: Passage) -> PartFlow:
        work = self.run.work.element[passage.element]
        return PartFlow(
            passage.part,
            passage.inlet,
            passage.outlet,
            float(work.flow) * 1e3,
            *self.network.shares(passage),
            passage.opening_share,
        )

    def _lines(self) -> tuple[LineFlow, ...]:
        found = []
        for line, flow, (steam, air) in zip(
            self.lines, self.network.line_flows, self.network.line_shares, strict=True
        ):
            donor = line.a if flow >= 0.0 else line.b
            leg = line in self.layout.legs
            degC = self._port(donor).temperature_degC
            with_flash = max(steam, self._flashed(donor))
            found.append(LineFlow(line.a, line.b, flow * 1e3, with_flash, air, degC, leg))
        return tuple(found)

    def _flashed(self, port: str) -> float:
        """Share of the water that turns to steam as it comes out at an open mouth, at constant enthalpy."""
        place = self.layout.reservoir_place.get(port)
        coming = self._coming(port)
        if place is None or not coming or port in self.circuit.reservoir_ports:
            return 0.0
        boils_K = saturation_temperature(self.circuit.reservoirs[place[0]].pressure_Pa)
        boils_J = liquid_energy(boils_K)[0]
        excess_J = liquid_energy(self._source_K(coming[0]))[0] - boils_J
        return max(excess_J, 0.0) / (vapour_enthalpy(boils_K)[0] - boils_J)

    def _coming(self, port: str) -> list[Passage]:
        """Passages that water leaves by ``port``."""
        return [
            x for x in self.network.passages if x.outlet == port and self.network.flow(x) > MOVES_KG_PER_S
        ]

    def _source_K(self, passage: Passage) -> float:
        """Temperature of what passes, where it comes from: inside a chain of throats the chain's inlet."""
        source = self.network.between.get(passage.inlet, (passage.inlet,))[0]
        return float(self.run.work.temperature[self.network.fixed_place(source)[1]])

    def _levels(self) -> dict[str, float]:
        names = self.run.assembly.names
        found = {v: float(self.run.work.zone[names.zones[v]].level) for v in self.circuit.vessels}
        masses = self._masses()
        for name, reservoir in self.circuit.reservoirs.items():
            if reservoir.volume_m3 > 0.0:
                found[name] = masses[name] * 1e-6 / reservoir.volume_m3
        return found

    def _masses(self) -> dict[str, float]:
        run, found = self.run, {}
        for name in (*self.circuit.vessels, *self.circuit.reservoirs):
            zone = run.tables.zone[run.assembly.names.zones[name]]
            found[name] = float(run.y[zone.mass] + zone.mass_reference) * 1e3
        return found

    def _elevations(self) -> dict[str, float]:
        ends = [port for leg in self.layout.legs for port in (leg.a, leg.b)]
        return {port: self.circuit.ports[port].elevation_m * 1e3 for port in ends}

    # --- circulation

    def _circulations(self) -> tuple[Circulation, ...]:
        found = []
        for zone in make_zones(self.layout, self.circuit.cell_factor):
            for chord in zone.chords:
                loop = loop_of(zone, chord)
                found.append(
                    self._circulation(
                        [zone.cell_names[cell] for cell, _ in loop.cells], [rise for _, rise in loop.cells]
                    )
                )
        return tuple(found)

    def _circulation(self, cells: list[str], rises: list[float]) -> Circulation:
        numbers = {f"{line.a} to {line.b}": n for n, line in enumerate(self.lines)}
        # Begin where a leg is entered, so that no leg is cut in two.
        begin = next(n for n, c in enumerate(cells) if ".leg" in c and ".leg" not in cells[n - 1])
        cells, rises = cells[begin:] + cells[:begin], rises[begin:] + rises[:begin]
        lines, ways = [], []
        for n, cell in enumerate(cells):
            leg, mark, number = cell.rpartition(".leg")
            if mark and numbers[leg] not in lines:
                lines.append(numbers[leg])
                onward = cells[n + 1].endswith(f".leg{int(number) + 1}") if n + 1 < len(cells) else False
                ways.append(1 if onward else -1)
        flows = [way * self.network.line_flows[n] * 1e3 for n, way in zip(lines, ways, strict=True)]
        turned = sum(flows) < 0.0
        if turned:
            cells, rises, lines, ways, flows = (
                cells[::-1],
                [-rise for rise in rises[::-1]],
                lines[::-1],
                [-way for way in ways[::-1]],
                [-flow for flow in flows],
            )
        least = min(flows, key=abs) if min(flows) > 0.0 else 0.0
        return Circulation(
            tuple(lines), tuple(ways), least, tuple(cells), tuple(rise * 1e3 for rise in rises)
        )

    # --- current and heat

    def _contacts(self) -> tuple[ContactState, ...]:
        closed = self.run.mode.closed
        return tuple(ContactState("wire", a, b, True) for a, b in self.run.machine.wires) + tuple(
            ContactState(x.part, x.a, x.b, bool(closed[n] > 0.0)) for n, x in enumerate(self.circuit.contacts)
        )

    def _loads(self) -> tuple[LoadState, ...]:
        mode, hertz = self.run.mode, float(self.run.tables.site[2])
        found = []
        for n, x in enumerate(self.circuit.loads):
            volts = float(mode.load_V[n])
            amps = volts / abs(impedance(x.ohm, x.henry, x.farad, hertz))
            found.append(LoadState(x.name, x.a, x.b, bool(mode.energised[n] > 0.0), volts, amps))
        return tuple(found)

    def _sensed(self) -> dict[str, float]:
        run, found = self.run, {}
        for n, lag in enumerate(self.circuit.lags):
            value = float(run.y[run.tables.lag[n].state])
            found[lag.part] = value * 1e-5 if lag.watch == "pressure" else value - 273.15
        return found

    def _heats(self) -> tuple[HeatFlow, ...]:
        """Every link on its own, by the kernel's own laws."""
        run, tb, wk = self.run, self.run.tables, self.run.work
        names = run.assembly.names
        nodes = {number: name for name, number in names.cells.items()}
        nodes |= {len(tb.cell) + number: name for name, number in names.walls.items()}
        nodes[len(tb.cell) + len(tb.wall)] = "room"
        income = wk.income.copy()
        found = []
        for n in range(tb.link.size):
            kind = int(np.searchsorted(tb.link_start, n, side="right")) - 1
            alone = np.where(np.arange(k.LINK_COUNT + 1) <= kind, n, n + 1).astype(np.int64)
            wk.income[:] = 0.0
            heat_flows(False, tb._replace(link_start=alone), wk)
            a, b = int(tb.link[n].a), int(tb.link[n].b)
            found.append(HeatFlow(_KINDS[kind], nodes[a], nodes[b], -float(wk.income[a])))
        wk.income[:] = income
        return tuple(found)


_KINDS = {
    k.LINK_FIXED: "fixed",
    k.LINK_ROOM: "room",
    k.LINK_WETTED: "wetted",
    k.LINK_CONVECTION: "convection",
    k.LINK_FLOW: "flow",
    k.LINK_MIXING: "mixing",
}
