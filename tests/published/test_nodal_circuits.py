"""The nodal solver beside worked examples of textbooks and beside general-purpose libraries.

Tolerances are half a unit of the last digit printed, unless said otherwise.
"""

from __future__ import annotations

from cmath import phase, rect
from math import degrees, isfinite, radians, sqrt

import networkx
import numpy as np
import pytest
from scipy.sparse import csr_array, identity, vstack
from scipy.sparse.linalg import spsolve

from collaudo.current.network import Condition, network_of
from collaudo.current.nodal import Branch, Solved, solve
from collaudo.machine.described import described
from collaudo.machine.load import find_machine

GROUND = {"0": 0j}


def current_source(name: str, node: str, amps: float, ohm: float) -> tuple[Branch, dict[str, complex]]:
    """A current into a node beside a resistance to ground, as the voltage behind a resistance it equals."""
    return Branch(name, f"behind {name}", node, ohm), {f"behind {name}": complex(amps * ohm)}


# -- C. K. Alexander, M. N. O. Sadiku, Fundamentals of Electric Circuits


def test_two_node_voltages() -> None:
    """Example 3.1: 5 A into node 1, 10 A less 5 A into node 2; 2, 4 and 6 ohm: 13.333 V and 20 V."""
    two, first = current_source("2 ohm", "1", 5.0, 2.0)
    six, second = current_source("6 ohm", "2", 5.0, 6.0)
    found = solve([two, six, Branch("4 ohm", "1", "2", 4.0)], {**first, **second}, 0.0).potential_V
    assert found["1"].real == pytest.approx(13.333, abs=0.5e-3)
    assert found["2"].real == pytest.approx(20.0, abs=1e-9)


def unbalanced_star() -> Solved:
    """Example 12.10: 120 V abc, j5, 10 and -j10 ohm in star without neutral (here at 50 Hz)."""
    turns = 2.0 * np.pi * 50.0
    legs = [
        Branch("a", "A", "star", 0.0, henry=5.0 / turns),
        Branch("b", "B", "star", 10.0),
        Branch("c", "C", "star", 0.0, farad=1.0 / (10.0 * turns)),
    ]
    sources = {node: rect(120.0, radians(angle)) for node, angle in (("A", 0), ("B", -120), ("C", 120))}
    return solve(legs, sources, 50.0)


@pytest.mark.parametrize(
    ("leg", "amps", "angle_deg"), [("a", 56.78, 0.0), ("b", 25.46, 135.0), ("c", 42.75, -155.1)]
)
def test_line_currents_of_an_unbalanced_star(leg: str, amps: float, angle_deg: float) -> None:
    """Example 12.10. The book squares rounded mesh currents: 0.01 A and 0.05 degrees."""
    found = unbalanced_star().current_A[leg]
    assert abs(found) == pytest.approx(amps, abs=0.015)
    assert degrees(phase(found)) == pytest.approx(angle_deg, abs=0.05)


def test_complex_power_of_an_unbalanced_star() -> None:
    """Example 12.10: 6480 VA, j16 120 VA and -j18 276 VA, from currents of four digits: 1e-3 of each."""
    found = unbalanced_star()
    node = found.potential_V
    powers = {name: (node[name.upper()] - node["star"]) * found.current_A[name].conjugate() for name in "abc"}
    assert powers["a"] == pytest.approx(16120j, rel=1e-3)
    assert powers["b"] == pytest.approx(6480, rel=1e-3)
    assert powers["c"] == pytest.approx(-18276j, rel=1e-3)


def test_the_star_point_shifts_as_millmans_theorem_says() -> None:
    """J. Millman, Proc. IRE 28 (1940) 413: V = sum(E Y) / sum(Y)."""
    found = unbalanced_star()
    admittance = {"A": 1.0 / 5j, "B": 0.1, "C": 1.0 / -10j}
    weighted = sum(found.potential_V[node] * y for node, y in admittance.items())
    assert found.potential_V["star"] == pytest.approx(weighted / sum(admittance.values()), rel=1e-9)


# -- bridge


def test_current_through_the_galvanometer_of_an_unbalanced_bridge() -> None:
    """NCERT, Physics for class XII part 1, chapter Current electricity, the bridge of 100, 10, 5 and 60 ohm:
    10 V, galvanometer 15 ohm: 4.87 mA."""
    arms = [("AB", 100.0), ("BC", 10.0), ("CD", 5.0), ("DA", 60.0), ("BD", 15.0)]
    found = solve([Branch(way, way[0], way[1], ohm) for way, ohm in arms], {"A": 10 + 0j, "C": 0j}, 0.0)
    assert 1e3 * found.current_A["BD"].real == pytest.approx(4.87, abs=0.005)


def test_a_balanced_bridge_has_no_current_in_its_galvanometer() -> None:
    """C. Wheatstone, Phil. Trans. R. Soc. 133 (1843) 303: opposite arms in proportion."""
    arms = [("AB", 100.0), ("BC", 10.0), ("CD", 5.0), ("DA", 50.0), ("BD", 15.0)]
    found = solve([Branch(way, way[0], way[1], ohm) for way, ohm in arms], {"A": 10 + 0j, "C": 0j}, 0.0)
    assert abs(found.current_A["BD"]) < 1e-15


# -- modified nodal analysis


def test_the_current_of_a_branch_without_impedance_is_an_unknown_of_its_own() -> None:
    """Ho, Ruehli, Brennan 1975: an ammeter is a branch of no ohm; 230 V over 46 ohm are 5 A."""
    ring = [Branch("ammeter", "L", "x"), Branch("element", "x", "N", 46.0)]
    found = solve(ring, {"L": 230 + 0j, "N": 0j}, 50.0)
    assert found.current_A["ammeter"] == pytest.approx(5.0, rel=1e-12)
    assert found.source_A["L"] == pytest.approx(5.0, rel=1e-12)
    assert found.source_A["N"] == pytest.approx(-5.0, rel=1e-12)


def test_two_sources_without_anything_between_have_no_answer() -> None:
    with pytest.raises(ZeroDivisionError, match="without any impedance"):
        solve([Branch("short", "L", "N")], {"L": 230 + 0j, "N": 0j}, 50.0)


# -- three phases


def test_power_of_a_balanced_load_of_lagging_current() -> None:
    """DOE Fundamentals Handbook, Electrical Science (DOE-HDBK-1011/3-92), Basic AC Power: 240 V, 100 A,
    power factor 0.9: 64.6 kW and 71.8 kVA, both with 1.73 for sqrt 3 twice (0.24 %) and to three digits."""
    z = rect(2.4, np.arccos(0.9))
    coils = [Branch(f"leg{n}", f"L{n}", "star", z.real, z.imag / (2.0 * np.pi * 60.0)) for n in range(3)]
    found = solve(coils, {f"L{n}": rect(240.0, radians(-120.0 * n)) for n in range(3)}, 60.0)
    line_V, line_A = abs(found.open_volts("L0", "L1")), abs(found.source_A["L0"])
    assert line_V == pytest.approx(415.2, abs=0.0012 * 415.7 + 0.05)
    power = sum(found.potential_V[f"L{n}"] * found.source_A[f"L{n}"].conjugate() for n in range(3))
    assert 1e-3 * power.real == pytest.approx(64.6, abs=0.0024 * 64.8 + 0.05)
    assert 1e-3 * abs(power) == pytest.approx(71.8, abs=0.0024 * 72.0 + 0.05)
    assert power.real == pytest.approx(sqrt(3.0) * line_V * line_A * 0.9, rel=1e-12)


@pytest.mark.parametrize(
    ("ends", "share"),
    [
        ([("L0", "star"), ("L1", "star"), ("lost", "star")], 1.0 / 2.0),
        ([("L0", "N"), ("L1", "N"), ("lost", "N")], 2.0 / 3.0),
        ([("L0", "L1"), ("L1", "lost"), ("lost", "L0")], 1.0 / 2.0),
        ([("L0", "L1"), ("L1", "L2"), ("lost", "L0")], 2.0 / 3.0),
    ],
    ids=["star", "star with neutral", "delta, a phase lost", "delta, a leg lost"],
)
def test_what_is_left_of_the_heat_when_a_phase_or_a_leg_is_lost(
    ends: list[tuple[str, str]], share: float
) -> None:
    """1/2 and 2/3 for the stars: learnchannel-tv.com, Three-phase faults: phase loss. A leg of the delta is a
    third of the heat; with a phase lost one leg goes on and two in series have half of its. All exact."""
    sources = {f"L{n}": rect(230.0, radians(-120.0 * n)) for n in range(3)} | {"N": 0j}
    legs = [Branch(f"leg{n}", a, b, 50.0) for n, (a, b) in enumerate(ends)]
    left = sum(abs(amps) ** 2 * 50.0 for amps in solve(legs, sources, 50.0).current_A.values())
    leg_V = 230.0 * sqrt(3.0) if ends[0] == ("L0", "L1") else 230.0
    whole = 3.0 * leg_V**2 / 50.0
    assert left / whole == pytest.approx(share, rel=1e-9)


# -- general-purpose libraries


@pytest.mark.parametrize("number", range(20))
def test_resistance_between_points_of_any_network_is_that_of_networkx(number: int) -> None:
    """`networkx.resistance_distance` (through the pseudoinverse of the Laplacian) on random networks."""
    rng = np.random.default_rng(number)
    graph = networkx.connected_watts_strogatz_graph(12, 4, 0.5, seed=number)
    for a, b in graph.edges:
        graph.edges[a, b]["ohm"] = float(10.0 ** rng.uniform(-2, 5))
    branches = [Branch(f"{a} {b}", str(a), str(b), graph.edges[a, b]["ohm"]) for a, b in graph.edges]
    a, b = rng.choice(12, 2, replace=False)
    wanted = networkx.resistance_distance(graph, int(a), int(b), weight="ohm")
    tied = solve(branches, {str(b): 0j}, 0.0)
    assert tied.source_impedance_ohm(str(a), str(b)).real == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("machine", ["hx-vibration", "hx-rotary", "hx-two-group-three-phase"])
def test_every_volt_and_ampere_of_a_machine_is_that_of_the_sparse_tableau(machine: str) -> None:
    """The same wiring written as a tableau (Kirchhoff's two laws and every branch's own, nothing eliminated),
    solved by SciPy's sparse LU. 1e-6 of the mains: conductances span 14 decades."""
    described_inputs = described(find_machine(machine)).inputs
    network = network_of(find_machine(machine), Condition(dict.fromkeys(described_inputs, 1.0)))
    found = network.solve()
    branches = [x.branch for x in network.places]
    z = np.array([x.impedance_ohm(network.frequency_Hz) for x in branches])
    assert all(isfinite(abs(value)) for value in z)
    nodes = {node: n for n, node in enumerate(found.potential_V) if node not in found.undefined}
    kept = [n for n, x in enumerate(branches) if x.a in nodes]
    rows = [(k, nodes[end], sign) for k, n in enumerate(kept) for end, sign in
            ((branches[n].a, 1.0), (branches[n].b, -1.0))]  # fmt: skip
    n, m = len(nodes), len(kept)
    ends = csr_array(([s for *_, s in rows], ([k for k, *_ in rows], [j for _, j, _ in rows])), (m, n))
    held = [nodes[terminal] for terminal in network.sources]
    zero = csr_array((m, m))
    # Unknown: potentials, branch voltages, branch currents, source currents.
    pick = csr_array((np.ones(len(held)), (range(len(held)), held)), (len(held), n))
    tableau = vstack(
        [
            _row(ends, -identity(m), zero, csr_array((m, len(held)))),
            _row(csr_array((m, n)), -identity(m), csr_array(np.diag(z[kept])), csr_array((m, len(held)))),
            _row(csr_array((n, n)), csr_array((n, m)), ends.T, -pick.T),
            _row(pick, csr_array((len(held), m)), csr_array((len(held), m)), csr_array((len(held),) * 2)),
        ]
    )
    right = np.concatenate([np.zeros(2 * m + n), list(network.sources.values())])
    answer = spsolve(tableau.tocsc(), right)
    for node, place in nodes.items():
        assert answer[place] == pytest.approx(found.potential_V[node], abs=2.3e-4), node
    for place, number in enumerate(kept):
        amps = found.current_A[branches[number].name]
        assert answer[n + m + place] == pytest.approx(amps, rel=1e-6, abs=1e-8), branches[number].name


def _row(*blocks: object) -> object:
    from scipy.sparse import hstack

    return hstack(blocks)
