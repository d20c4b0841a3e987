"""From parts, lines and wires to the kernel's arrays.

The order of everything follows from names and structure alone, so two assemblies of the same machine with
other
values of its fields give arrays of the same shape: a draw or a fault is the difference of their parameters.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collaudo.fluid.air import R_AIR
from collaudo.fluid.water import liquid_density, liquid_energy, saturation_pressure
from collaudo.laws.tube import turbulent_from
from collaudo.parts.circuit import Cell, Circuit, Command, Contact, Device, Pump, Site, Tube
from collaudo.parts.part import Part
from collaudo.twin.behind import contacts_of, heaters_behind
from collaudo.twin.kernel import tables as k
from collaudo.twin.kernel.flows import PORT_BAND, RESERVOIR_BAND
from collaudo.twin.layout import JUNCTION, Chain, Layout, Line, lay_out
from collaudo.twin.ordering import ordered_program, padded
from collaudo.twin.wiring import wire_up
from collaudo.twin.zones import LoopPath, Zone, loop_of, make_zones

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_LINKS = {
    "fixed": k.LINK_FIXED,
    "room": k.LINK_ROOM,
    "wetted": k.LINK_WETTED,
    "convection": k.LINK_CONVECTION,
    "flow": k.LINK_FLOW,
    "mixing": k.LINK_MIXING,
}
_COMMANDS = {
    "always": k.OPEN_ALWAYS,
    "input": k.OPEN_BY_INPUT,
    "load": k.OPEN_BY_LOAD,
    "load_off": k.OPEN_BY_LOAD_OFF,
    "device": k.OPEN_BY_DEVICE,
    "device_off": k.OPEN_BY_DEVICE_OFF,
}
_DEVICES = {
    "input": k.DEVICE_INPUT,
    "two_position": k.DEVICE_TWO_POSITION,
    "latch": k.DEVICE_LATCH,
    "relay": k.DEVICE_RELAY,
    "fill_control": k.DEVICE_FILL_CONTROL,
    "residual": k.DEVICE_RESIDUAL,
    "overcurrent": k.DEVICE_OVERCURRENT,
    "dose": k.DEVICE_DOSE,
    "window": k.DEVICE_WINDOW,
}
_WATCHES = {
    "nothing": k.WATCH_NOTHING,
    "pressure": k.WATCH_PRESSURE,
    "temperature": k.WATCH_TEMPERATURE,
    "lag": k.WATCH_LAG,
    "level": k.WATCH_LEVEL,
    "mass": k.WATCH_MASS,
    "meter": k.WATCH_METER,
}

# Tolerances: what one unit of relative tolerance may miss. At 1e-4: 100 Pa, 0.01 K, 10 mg/s of circulation.
PRESSURE_SCALE_PA = 1.0e5
TEMPERATURE_SCALE_K = 100.0
LOOP_SCALE_KG_PER_S = 1.0e-1
HAND_SCALE = 1.0


@dataclass
class Names:
    """What each number means."""

    zones: dict[str, int] = field(default_factory=dict)
    """Zone of each vessel's and reservoir's part."""
    cells: dict[str, int] = field(default_factory=dict)
    walls: dict[str, int] = field(default_factory=dict)
    elements: dict[str, int] = field(default_factory=dict)
    devices: dict[str, int] = field(default_factory=dict)
    loads: dict[str, int] = field(default_factory=dict)
    inputs: dict[str, int] = field(default_factory=dict)
    lags: dict[str, int] = field(default_factory=dict)
    heaters: dict[str, list[int]] = field(default_factory=dict)
    """Heaters of each heated part: one, or one for each leg of an element."""
    meters: dict[str, int] = field(default_factory=dict)
    regulators: dict[str, int] = field(default_factory=dict)
    states: list[str] = field(default_factory=list)
    ports: dict[str, int] = field(default_factory=dict)
    """Zone behind each port."""


@dataclass
class Assembly:
    """A machine ready to run: tables, names, cold start."""

    tables: k.Tables
    names: Names
    start: Floats
    inputs: Floats
    site: Site
    cell_factor: int = 1


def assemble(
    parts: list[Part], lines: list[Line], wires: list[tuple[str, str]], site: Site, cell_factor: int = 1
) -> Assembly:
    """Assemble a machine that has passed validation."""
    circuit = Circuit(site, cell_factor=cell_factor)
    for part in sorted(parts, key=lambda p: (p.kind != "mains", 0)):
        part.describe(circuit)
    return _Assembler(circuit, lay_out(circuit, lines), wires).run()


@dataclass
class _Element:
    name: str
    inlet: str
    outlet: str
    data: Chain | Tube | Pump | object


class _Assembler:
    """Numbers everything once. A class because all steps share the same growing tables."""

    def __init__(self, circuit: Circuit, layout: Layout, wires: list[tuple[str, str]]) -> None:
        self.circuit = circuit
        self.layout = layout
        self.wires = wires
        self.zones = make_zones(layout, circuit.cell_factor)
        self.names = Names()
        self.f: dict[str, Floats] = {}
        self.i: dict[str, Ints] = {}

    def run(self) -> Assembly:
        self._zones()
        self._cells()
        self._elements()
        self._heat()
        self._controls()
        self._number_states()
        tables = self._pack()
        return Assembly(
            tables,
            self.names,
            self._start(),
            np.array(list(self.circuit.inputs.values()), float),
            self.circuit.site,
            self.circuit.cell_factor,
        )

    # --- zones and cells

    def _zones(self) -> None:
        circuit, names = self.circuit, self.names
        for z, zone in enumerate(self.zones):
            for vessel in zone.vessels:
                names.zones[vessel.part] = z
        for r, reservoir in enumerate(circuit.reservoirs.values()):
            names.zones[reservoir.part] = len(self.zones) + r
        for port, place in self.layout.place.items():
            names.ports[port] = names.zones[place.vessel]
        for port, (part, _) in self.layout.reservoir_place.items():
            names.ports[port] = names.zones[part]
        vessels = [self._vessel_row(zone) for zone in self.zones]
        keys = list(vessels[0])
        rest = {key: [row[key] for row in vessels] for key in keys}
        for reservoir in circuit.reservoirs.values():
            heat = liquid_energy(reservoir.temperature_K)[0] / (reservoir.temperature_K - 273.15)
            row = dict.fromkeys(keys, 0.0)
            row.update(
                zone_volume=reservoir.volume_m3,
                zone_heat=heat if reservoir.mixes else 0.0,
                zone_pressure=reservoir.pressure_Pa,
                zone_level=reservoir.level,
                zone_compliance=1.0,
                zone_corner=1.0,
            )
            for key in keys:
                rest[key].append(row[key])
        self.f.update({key: np.array(values, float) for key, values in rest.items()})
        self.i["zone_is_vessel"] = np.array([1] * len(self.zones) + [0] * len(circuit.reservoirs), np.int64)
        self._pistons()

    def _pistons(self) -> None:
        """A piston closes a zone; each has a state, the hand."""
        inputs = list(self.circuit.inputs)
        rows = [(z, v.piston) for z, zone in enumerate(self.zones) for v in zone.vessels if v.piston]
        of_zone = -np.ones(len(self.i["zone_is_vessel"]), np.int64)
        for number, (z, _) in enumerate(rows):
            of_zone[z] = number
        self.i["zone_piston"] = of_zone
        self.i["piston_zone"] = np.array([z for z, _ in rows], np.int64)
        self.i["piston_input"] = np.array([inputs.index(p.input) for _, p in rows], np.int64)
        self.f["piston_stroke"] = np.array([p.stroke_m3 for _, p in rows])
        self.f["piston_preload"] = np.array([p.preload_Pa for _, p in rows])
        self.f["piston_compliance"] = np.array([p.compliance_m3_per_Pa for _, p in rows])

    def _vessel_row(self, zone: Zone) -> dict[str, float]:
        volume = sum(cell.volume_m3 for cell in zone.cells)
        compliance = sum(v.compliance_m3_per_Pa for v in zone.vessels)
        floor = max(v.gas_floor for v in zone.vessels)
        T, atmosphere = self.circuit.site.room_K, self.circuit.site.atmosphere_Pa
        rho = liquid_density(T)[0]
        water = self._water_of(zone)
        corner = max(2000.0 * compliance, 1e-6 * volume)
        if water is None:
            mass = rho * (
                volume * (1.0 - floor) + compliance * (atmosphere - saturation_pressure(T)[0]) + 0.5 * corner
            )
        else:
            mass = rho * water
        fixed = sum(self._fixed_volume(zone, c) for c in range(len(zone.cells) - 1)) * rho
        return {
            "zone_volume": volume,
            "zone_compliance": compliance,
            "zone_gas_floor": floor,
            "zone_corner": corner,
            "zone_mass_reference": mass,
            "zone_shrink_mass": 1.15 * fixed if fixed > 0.0 else 0.0,
            "zone_metal": sum(v.metal_J_per_K for v in zone.vessels),
            "zone_height": zone.vessels[0].height_m,
            "zone_pressure": 0.0,
            "zone_level": 0.0,
            "zone_heat": 0.0,
            # What fittings and hoses hold may miss as much again for each bar it stands under: that saves
            # one step in ten. Of heated vessels the books of energy would miss more than they may.
            "zone_scale_by_pressure": 1000.0 * compliance if zone.name.startswith(JUNCTION) else 0.0,
        }

    @staticmethod
    def _water_of(zone: Zone) -> float | None:
        return zone.vessels[0].water_m3 if len(zone.vessels) == 1 else None

    def _fixed_volume(self, zone: Zone, cell: int) -> float:
        return zone.cells[cell].volume_m3 * (1.0 - 1e-9)

    def _cells(self) -> None:
        circuit, names = self.circuit, self.names
        site = circuit.site
        rho = liquid_density(site.room_K)[0]
        zone_of: list[int] = []
        parent, mass, first, temperature = [], [], [0], []
        linear, quadratic, bore = [], [], []
        for z, zone in enumerate(self.zones):
            base = len(zone_of)
            for c, cell in enumerate(zone.cells):
                names.cells[zone.cell_names[c]] = base + c
                zone_of.append(z)
                parent.append(base + zone.parent[c] if zone.parent[c] >= 0 else -1)
                mass.append(rho * self._fixed_volume(zone, c) if zone.parent[c] >= 0 else 0.0)
                temperature.append(site.room_K)
                upper = zone.cells[zone.parent[c]] if zone.parent[c] >= 0 else cell
                a, b = self._resistance(cell, upper)
                linear.append(a)
                quadratic.append(b)
                bore.append(cell.bore_m)
            first.append(len(zone_of))
        for reservoir in circuit.reservoirs.values():
            names.cells[reservoir.part] = len(zone_of)
            zone_of.append(names.zones[reservoir.part])
            parent.append(-1)
            mass.append(0.0)
            temperature.append(reservoir.temperature_K)
            linear.append(0.0)
            quadratic.append(0.0)
            bore.append(0.0)
            first.append(len(zone_of))
        self.i["cell_zone"] = np.array(zone_of, np.int64)
        self.i["cell_parent"] = np.array(parent, np.int64)
        self.i["zone_first"] = np.array(first, np.int64)
        self.f["cell_mass"] = np.array(mass)
        self.f["cell_temperature"] = np.array(temperature)
        self.f["edge_linear"] = np.array(linear)
        self.f["edge_quadratic"] = np.array(quadratic)
        self.f["edge_bore"] = np.array(bore)
        self._loops()

    @staticmethod
    def _resistance(a: Cell, b: Cell) -> tuple[float, float]:
        """Half of each cell's length and fittings."""
        linear = quadratic = 0.0
        for cell in (a, b):
            bore, length, fittings = cell.bore_m, cell.length_m, cell.fittings
            if bore > 0.0:
                linear += 0.5 * 128.0 * length / (pi * bore**4)
                quadratic += 0.5 * fittings / (2.0 * (0.25 * pi * bore**2) ** 2)
        return linear, quadratic

    def _loops(self) -> None:
        rows: list[tuple[Zone, int, LoopPath]] = []
        base = 0
        for zone in self.zones:
            for chord in zone.chords:
                rows.append((zone, base, loop_of(zone, chord)))
            base += len(zone.cells)
        edge_start, cell_start = [0], [0]
        edges, signs, cells, rises = [], [], [], []
        for _, first, loop in rows:
            edges += [first + c for c, _ in loop.edges]
            signs += [s for _, s in loop.edges]
            cells += [first + c for c, _ in loop.cells]
            rises += [r for _, r in loop.cells]
            edge_start.append(len(edges))
            cell_start.append(len(cells))
        self.i["loop_from"] = np.array([f + p.start for _, f, p in rows], np.int64)
        self.i["loop_to"] = np.array([f + p.end for _, f, p in rows], np.int64)
        self.i["loop_edge_start"] = np.array(edge_start, np.int64)
        self.i["loop_edge"] = np.array(edges, np.int64)
        self.i["loop_edge_sign"] = np.array(signs, np.int64)
        self.i["loop_cell_start"] = np.array(cell_start, np.int64)
        self.i["loop_cell"] = np.array(cells, np.int64)
        self.f["loop_cell_rise"] = np.array(rises)
        inertia, linear, quadratic, block, volume = [], [], [], [], []
        for zone, _, loop in rows:
            around = [zone.cells[c] for c, _ in loop.cells]
            inertia.append(sum(c.length_m / (0.25 * pi * c.bore_m**2) for c in around if c.bore_m > 0.0))
            a, b = self._resistance(zone.cells[loop.start], zone.cells[loop.end])
            linear.append(a)
            quadratic.append(b)
            block.append(max(v.gas_block for v in zone.vessels))
            volume.append(zone.cells[-1].volume_m3)
        self.f["loop_inertia"] = np.array(inertia)
        self.f["loop_chord_linear"] = np.array(linear)
        self.f["loop_chord_quadratic"] = np.array(quadratic)
        self.f["loop_gas_block"] = np.array(block)
        self.f["loop_top_volume"] = np.array(volume)

    # --- elements

    def _elements(self) -> None:
        circuit = self.circuit
        liquid = [c for c in self.layout.chains if not c.members[0].vapour]
        vapour = [c for c in self.layout.chains if c.members[0].vapour]
        rows: list[_Element] = []
        starts = [0]
        for group in (
            [_Element(c.members[0].part, c.inlet, c.outlet, c) for c in liquid],
            [_Element(lift.part, lift.inlet, lift.outlet, lift) for lift in circuit.lifts],
            [_Element(tube.part, tube.inlet, tube.outlet, tube) for tube in self.layout.tubes],
            [_Element(p.part, p.inlet, p.outlet, p) for p in circuit.pumps if not p.vane],
            [_Element(p.part, p.inlet, p.outlet, p) for p in circuit.pumps if p.vane],
            [_Element(c.members[0].part, c.inlet, c.outlet, c) for c in vapour],
        ):
            rows += group
            starts.append(len(rows))
        self.i["law_start"] = np.array(starts, np.int64)
        ends = [(self._end(e.inlet), self._end(e.outlet)) for e in rows]
        for side, letter in ((0, "a"), (1, "b")):
            self.i[f"zone_{letter}"] = np.array([end[side][0] for end in ends], np.int64)
            self.i[f"cell_{letter}"] = np.array([end[side][1] for end in ends], np.int64)
            self.f[f"height_{letter}"] = np.array([end[side][2] for end in ends], float)
        volumes = [cell.volume_m3 for zone in self.zones for cell in zone.cells]
        self.f["volume"] = np.array(
            [min([volumes[c] for _, c, _ in end if c < len(volumes)], default=1.0) for end in ends]
        )
        for e, row in enumerate(rows):
            if isinstance(row.data, Chain):
                for member in row.data.members:
                    self.names.elements.setdefault(member.part, e)
                    if self.names.elements[member.part] != e:
                        self.names.elements[f"{member.part} {member.inlet}"] = e
            else:
                self.names.elements[row.name] = e
        self._element_parameters(liquid, vapour)
        self._meters()

    def _end(self, port: str) -> tuple[int, int, float]:
        """Zone, cell and level of a port; the band in which it is half covered lies inside the vessel."""
        if port in self.layout.place:
            place = self.layout.place[port]
            z, half = self.names.zones[place.vessel], 0.5 * PORT_BAND
            zone = self.zones[z]
            first = int(self.i["zone_first"][z])
            return z, first + zone.index[place.vessel, place.cell], min(max(place.level, half), 1.0 - half)
        part, level = self.layout.reservoir_place[port]
        z, half = self.names.zones[part], 0.5 * RESERVOIR_BAND
        return z, int(self.i["zone_first"][z]), min(max(level, half), 1.0 - half)

    def _meters(self) -> None:
        meters = self.circuit.meters
        self.names.meters = {x.part: n for n, x in enumerate(meters)}
        self.i["meter_element"] = np.array([self.names.elements[x.through] for x in meters], np.int64)
        self.f["meter_share"] = np.array([x.counted_share for x in meters])

    def _element_parameters(self, liquid: list[Chain], vapour: list[Chain]) -> None:
        circuit = self.circuit
        lifts, tubes = circuit.lifts, self.layout.tubes
        self.i["lift_below"] = np.array([x.opens == "below_outlet" for x in lifts], np.int64)
        self.f["lift_area"] = np.array([x.area_m2 for x in lifts])
        self.f["lift_cracking"] = np.array([x.cracking_Pa for x in lifts])
        self.f["lift_width"] = np.array([x.width_Pa for x in lifts])
        self.f["lift_leak"] = np.array([x.leak_kg_per_s_Pa for x in lifts])
        self.f["tube_bore"] = np.array([x.bore_m for x in tubes])
        self.f["tube_length"] = np.array([x.length_m for x in tubes])
        self.f["tube_roughness"] = np.array([x.roughness_m for x in tubes])
        self.f["tube_fittings"] = np.array([x.fittings for x in tubes])
        self.f["tube_turbulent_from"] = np.array([turbulent_from(x.roughness_m / x.bore_m) for x in tubes])
        pumps = [p for p in circuit.pumps if not p.vane] + [p for p in circuit.pumps if p.vane]
        loads = [x.name for x in circuit.loads]
        self.i["pump_load"] = np.array([loads.index(p.load) for p in pumps], np.int64)
        getters: dict[str, Callable[[Pump], float]] = {
            "pump_free": lambda p: p.free_m3_per_s,
            "pump_shutoff": lambda p: p.shutoff_Pa,
            "pump_bend": lambda p: p.bend,
            "pump_slip": lambda p: p.slip_m3_per_s_Pa,
            "pump_bypass_opens": lambda p: p.bypass_opens_Pa,
            "pump_bypass_gain": lambda p: p.bypass_m3_per_s_Pa,
            "pump_rest_area": lambda p: p.rest_area_m2,
            "pump_rest_cracking": lambda p: p.rest_cracking_Pa,
            "pump_back_leak": lambda p: p.back_leak_kg_per_s_Pa,
        }
        for key, get in getters.items():
            self.f[key] = np.array([get(p) for p in pumps])
        self.f["vapour_cracking"] = np.array([c.members[0].cracking_Pa for c in vapour])
        self.f["vapour_width"] = np.array([c.members[0].width_Pa for c in vapour])
        self.f["vapour_leak_area"] = np.array([c.members[0].leak_area_m2 for c in vapour])
        members = [(e, m) for e, chain in enumerate([*liquid, *vapour]) for m in chain.members]
        self.i["member_element"] = np.array([e for e, _ in members], np.int64)
        self.f["member_area"] = np.array([m.area_m2 for _, m in members])
        self.f["member_bed"] = np.array([m.bed_per_m3 for _, m in members])
        self.f["member_from"] = np.array([m.command.start for _, m in members])
        self.f["member_to"] = np.array([m.command.full for _, m in members])
        self.f["member_leak_area"] = np.array(
            [m.leak_area_m2 if m.cracking_Pa == 0 else 0.0 for _, m in members]
        )
        commands = [self._command(m.command) for _, m in members]
        self.i["member_command"] = np.array([c for c, _ in commands], np.int64)
        self.i["member_index"] = np.array([x for _, x in commands], np.int64)

    def _command(self, command: Command) -> tuple[int, int]:
        if command.kind == "input":
            return _COMMANDS["input"], list(self.circuit.inputs).index(command.name)
        if command.kind in ("load", "load_off"):
            return _COMMANDS[command.kind], [x.name for x in self.circuit.loads].index(command.name)
        if command.kind in ("device", "device_off"):
            return _COMMANDS[command.kind], [d.part for d in self.circuit.devices].index(command.name)
        return _COMMANDS["always"], 0

    # --- heat

    def _node(self, name: str) -> int:
        cells = len(self.i["cell_zone"])
        walls = list(self.circuit.walls)
        if name == "room":
            return cells + len(walls)
        if name in walls:
            return cells + walls.index(name)
        return self.names.cells[name]

    def _heat(self) -> None:
        circuit = self.circuit
        self.names.walls = {name: n for n, name in enumerate(circuit.walls)}
        self.f["wall_capacity"] = np.array([c for c, _ in circuit.walls.values()])
        self.f["fixed_temperature"] = np.array([circuit.site.room_K])
        links = sorted(circuit.links, key=lambda link: _LINKS[link.kind])
        starts = [sum(1 for x in links if _LINKS[x.kind] < kind) for kind in range(k.LINK_COUNT + 1)]
        self.i["link_kinds"] = np.array(starts, np.int64)
        self.i["link_a"] = np.array([self._node(x.a) for x in links], np.int64)
        self.i["link_b"] = np.array([self._node(x.b) for x in links], np.int64)
        self.f["link_gain"] = np.array([x.gain for x in links])
        self.f["link_second"] = np.array([x.second for x in links])
        self.f["link_from"] = np.array([x.start for x in links])
        self.f["link_to"] = np.array([x.full for x in links])
        at = []
        for x in links:
            if x.kind == "wetted":
                at.append(self.names.zones[x.at])
            elif x.kind == "flow":
                at.append(self.names.cells[x.at])
            else:
                at.append(0)
        self.i["link_zone"] = np.array(at, np.int64)
        loads = [x.name for x in circuit.loads]
        for n, (wall, _, _) in enumerate(circuit.heaters):
            self.names.heaters.setdefault(wall, []).append(n)
        self.i["heater_node"] = np.array([self._node(wall) for wall, _, _ in circuit.heaters], np.int64)
        self.i["heater_load"] = np.array([loads.index(load) for _, load, _ in circuit.heaters], np.int64)
        self.f["heater_ohm"] = np.array([ohm for _, _, ohm in circuit.heaters])

    # --- controls and wiring

    def _controls(self) -> None:
        circuit, names = self.circuit, self.names
        names.devices = {d.part: n for n, d in enumerate(circuit.devices)}
        names.loads = {x.name: n for n, x in enumerate(circuit.loads)}
        names.inputs = {name: n for n, name in enumerate(circuit.inputs)}
        names.lags = {lag.part: n for n, lag in enumerate(circuit.lags)}
        self.i["lag_watch"] = np.array([_WATCHES[x.watch] for x in circuit.lags], np.int64)
        self.i["lag_index"] = np.array([self._watched(x.watch, x.of) for x in circuit.lags], np.int64)
        self.f["lag_time"] = np.array([x.time_s for x in circuit.lags])
        devices = circuit.devices
        self.i["device_kind"] = np.array([_DEVICES[d.kind] for d in devices], np.int64)
        watched = [self._watched_by(d) for d in devices]
        self.i["device_watch"] = np.array([_WATCHES[watch] for watch, _, _ in watched], np.int64)
        self.i["device_index"] = np.array([self._watched(way, of) for _, way, of in watched], np.int64)
        self.i["device_load"] = np.array([names.loads[d.load] if d.load else -1 for d in devices], np.int64)
        self.i["device_input"] = np.array(
            [names.inputs[d.input] if d.input else 0 for d in devices], np.int64
        )
        self.f["device_high"] = np.array([d.high for d in devices])
        self.f["device_low"] = np.array([d.low for d in devices])
        self.f["device_on_delay"] = np.array([d.on_delay_s for d in devices])
        self.f["device_off_delay"] = np.array([d.off_delay_s for d in devices])
        self.f["device_time_out"] = np.array([d.time_out_s for d in devices])
        self.wiring = wire_up(circuit, self.wires, self._command)
        self._regulators([*(Contact("wire", a, b) for a, b in self.wires), *circuit.contacts])
        site = circuit.site
        self.f["site"] = np.array(
            [site.mains_V, circuit.rated_V, site.mains_Hz, circuit.rated_Hz, site.atmosphere_Pa]
        )

    def _regulators(self, contacts: list[Contact]) -> None:
        """Controllers, and for each heater the one that shares out its power; none where the contact is
        stuck."""
        circuit, names = self.circuit, self.names
        rows = circuit.regulators
        names.regulators = {x.part: n for n, x in enumerate(rows)}
        self.i["regulator_lag"] = np.array([names.lags[x.lag] for x in rows], np.int64)
        self.i["regulator_load"] = np.array([names.loads[x.load] for x in rows], np.int64)
        self.f["regulator_set"] = np.array([x.set_K for x in rows])
        self.f["regulator_band"] = np.array([x.band_K for x in rows])
        self.f["regulator_per_reset"] = np.array([1.0 / x.reset_s if x.reset_s > 0.0 else 0.0 for x in rows])
        self.f["regulator_rate"] = np.array([x.rate_s for x in rows])
        by = -np.ones(len(circuit.heaters), np.int64)
        regulated = np.zeros(len(circuit.heaters))
        for r, regulator in enumerate(rows):
            behind = heaters_behind(regulator.drives, circuit, contacts)
            own = contacts_of(regulator.drives, contacts)
            by[behind] = r
            regulated[behind] = float(all(x.command.kind != "always" for x in own))
        self.i["heater_regulator"], self.f["heater_regulated"] = by, regulated

    @staticmethod
    def _watched_by(device: Device) -> tuple[str, str, str]:
        """What a device watches, and how and where it is looked up."""
        if device.kind == "overcurrent":
            return device.watch, "own_current", device.part
        if device.kind == "dose" and device.of:
            return "meter", "meter", device.of
        return device.watch, device.watch, device.of

    def _watched(self, watch: str, of: str) -> int:
        if watch in ("pressure", "level", "mass"):
            return self.names.zones[of] if of in self.names.zones else self.names.ports[of]
        if watch == "temperature":
            return self._node(of)
        if watch == "own_current":
            return [contact.part for contact in self.circuit.contacts].index(of)
        if watch == "meter":
            return self.names.meters[of]
        if watch == "lag":
            return [lag.part for lag in self.circuit.lags].index(of)
        return 0

    # --- states

    def _number_states(self) -> None:
        keys: list[tuple[str, int]] = []
        vessels = len(self.zones)
        for z, zone in enumerate(self.zones):
            keys.append(("mass", z))
            keys.append(("air", z))
            first = int(self.i["zone_first"][z])
            keys += [("cell", first + c) for c in range(len(zone.cells))]
        keys += [("loop", n) for n in range(len(self.i["loop_from"]))]
        keys += [("wall", n) for n in range(len(self.circuit.walls))]
        keys += [("lag", n) for n in range(len(self.circuit.lags))]
        keys += [("integral", n) for n in range(len(self.circuit.regulators))]
        keys += [("hand", n) for n in range(len(self.i["piston_zone"]))]
        pattern = self._pattern(keys)
        order, program = ordered_program(pattern)
        self.i.update({name: np.asarray(values) for name, values in program._asdict().items()})
        self.i["tail"] = np.array([program.tail, padded(len(keys) - program.tail)], np.int64)
        keys = [keys[o] for o in order]
        number = {key: n for n, key in enumerate(keys)}
        n = len(keys)
        reservoirs = len(self.circuit.reservoirs)
        meters = len(self.circuit.meters)
        total = n + 2 * reservoirs + meters + 3
        self.i["zone_mass"] = np.array(
            [number["mass", z] for z in range(vessels)] + [n + 2 * r for r in range(reservoirs)], np.int64
        )
        self.i["zone_energy"] = np.array(
            [-1] * vessels + [n + 2 * r + 1 for r in range(reservoirs)], np.int64
        )
        room_air = n + 2 * reservoirs
        self.i["zone_air"] = np.array(
            [number.get(("air", z), -1) for z in range(vessels)] + [room_air] * reservoirs, np.int64
        )
        self.i["cell_state"] = np.array(
            [number.get(("cell", c), -1) for c in range(len(self.i["cell_zone"]))], np.int64
        )
        self.i["loop_state"] = np.array(
            [number["loop", x] for x in range(len(self.i["loop_from"]))], np.int64
        )
        self.i["wall_state"] = np.array([number["wall", x] for x in range(len(self.circuit.walls))], np.int64)
        self.i["lag_state"] = np.array([number["lag", x] for x in range(len(self.circuit.lags))], np.int64)
        regulators = len(self.circuit.regulators)
        self.i["regulator_state"] = np.array([number["integral", x] for x in range(regulators)], np.int64)
        pistons = len(self.i["piston_zone"])
        self.i["piston_state"] = np.array([number["hand", x] for x in range(pistons)], np.int64)
        self.i["meter_state"] = room_air + 1 + np.arange(meters, dtype=np.int64)
        self.i["state_count"] = np.array([n, total], np.int64)
        self._columns()
        self._tolerances(keys)

    def _columns(self) -> None:
        """States of each vessel in the kernel's order, of each thermal node, and zones that devices watch."""
        start, columns = [0], []
        for z in range(len(self.i["zone_is_vessel"])):
            if self.i["zone_is_vessel"][z]:
                first, end = self.i["zone_first"][z], self.i["zone_first"][z + 1]
                columns += [self.i["zone_mass"][z], self.i["zone_air"][z]]
                columns += list(self.i["cell_state"][first:end])
                if self.i["zone_piston"][z] >= 0:
                    columns.append(self.i["piston_state"][self.i["zone_piston"][z]])
            start.append(len(columns))
        self.i["zone_column_start"] = np.array(start, np.int64)
        self.i["zone_column"] = np.array(columns, np.int64)
        given = -np.ones(len(self.f["fixed_temperature"]), np.int64)
        self.i["node_state"] = np.concatenate([self.i["cell_state"], self.i["wall_state"], given])
        room = np.full(len(given), self.i["state_count"][1] - 2)
        cells = np.where(self.i["cell_state"] >= 0, self.i["cell_state"], self._energy_rows())
        self.i["node_row"] = np.concatenate([cells, self.i["wall_state"], room])
        watch, index = self.i["device_watch"], self.i["device_index"]
        of_zone = np.isin(watch, (k.WATCH_PRESSURE, k.WATCH_LEVEL))
        self.i["watched_zone"] = np.unique(index[of_zone]).astype(np.int64)

    def _energy_rows(self) -> Ints:
        """For each cell the quadrature of its reservoir's energy; -1 in vessels."""
        return np.array(self.i["zone_energy"])[self.i["cell_zone"]]

    def _streams(self) -> k.Records:
        """Both ways through each element."""
        out = k.records(2 * len(self.i["zone_a"]), k.STREAM)
        for way, (up, down) in enumerate((("a", "b"), ("b", "a"))):
            for name, side in (("up", up), ("down", down)):
                out[f"{name}_zone"][way::2] = self.i[f"zone_{side}"]
                out[f"{name}_cell"][way::2] = self.i[f"cell_{side}"]
            out["height"][way::2] = self.f[f"height_{up}"]
            vessel = self.i["zone_is_vessel"][self.i[f"zone_{up}"]] == 1
            out["band"][way::2] = np.where(vessel, PORT_BAND, RESERVOIR_BAND)
        return out

    def _tolerances(self, keys: list[tuple[str, int]]) -> None:
        absolute, relative = [], []
        cell_names = {v: name for name, v in self.names.cells.items()}
        walls, lags = list(self.circuit.walls), [x.part for x in self.circuit.lags]
        for kind, index in keys:
            if kind == "mass":
                size = 1000.0 * self.f["zone_compliance"][index] * PRESSURE_SCALE_PA
                if self._water_of(self.zones[index]) is not None:
                    size = max(size, 1000.0 * float(self.f["zone_volume"][index]))
                absolute.append(size)
                relative.append(0.0)
                self.names.states.append(f"mass of water in {self.zones[index].name}")
            elif kind == "air":
                absolute.append(1.2 * float(self.f["zone_volume"][index]))
                relative.append(1.0)
                self.names.states.append(f"mass of air in {self.zones[index].name}")
            elif kind == "loop":
                absolute.append(LOOP_SCALE_KG_PER_S)
                relative.append(1.0)
                self.names.states.append("circulation")
            elif kind == "lag" and self.i["lag_watch"][index] == k.WATCH_PRESSURE:
                absolute.append(PRESSURE_SCALE_PA)
                relative.append(0.0)
                self.names.states.append(f"pressure felt by {lags[index]}")
            elif kind == "hand":
                absolute.append(HAND_SCALE)
                relative.append(0.0)
                zone = self.zones[int(self.i["piston_zone"][index])]
                self.names.states.append(f"hand on the piston of {zone.name}")
            elif kind == "integral":
                absolute.append(TEMPERATURE_SCALE_K)
                relative.append(0.0)
                self.names.states.append(f"integral of {self.circuit.regulators[index].part}")
            else:
                absolute.append(TEMPERATURE_SCALE_K)
                relative.append(0.0)
                where = {
                    "cell": cell_names.get(index, ""),
                    "wall": walls[index] if kind == "wall" else "",
                }.get(kind, lags[index] if kind == "lag" else "")
                self.names.states.append(f"temperature of {where}")
            self.f["scale_absolute"] = np.array(absolute)
        self.f["scale_relative"] = np.array(relative)

    def _pattern(self, keys: list[tuple[str, int]]) -> NDArray[np.bool_]:
        """Which rate may depend on which state, over all modes."""
        n = len(keys)
        number = {key: m for m, key in enumerate(keys)}
        of_zone = self._zone_states(number)
        pattern = np.eye(n, dtype=bool)

        def depend(rows: set[int], columns: set[int]) -> None:
            pattern[np.ix_(sorted(rows), sorted(columns))] = True

        for states in of_zone:
            depend(states, states)
        for a, b in zip(self.i["zone_a"], self.i["zone_b"], strict=True):
            if a < len(of_zone) and b < len(of_zone):
                depend(of_zone[a] | of_zone[b], of_zone[a] | of_zone[b])
        for loop, cell in enumerate(self.i["loop_from"]):
            z = int(self.i["cell_zone"][cell])
            states, near = of_zone[z], self._near(z, of_zone)
            depend(states | {number["loop", loop]}, near | {number["loop", loop]})
        self._heat_pattern(number, pattern)
        self._stirred_pattern(number, of_zone, pattern)
        for lag, (watch, index) in enumerate(zip(self.i["lag_watch"], self.i["lag_index"], strict=True)):
            felt = of_zone[index] if watch == k.WATCH_PRESSURE else {self._state_of(int(index), number)}
            depend({number["lag", lag]}, felt)
        self._duty_pattern(number, pattern)
        return pattern

    def _zone_states(self, number: dict[tuple[str, int], int]) -> list[set[int]]:
        """States of each vessel zone."""
        of_zone: list[set[int]] = []
        for z in range(len(self.zones)):
            first, end = int(self.i["zone_first"][z]), int(self.i["zone_first"][z + 1])
            states = {number["mass", z], *(number["cell", c] for c in range(first, end))}
            if ("air", z) in number:
                states.add(number["air", z])
            if self.i["zone_piston"][z] >= 0:
                states.add(number["hand", int(self.i["zone_piston"][z])])
            of_zone.append(states)
        return of_zone

    def _near(self, z: int, of_zone: list[set[int]]) -> set[int]:
        """States of zone ``z`` and of all it exchanges water with."""
        near = set(of_zone[z]) if z < len(of_zone) else set()
        for a, b in zip(self.i["zone_a"], self.i["zone_b"], strict=True):
            near |= of_zone[b] if a == z and b < len(of_zone) else set()
            near |= of_zone[a] if b == z and a < len(of_zone) else set()
        return near

    def _duty_pattern(self, number: dict[tuple[str, int], int], pattern: NDArray[np.bool_]) -> None:
        """A controller's integral and what it heats follow the integral, what its lag shows and what that
        feels."""
        for r, lag in enumerate(self.i["regulator_lag"]):
            felt = self._state_of(int(self.i["lag_index"][lag]), number)
            columns = [number["integral", r], number["lag", int(lag)], felt]
            heated = self.i["heater_node"][self.i["heater_regulator"] == r]
            reached = [x for node in heated for x in self._heated_rows(int(node), number)]
            rows = [number["integral", r], *reached]
            for row in rows:
                for column in columns:
                    if row >= 0 and column >= 0:
                        pattern[row, column] = True

    def _heated_rows(self, node: int, number: dict[tuple[str, int], int]) -> list[int]:
        """Rows that heat given to a thermal node reaches: its own; of a vessel's cell, the top's too."""
        rows = [self._state_of(node, number)]
        if node < len(self.i["cell_zone"]) and ("cell", node) in number:
            z = int(self.i["cell_zone"][node])
            rows.append(number["cell", int(self.i["zone_first"][z + 1]) - 1])
        return rows

    def _state_of(self, node: int, number: dict[tuple[str, int], int]) -> int:
        cells = len(self.i["cell_zone"])
        if node < cells:
            return number.get(("cell", node), -1)
        return number.get(("wall", node - cells), -1)

    def _heat_pattern(self, number: dict[tuple[str, int], int], pattern: NDArray[np.bool_]) -> None:
        for a, b in zip(self.i["link_a"], self.i["link_b"], strict=True):
            states = [self._state_of(int(node), number) for node in (a, b)]
            rows = [row for node in (a, b) for row in self._heated_rows(int(node), number)]
            for row in rows:
                for column in states:
                    if row >= 0 and column >= 0:
                        pattern[row, column] = True

    def _stirred_pattern(
        self, number: dict[tuple[str, int], int], of_zone: list[set[int]], pattern: NDArray[np.bool_]
    ) -> None:
        """Walls whose heat goes with a flow follow all that drives that flow."""
        cells = len(self.i["cell_zone"])
        for link in range(*self.i["link_kinds"][k.LINK_FLOW : k.LINK_FLOW + 2]):
            ends = (int(self.i["link_a"][link]), int(self.i["link_b"][link]))
            walls = {self._state_of(node, number) for node in ends if node >= cells} - {-1}
            z = int(self.i["cell_zone"][self.i["link_zone"][link]])
            near = self._near(z, of_zone)
            near |= {
                number["loop", n] for n, c in enumerate(self.i["loop_from"]) if self.i["cell_zone"][c] == z
            }
            for wall in walls:
                pattern[wall, sorted(near)] = True

    # --- packing

    def _pack(self) -> k.Tables:
        known: dict[str, Any] = {**self.i, **self.f}
        renamed = {"loop_start": "loop_from", "loop_end": "loop_to", "link_at": "link_zone"}
        renamed |= {"member_start": "member_from", "member_full": "member_to"}
        renamed |= {"link_start": "link_from", "link_full": "link_to"}
        renamed |= {f"cell_{x}": f"edge_{x}" for x in ("linear", "quadratic", "bore")}

        def table(word: str, kind: np.dtype[Any], prefix: str | None = None) -> k.Records:
            names = kind.names or ()
            keys = [f"{word}_{n}" if prefix is None else f"{prefix}{n}" for n in names]
            columns = [known[renamed.get(key, key)] for key in keys]
            out = k.records(columns[0].size, kind)
            for name, column in zip(names, columns, strict=True):
                out[name] = column
            return out

        edges = k.records(self.i["loop_edge"].size, k.LOOP_EDGE)
        edges["cell"], edges["sign"] = self.i["loop_edge"], self.i["loop_edge_sign"]
        crossed = k.records(self.i["loop_cell"].size, k.LOOP_CELL)
        crossed["cell"], crossed["rise"] = self.i["loop_cell"], self.f["loop_cell_rise"]
        plain = ["zone_first", "zone_column_start", "zone_column", "node_state", "node_row", "watched_zone"]
        plain += ["lower_start", "lower_row", "upper_start", "upper_column", "whole_end", "tail"]
        plain += ["loop_edge_start", "loop_cell_start", "law_start", "fixed_temperature", "site"]
        return k.Tables(
            zone=table("zone", k.ZONE),
            piston=table("piston", k.PISTON),
            cell=table("cell", k.CELL),
            loop=table("loop", k.LOOP),
            loop_edge=edges,
            loop_cell=crossed,
            element=table("element", k.ELEMENT, ""),
            stream=self._streams(),
            lift=table("lift", k.LIFT),
            tube=table("tube", k.TUBE),
            pump=table("pump", k.PUMP),
            vapour=table("vapour", k.VAPOUR),
            member=table("member", k.MEMBER),
            wall=table("wall", k.WALL),
            link_start=self.i["link_kinds"],
            link=table("link", k.LINK),
            heater=table("heater", k.HEATER),
            regulator=table("regulator", k.REGULATOR),
            meter=table("meter", k.METER),
            lag=table("lag", k.LAG),
            contact=self.wiring.contact,
            load=self.wiring.load,
            resistor=self.wiring.resistor,
            source=self.wiring.source,
            device=table("device", k.DEVICE),
            supply=self.wiring.supply,
            state_count=self.i["state_count"],
            state=table("state", k.STATE, ""),
            **{name: known[name] for name in plain},
        )

    def _start(self) -> Floats:
        site, circuit = self.circuit.site, self.circuit
        y = np.zeros(int(self.i["state_count"][1]))
        for z, zone in enumerate(self.zones):
            if self.i["zone_air"][z] < 0:
                continue
            water = self._water_of(zone)
            volume = float(self.f["zone_volume"][z])
            if water is None:
                gas = sum(v.caught_air_m3 for v in zone.vessels)
                y[self.i["zone_mass"][z]] -= liquid_density(site.room_K)[0] * gas
            else:
                gas = volume - water
            pressure = site.atmosphere_Pa - saturation_pressure(site.room_K)[0]
            y[self.i["zone_air"][z]] = pressure * gas / (R_AIR * site.room_K)
        y[self.i["cell_state"][self.i["cell_state"] >= 0]] = site.room_K
        y[self.i["wall_state"]] = site.room_K
        for lag in range(len(circuit.lags)):
            y[self.i["lag_state"][lag]] = 0.0 if self.i["lag_watch"][lag] == k.WATCH_PRESSURE else site.room_K
        for reservoir in circuit.reservoirs.values():
            z = self.names.zones[reservoir.part]
            y[self.i["zone_mass"][z]] = reservoir.water_kg
            y[self.i["zone_energy"][z]] = reservoir.water_kg * liquid_energy(reservoir.temperature_K)[0]
        return y
