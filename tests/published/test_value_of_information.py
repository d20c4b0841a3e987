"""Value of a check before it is made, against exact sums over three exclusive faults and two tests.

The inputs and results are arithmetic that fits on a page (prior .5 .3 .2, two tests with two outcomes,
repair costs 30, 20, 10); the posteriors were also found by variable elimination with pgmpy, repeated
here. Expected value of sample information and of perfect information as in Raiffa & Schlaifer, Applied
Statistical Decision Theory (1961). Tolerance 1e-8: ten digits are given.
"""

from __future__ import annotations

import numpy as np
import pytest

from collaudo.diagnosis.next_check import Condition, Costs, NextCheck, NextCheckSettings, next_checks
from collaudo.diagnosis.noise import Finding, NoiseSettings
from collaudo.diagnosis.ranking import rank
from collaudo.diagnosis.signature_set import CauseInfo
from collaudo.diagnosis.troubleshooting import expected_repair_cost
from tests.unit.worded_signatures import EXACT, cause, worded_set

PRIOR = {"one": 0.5, "two": 0.3, "three": 0.2}
FIRST_TEST = {"one": 0.9, "two": 0.2, "three": 0.5}
SECOND_TEST = {"one": 0.1, "two": 0.8, "three": 0.3}
REPAIR_MINUTES = {"one": 30.0, "two": 20.0, "three": 10.0}
YES_NO = ("yes", "no")
BARE = Costs(retest_minutes=0.0, comeback_minutes={})


def faults() -> list[CauseInfo]:
    return [
        cause(
            name, PRIOR[name], {"T1": FIRST_TEST[name], "T2": SECOND_TEST[name]}, minutes=REPAIR_MINUTES[name]
        )
        for name in PRIOR
    ]


SIGNATURES, SURROGATE = worded_set(faults(), {"T1": YES_NO, "T2": YES_NO})


def posterior(*findings: Finding) -> list[float]:
    ranking = rank(SIGNATURES, SURROGATE, findings, settings=EXACT)
    return [ranking.probability(name) for name in PRIOR]


@pytest.mark.parametrize(
    ("findings", "expected"),
    [
        ([("T1", "yes")], (0.73770492, 0.09836066, 0.16393443)),
        ([("T1", "no")], (0.12820513, 0.61538462, 0.25641026)),
        ([("T2", "yes")], (0.14285714, 0.68571429, 0.17142857)),
        ([("T2", "no")], (0.69230769, 0.09230769, 0.21538462)),
        ([("T1", "yes"), ("T2", "no")], (0.83162218, 0.02464066, 0.14373717)),
        ([("T1", "no"), ("T2", "yes")], (0.02202643, 0.84581498, 0.13215859)),
    ],
)
def test_posterior_after_tests(findings: list[tuple[str, str]], expected: tuple[float, ...]) -> None:
    found = posterior(*(Finding(reading, value) for reading, value in findings))
    assert found == pytest.approx(expected, abs=1e-8)


def steps() -> dict[str, NextCheck]:
    settings = NextCheckSettings(noise=NoiseSettings(confusion=0.0), prune_below=0.0)
    ranking = rank(SIGNATURES, SURROGATE, [], settings=EXACT)
    return {
        step.id: step for step in next_checks(SIGNATURES, SURROGATE, ranking, [], Condition(), BARE, settings)
    }


def test_expected_cost_without_a_test() -> None:
    # Ratios 1/60, 3/200, 1/50: third, first, second = 10 + 0.8 * 30 + 0.3 * 20.
    assert expected_repair_cost([0.5, 0.3, 0.2], [30.0, 20.0, 10.0]) == pytest.approx(40.0, abs=1e-9)


@pytest.mark.parametrize(("test", "minutes"), [("T1", 8.1), ("T2", 7.7)])
def test_saving_of_a_free_test_is_the_expected_value_of_sample_information(test: str, minutes: float) -> None:
    assert steps()[test].expected_saving_min == pytest.approx(minutes, abs=1e-8)


@pytest.mark.parametrize(("test", "bits"), [("T1", 0.3137233232), ("T2", 0.3067336503)])
def test_information_of_a_test_is_its_expected_entropy_reduction(test: str, bits: float) -> None:
    assert steps()[test].information_bit == pytest.approx(bits, abs=1e-8)


def test_saving_of_a_test_that_tells_all_is_the_expected_value_of_perfect_information() -> None:
    outcomes = tuple(PRIOR)
    causes = [
        CauseInfo(name, name, name, PRIOR[name], name, REPAIR_MINUTES[name], 0.0, {"all": {name: 1.0}})
        for name in PRIOR
    ]
    signatures, surrogate = worded_set(causes, {"all": outcomes})
    settings = NextCheckSettings(noise=NoiseSettings(confusion=0.0), prune_below=0.0)
    ranking = rank(signatures, surrogate, [], settings=EXACT)
    every = next_checks(signatures, surrogate, ranking, [], Condition(), BARE, settings)
    assert every[0].id == "all"
    assert every[0].expected_saving_min == pytest.approx(17.0, abs=1e-8)
    entropy = -sum(p * np.log2(p) for p in PRIOR.values())
    assert entropy == pytest.approx(1.4854752972, abs=1e-9)
    assert every[0].information_bit == pytest.approx(entropy, abs=1e-8)


def test_without_any_check_the_first_repair_is_the_one_the_theorem_puts_first() -> None:
    # Kadane & Simon (1977) with the first case of test_troubleshooting_order.py: D before C, B and A.
    causes = [
        cause(name, p, minutes=c)
        for name, p, c in (("A", 0.5, 40), ("B", 0.25, 10), ("C", 0.15, 5), ("D", 0.1, 2))
    ]
    signatures, surrogate = worded_set(causes, {"mute": YES_NO})
    ranking = rank(signatures, surrogate, [], settings=EXACT)
    every = next_checks(signatures, surrogate, ranking, [], Condition(), BARE)
    assert (every[0].kind, every[0].id) in {("repair", "repair D"), ("check", "mute")}
    assert next(step.id for step in every if step.kind == "repair") == "repair D"
    assert next(step.expected_saving_min for step in every if step.id == "mute") == pytest.approx(
        0.0, abs=1e-9
    )
