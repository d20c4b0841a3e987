"""Posterior chances against two published networks and against an independent program (pgmpy).

A ranking knows exclusive causes whose readings are independent given the cause. A network becomes one by
taking every joint state of its inner nodes as a cause; the chance of an inner node is then a sum.

* Burglary alarm: Russell & Norvig, Artificial Intelligence: A Modern Approach, fig. 14.2 (tables); the
  printed answer for both calling is 0.284. Digits beyond by pgmpy's variable elimination, 1e-7.
* Chest clinic: Lauritzen & Spiegelhalter, J. Royal Statistical Society B 50 (1988) 157 (tables). Answers by
  variable elimination, six digits: 1e-6. Its risk factors enter as history, as they do on the bench.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collaudo.diagnosis.noise import Finding
from collaudo.diagnosis.ranking import rank
from tests.unit.worded_signatures import EXACT, cause, worded_set

YES_NO = ("yes", "no")


def chance(value: bool, of_true: float) -> float:
    return of_true if value else 1.0 - of_true


ALARM = {(True, True): 0.95, (True, False): 0.94, (False, True): 0.29, (False, False): 0.001}
HOUSE = {
    f"{b}{e}{a}": (b, e, a, chance(b, 0.001) * chance(e, 0.002) * chance(a, ALARM[b, e]))
    for b, e, a in product((True, False), repeat=3)
}


@pytest.mark.parametrize(
    ("calls", "node", "expected"),
    [
        ({"john": "yes", "mary": "yes"}, 0, 0.28417184),
        ({"john": "yes", "mary": "yes"}, 1, 0.17606684),
        ({"john": "yes", "mary": "yes"}, 2, 0.76069204),
        ({"john": "yes"}, 0, 0.01628373),
        ({"john": "yes", "mary": "no"}, 0, 0.00512986),
        ({}, 2, 0.00251644),
    ],
)
def test_burglary_alarm(calls: dict[str, str], node: int, expected: float) -> None:
    causes = [
        cause(name, p, {"john": 0.90 if a else 0.05, "mary": 0.70 if a else 0.01})
        for name, (_, _, a, p) in HOUSE.items()
    ]
    signatures, surrogate = worded_set(causes, {"john": YES_NO, "mary": YES_NO})
    ranking = rank(signatures, surrogate, [Finding(*call) for call in calls.items()], settings=EXACT)
    found = sum(ranking.probability(name) for name, state in HOUSE.items() if state[node])
    assert found == pytest.approx(expected, abs=1e-7)


DYSPNOEA = {(True, True): 0.9, (True, False): 0.7, (False, True): 0.8, (False, False): 0.1}


def lung_state(tub: bool, lung: bool, bronc: bool, asia: float, smoke: float) -> float:
    of_smoke = smoke * chance(lung, 0.1) * chance(bronc, 0.6) + (1 - smoke) * chance(lung, 0.01) * chance(
        bronc, 0.3
    )
    return (asia * chance(tub, 0.05) + (1 - asia) * chance(tub, 0.01)) * of_smoke


CLINIC = {f"{t}{lung}{b}": (t, lung, b) for t, lung, b in product((True, False), repeat=3)}


@pytest.mark.parametrize(
    ("history", "found", "expected"),
    [
        ((), {}, (0.0104, 0.055, 0.45)),
        ((), {"dysp": "yes"}, (0.018845, 0.102759, 0.833967)),
        (("asia",), {"dysp": "yes"}, (0.087751, 0.099525, 0.811402)),
        (("asia", "smoke"), {"dysp": "yes"}, (0.072760, 0.145519, 0.867258)),
        (("asia",), {"dysp": "yes", "xray": "yes"}, (0.391712, 0.444271, 0.628822)),
        ((), {"xray": "yes"}, (0.092411, 0.488711, 0.506326)),
    ],
)
def test_chest_clinic(
    history: tuple[str, ...], found: dict[str, str], expected: tuple[float, float, float]
) -> None:
    causes = []
    for name, state in CLINIC.items():
        tub, lung, bronc = state
        either = tub or lung
        plain = lung_state(*state, 0.01, 0.5)
        odds = {
            "asia": lung_state(*state, 1.0, 0.5) / plain,
            "smoke": lung_state(*state, 0.01, 1.0) / plain,
        }
        seen = {"xray": 0.98 if either else 0.05, "dysp": DYSPNOEA[either, bronc]}
        causes.append(cause(name, plain, seen, history=odds))
    signatures, surrogate = worded_set(causes, {"xray": YES_NO, "dysp": YES_NO})
    ranking = rank(
        signatures, surrogate, [Finding(*item) for item in found.items()], history=history, settings=EXACT
    )
    posterior = [
        sum(ranking.probability(name) for name, state in CLINIC.items() if state[k]) for k in range(3)
    ]
    assert posterior == pytest.approx(expected, abs=1e-6)


def by_variable_elimination(prior: np.ndarray, tables: np.ndarray, taken: list[int]) -> np.ndarray:
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    readings = [f"reading {k}" for k in range(len(taken))]
    model = DiscreteBayesianNetwork([("cause", name) for name in readings])
    model.add_cpds(TabularCPD("cause", prior.size, prior[:, None]))
    for name, table in zip(readings, tables, strict=True):
        model.add_cpds(TabularCPD(name, 2, np.stack([table, 1 - table]), ["cause"], [prior.size]))
    query = VariableElimination(model).query(
        ["cause"], evidence=dict(zip(readings, taken, strict=True)), show_progress=False
    )
    return np.asarray(query.values)


@pytest.mark.filterwarnings("ignore::FutureWarning")  # from importing pgmpy, not ours to mend
@settings(max_examples=25)
@given(st.data())
def test_exclusive_causes_agree_with_variable_elimination(data: st.DataObject) -> None:
    causes, readings = data.draw(st.integers(2, 6)), data.draw(st.integers(1, 4))
    parts = st.floats(0.02, 0.98)
    weight = np.array(data.draw(st.lists(parts, min_size=causes, max_size=causes)))
    prior = weight / weight.sum()
    tables = np.array(
        data.draw(
            st.lists(st.lists(parts, min_size=causes, max_size=causes), min_size=readings, max_size=readings)
        )
    )
    taken = data.draw(st.lists(st.integers(0, 1), min_size=readings, max_size=readings))
    infos = [
        cause(str(c), float(prior[c]), {f"reading {k}": float(tables[k, c]) for k in range(readings)})
        for c in range(causes)
    ]
    signatures, surrogate = worded_set(infos, {f"reading {k}": YES_NO for k in range(readings)})
    findings = [Finding(f"reading {k}", YES_NO[option]) for k, option in enumerate(taken)]
    ranking = rank(signatures, surrogate, findings, settings=EXACT)
    found = [ranking.probability(str(c)) for c in range(causes)]
    assert found == pytest.approx(by_variable_elimination(prior, tables, taken), abs=1e-9)
