"""Steady flow through networks of library parts against EPANET 2.2, an independent public-domain program.

EPANET (Rossman et al., EPANET 2.2 User Manual, EPA/600/R-20/133, 2020) is run through the library wntr on the
same networks. It takes Darcy-Weisbach friction with the explicit formula of Swamee and Jain, given as within
1 % of the Colebrook equation used here from Re 5000 on (Swamee & Jain, J. Hydraul. Div. 102 (1976) 657); for
these roughnesses that holds from Re 8000 on, below it the two part by up to 1.9 %. So every tube here is
turbulent above Re 8000 or laminar below 2000 (between them EPANET follows a curve of its own), and flows and
losses must agree within 1 %. EPANET's constants: g = 32.2 ft/s2; kinematic viscosity 1.1e-5 ft2/s times the
factor given.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from pathlib import Path
from typing import Any

import pytest

from collaudo.errors import QuantityError, RunError
from collaudo.fluid.water import liquid_density, liquid_viscosity
from collaudo.laws.pump import vane_pump_flow, vibration_pump_flow
from collaudo.machine.load import find_machine
from collaudo.machine.model import LineBetween, Machine
from collaudo.parts.check_valve import CheckValve
from collaudo.parts.circuit import Circuit, Site
from collaudo.parts.mains import Mains
from collaudo.parts.part import Part
from collaudo.parts.receiver import Receiver
from collaudo.parts.strainer import Strainer
from collaudo.parts.tube import FrictionTube
from collaudo.parts.vane_pump import VanePump
from collaudo.parts.vibration_pump import VibrationPump
from collaudo.parts.water_line import WaterLine
from collaudo.twin.run import Run
from collaudo.twin.steady import settle

FOOT_M = 0.3048
G = 32.2 * FOOT_M
EPANET_VISCOSITY_M2_PER_S = 1.1e-5 * FOOT_M**2

# Pure water at 20 degC and one atmosphere: density 998.2 kg/m3 (IAPWS-95), viscosity 1.0016 mPa s (IAPWS
# R12-08, and ISO/TR 3666:1998).
ROOM_K, DENSITY, VISCOSITY_M2_PER_S = 293.15, 998.2, 1.0034e-6
AGREES = 0.01


@dataclass(frozen=True)
class Network:
    """Parts and the nodes each lies between. ``feeds`` are water lines, ``cups`` stand open in the room."""

    feed_bar: float
    parts: dict[str, tuple[Part, str, str]]
    site: Site
    feeds: tuple[str, ...] = ("feed",)
    cups: tuple[str, ...] = ("cup",)

    def node_ports(self) -> dict[str, list[str]]:
        ports: dict[str, list[str]] = {}
        for part, a, b in self.parts.values():
            ports.setdefault(a, []).append(part.at("in"))
            ports.setdefault(b, []).append(part.at("out"))
        return ports


def network(feed_bar: float, *parts: tuple[Part, str, str], **more: Any) -> Network:
    temperature_K = more.pop("temperature_K", ROOM_K)
    site = Site(feed_Pa=feed_bar * 1e5, feed_K=temperature_K, room_K=temperature_K)
    return Network(feed_bar, {part.name: (part, a, b) for part, a, b in parts}, site, **more)


def tube(name: str, a: str, b: str, length_m: float, bore_mm: float, k: float = 0.0) -> tuple[Part, str, str]:
    return FrictionTube(name, bore_mm, 1e3 * length_m, 1.5, k), a, b


def strainer(name: str, a: str, b: str, bore_mm: float) -> tuple[Part, str, str]:
    return Strainer(name, bore_mm), a, b


# --- the same network, as a machine ----------------------------------------------------------------------


def as_machine(net: Network) -> Machine:
    """Straight from parts and lines: these are no espresso machines, so the rules for those are not asked."""
    parts: dict[str, Part] = {"mains": Mains("mains")}
    parts |= {name: WaterLine(name) for name in net.feeds} | {name: Receiver(name) for name in net.cups}
    parts |= {name: part for name, (part, _, _) in net.parts.items()}
    lines = []
    for node, ports in net.node_ports().items():
        if node in net.feeds:
            ends = [(f"{node}.out", port) for port in ports]
        elif node in net.cups:
            ends = list(zip(map(parts[node].at, parts[node].ports), ports, strict=False))
            assert len(ends) == len(ports), "a cup has four ports"
        else:
            ends = [(ports[0], port) for port in ports[1:]]
        lines += [LineBetween(a, b, 4.0, 10.0) for a, b in ends]
    wires = []
    for name, (part, _, _) in net.parts.items():
        if part.terminals:
            wires += [("mains.live", f"{name}.live"), (f"{name}.neutral", "mains.neutral")]
    return Machine("network", "network", parts, tuple(lines), tuple(wires))


def solved_here(net: Network) -> tuple[dict[str, float], dict[str, float]]:
    """Flow [m3/s] of every part and gauge pressure [Pa] at every node, once settled."""
    run = Run.of(as_machine(net), net.site, rtol=1e-6, keep=False)
    settle(run, tolerance_Pa=0.1, tolerance_kg_per_s=1e-8)
    names, work = run.assembly.names, run.work
    rho = liquid_density(net.site.room_K)[0]
    flows = {name: float(work.element[names.elements[name]].flow) / rho for name in net.parts}
    pressures = {
        node: float(work.zone[names.ports[ports[0]]].pressure) - net.site.atmosphere_Pa
        for node, ports in net.node_ports().items()
    }
    return flows, pressures


# --- the same network, in EPANET -------------------------------------------------------------------------


def solved_by_epanet(net: Network, folder: Path) -> tuple[dict[str, float], dict[str, float]]:
    wntr = pytest.importorskip("wntr")
    model = wntr.network.WaterNetworkModel()
    hydraulic = model.options.hydraulic
    with pytest.warns(UserWarning, match="will not change the units of the roughness"):
        hydraulic.headloss = "D-W"  # before any pipe is there
    hydraulic.inpfile_units = "LPM"
    hydraulic.accuracy, hydraulic.trials = 1e-9, 500
    hydraulic.viscosity = VISCOSITY_M2_PER_S / EPANET_VISCOSITY_M2_PER_S
    for node in net.node_ports():
        if node in net.feeds:
            model.add_reservoir(node, net.feed_bar * 1e5 / (DENSITY * G))
        elif node not in net.cups:
            model.add_junction(node, base_demand=0.0, elevation=0.0)
    emitters = {a: part for part, a, b in net.parts.values() if b in net.cups}
    assert len(emitters) == sum(b in net.cups for _, _, b in net.parts.values()), "one emitter a node"
    for name, (part, a, b) in net.parts.items():
        if b not in net.cups:
            add_to_epanet(model, name, part, a, b)
    for node, part in emitters.items():
        assert isinstance(part, Strainer)
        model.get_node(node).emitter_coefficient = throat_m2(part.bore_mm) * sqrt(2.0 * G)
    found = wntr.sim.EpanetSimulator(model).run_sim(file_prefix=str(folder / "network"), version=2.2)
    flows = {name: float(found.link["flowrate"][name].iloc[0]) for name in model.link_name_list}
    for node, part in emitters.items():
        flows[part.name] = float(found.node["demand"][node].iloc[0])
    heads = {node: float(found.node["head"][node].iloc[0]) for node in model.node_name_list}
    return flows, {node: head * DENSITY * G for node, head in heads.items()}


def throat_m2(bore_mm: float) -> float:
    """Effective area of a strainer's or an open check valve's bore, discharge coefficient 0.7."""
    return 0.7 * 0.25 * pi * (bore_mm * 1e-3) ** 2


def add_to_epanet(model: Any, name: str, part: Part, a: str, b: str) -> None:
    if isinstance(part, FrictionTube):
        model.add_pipe(
            name,
            a,
            b,
            length=part.si("length_mm"),
            diameter=part.si("bore_mm"),
            roughness=part.si("roughness_um"),
            minor_loss=part.fittings_count,
            check_valve=name.startswith("one_way"),
        )
    elif isinstance(part, CheckValve | Strainer):
        # a throat in a line loses (1 / 0.7^2) velocity heads of its bore
        loss = 1.0 / 0.7**2
        model.add_valve(
            name,
            a,
            b,
            part.si("bore_mm"),
            "TCV",
            minor_loss=loss,
            initial_setting=loss,
            initial_status="Open",
        )
    else:
        model.add_curve(f"{name}_curve", "HEAD", pump_points(part))
        model.add_pump(name, a, b, "HEAD", f"{name}_curve")


def pump_points(part: Part) -> list[tuple[float, float]]:
    """(flow [m3/s], head [m]) along a pump's curve; EPANET goes straight from point to point."""
    circuit = Circuit(Site())
    part.describe(circuit)
    pump = circuit.pumps[0]
    end_Pa = 16e5
    points = []
    for k in range(200, -1, -1):
        rise_Pa = end_Pa * k / 200
        if pump.vane:
            flow, _ = vane_pump_flow(
                rise_Pa,
                pump.free_m3_per_s,
                pump.slip_m3_per_s_Pa,
                pump.bypass_opens_Pa,
                pump.bypass_m3_per_s_Pa,
            )
        else:
            flow, _ = vibration_pump_flow(rise_Pa, pump.free_m3_per_s, pump.shutoff_Pa, pump.bend)
        flow -= pump.back_leak_kg_per_s_Pa * rise_Pa / DENSITY
        if flow >= 0.0 and (not points or flow > points[-1][0]):
            points.append((flow, rise_Pa / (DENSITY * G)))
    return points


# --- networks -------------------------------------------------------------------------------------------

SERIES = network(
    8.0,
    tube("supply", "feed", "a", 2.0, 8.0, 3.0),
    tube("hose", "a", "b", 1.5, 6.0, 2.0),
    tube("pipe", "b", "c", 0.8, 4.0, 1.5),
    strainer("jet", "c", "cup", 2.0),
)
PARALLEL = network(
    9.0,
    tube("supply", "feed", "a", 2.0, 8.0, 3.0),
    tube("short", "a", "b", 1.2, 4.0),
    tube("wide", "a", "b", 2.4, 5.0, 10.0),
    tube("outlet", "b", "c", 0.5, 6.0),
    strainer("jet", "c", "cup", 2.6),
)
BRANCHED = network(
    9.0,
    tube("supply", "feed", "a", 1.5, 6.0, 2.0),
    strainer("mesh", "a", "b", 3.0),
    tube("left", "b", "c", 0.8, 4.0, 1.5),
    tube("right", "b", "d", 0.6, 4.0, 1.0),
    strainer("left_jet", "c", "cup", 1.4),
    strainer("right_jet", "d", "cup", 2.0),
)
BRIDGE = network(
    9.0,
    tube("supply", "feed", "a", 1.0, 8.0, 1.0),
    tube("upper", "a", "b", 1.0, 4.0),
    tube("lower", "a", "c", 3.0, 4.0),
    tube("bridge", "b", "c", 0.5, 3.0),
    strainer("upper_jet", "b", "cup", 1.5),
    strainer("lower_jet", "c", "cup", 2.0),
)
OPEN_CHECK_VALVE = network(
    9.0,
    tube("supply", "feed", "a", 1.0, 6.0),
    (CheckValve("valve", bore_mm=2.0, leak_ml_per_min_at_9_bar=0.0), "a", "b"),
    tube("outlet", "b", "c", 1.0, 4.0, 2.0),
    strainer("jet", "c", "cup", 1.8),
)
CAPILLARIES = network(
    2.0,
    tube("wide", "feed", "n1", 1.0, 4.0),
    tube("narrow", "n1", "n2", 1.0, 0.8),
    tube("short", "n2", "n3", 0.5, 0.5),
    tube("long", "n2", "n3", 1.0, 0.5),
    strainer("jet", "n3", "cup", 0.2),
)
VANE_PUMPED = network(
    1.0,
    tube("suction", "feed", "a", 1.0, 4.0, 3.0),
    (VanePump("pump"), "a", "b"),
    tube("pressure", "b", "c", 1.0, 4.0, 2.0),
    tube("left", "c", "d", 0.2, 2.0),
    tube("right", "c", "e", 1.6, 2.8, 4.0),
    strainer("left_jet", "d", "cup", 0.9),
    strainer("right_jet", "e", "cup", 1.0),
)
VIBRATION_PUMPED = network(
    0.5,
    tube("suction", "feed", "a", 0.5, 4.0),
    (VibrationPump("pump"), "a", "b"),
    tube("short", "b", "c", 1.0, 2.0),
    tube("long", "b", "c", 2.0, 2.0),
    strainer("jet", "c", "cup", 0.4),
)
NETWORKS = {
    "tubes in series": SERIES,
    "tubes in parallel": PARALLEL,
    "two branches behind a mesh": BRANCHED,
    "a bridge between two ways": BRIDGE,
    "an open check valve": OPEN_CHECK_VALVE,
    "laminar capillaries": CAPILLARIES,
    "a vane pump": VANE_PUMPED,
    "a vibration pump": VIBRATION_PUMPED,
}


def test_water_at_20_degrees_is_that_given_to_epanet() -> None:
    rho = liquid_density(ROOM_K)[0]
    assert rho == pytest.approx(DENSITY, rel=1e-4)  # 998.2: last digit is 1e-4 of it
    assert liquid_viscosity(ROOM_K) / rho == pytest.approx(VISCOSITY_M2_PER_S, rel=2e-3)


@pytest.mark.parametrize("net", NETWORKS.values(), ids=NETWORKS)
def test_tubes_are_where_both_friction_formulas_hold(net: Network) -> None:
    flows, _ = solved_here(net)
    for name, (part, _, _) in net.parts.items():
        if isinstance(part, FrictionTube):
            reynolds = 4.0 * flows[name] / (pi * part.si("bore_mm") * VISCOSITY_M2_PER_S)
            assert 10.0 < reynolds < 2000.0 or reynolds > 8000.0, name


@pytest.mark.parametrize("net", NETWORKS.values(), ids=NETWORKS)
def test_flows_and_pressures_agree_with_epanet_within_one_percent(net: Network, tmp_path: Path) -> None:
    flows, pressures = solved_here(net)
    their_flows, their_pressures = solved_by_epanet(net, tmp_path)
    assert flows == pytest.approx(their_flows, rel=AGREES)
    for name, (_, a, b) in net.parts.items():
        theirs = their_pressures[a] - their_pressures.get(b, 0.0)
        assert pressures[a] - pressures[b] == pytest.approx(theirs, rel=AGREES), name


def with_second_line(last: tuple[Part, str, str], *more: tuple[Part, str, str]) -> Network:
    return network(9.0, *PARALLEL.parts.values(), last, *more, feeds=("feed", "high_line"))


def test_a_check_valve_stays_shut_against_a_higher_line_as_in_epanet(tmp_path: Path) -> None:
    valve = CheckValve("valve", leak_ml_per_min_at_9_bar=0.0)
    flows, pressures = solved_here(
        with_second_line((valve, "c", "d"), tube("back", "d", "high_line", 1.0, 6.0))
    )
    theirs, their_pressures = solved_by_epanet(
        with_second_line(tube("one_way_back", "c", "high_line", 1.0, 6.0)), tmp_path
    )
    assert pressures["d"] == pytest.approx(9e5, abs=1.0)
    assert pressures["c"] < pressures["d"]
    assert flows["valve"] == pytest.approx(0.0, abs=1e-12)
    assert theirs.pop("one_way_back") == pytest.approx(0.0, abs=1e-9)
    assert {name: flows[name] for name in theirs} == pytest.approx(theirs, rel=AGREES)
    assert pressures["c"] == pytest.approx(their_pressures["c"], rel=AGREES)


# --- printed results: four laminar capillaries between 20 m and 0 m ----------------------------------------


def temperature_of_viscosity_K(viscosity_m2_per_s: float) -> float:
    low, high = 280.0, 310.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if liquid_viscosity(middle) / liquid_density(middle)[0] > viscosity_m2_per_s:
            low = middle
        else:
            high = middle
    return low


def test_laminar_capillaries_pass_what_hagen_poiseuille_and_epanet_say() -> None:
    """EPANET 2.2 prints heads to 1e-6 m and flows to 1e-7 l/s; Hagen-Poiseuille gives ten digits of them.

    No friction formula enters, so agreement is to 1e-5: the digits of g and of the viscosity.
    """
    temperature_K = temperature_of_viscosity_K(EPANET_VISCOSITY_M2_PER_S)
    head_Pa = liquid_density(temperature_K)[0] * G
    flows, pressures = solved_here(
        network(
            20.0 * head_Pa * 1e-5,
            tube("q1", "feed", "n1", 1.0, 4.0),
            tube("q2", "n1", "n2", 1.0, 0.8),
            tube("q3", "n2", "cup", 0.5, 0.5),
            tube("q4", "n2", "cup", 1.0, 0.5),
            temperature_K=temperature_K,
        )
    )
    litres = {name: 1e3 * flow for name, flow in flows.items()}
    hagen_poiseuille = {"q1": 6.060579e-4, "q2": 6.060579e-4, "q3": 4.040386e-4, "q4": 2.020193e-4}
    assert litres == pytest.approx(hagen_poiseuille, rel=1e-5)
    assert pressures["n1"] / head_Pa == pytest.approx(19.989956, abs=2e-6)
    assert pressures["n2"] / head_Pa == pytest.approx(13.712755, abs=2e-5)


# --- settling ---------------------------------------------------------------------------------------------


def test_settling_twice_changes_nothing() -> None:
    run = Run.of(as_machine(BRIDGE), BRIDGE.site, rtol=1e-6)
    first = settle(run)
    pressures = run.work.zone["pressure"].copy()
    again = settle(run)
    assert first.took_s > again.took_s > 0.0
    assert run.work.zone["pressure"] == pytest.approx(pressures, abs=1.0)


def test_too_short_a_limit_is_refused_naming_the_place_that_still_moves() -> None:
    run = Run.of(as_machine(SERIES), SERIES.site)
    with pytest.raises(RunError, match=r"no steady flow within 0\.0001 s.*junction of .*moved") as refused:
        settle(run, limit_s=1e-4)
    assert refused.value.part.startswith("junction of")
    assert refused.value.time_s == pytest.approx(1e-4)


def test_a_machine_that_heats_has_no_steady_flow() -> None:
    run = Run.of(find_machine("hx-rotary"), keep=False)
    run.set_input("power", 1.0)
    with pytest.raises(RunError, match=r"no steady flow within 120 s.*stop what heats"):
        settle(run, limit_s=120.0)


def test_a_tube_rougher_than_the_friction_law_covers_is_refused() -> None:
    with pytest.raises(QuantityError, match=r"with a bore of 0\.5 mm it can be 0 to 25$"):
        FrictionTube("capillary", bore_mm=0.5, roughness_um=26.0).describe(Circuit(Site()))
