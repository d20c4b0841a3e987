"""The order of repairs against its theorem and against trying every order.

With one fault and independent repairs, the expected cost is least in order of chance over cost: Kadane &
Simon, "Optimal strategies for a class of constrained sequential problems", Annals of Statistics 5 (1977)
237; restated in Heckerman, Breese & Rommelse, "Decision-theoretic troubleshooting", CACM 38(3) (1995) 49.
The two worked cases are exact arithmetic over all 24 orders; tolerance 1e-9 for round-off alone.
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaudo.diagnosis.troubleshooting import cost_in_order, expected_repair_cost, repair_order

FIRST = {"A": (0.50, 40.0), "B": (0.25, 10.0), "C": (0.15, 5.0), "D": (0.10, 2.0)}
SECOND = {"R": (0.30, 12.0), "S": (0.20, 4.0), "T": (0.28, 9.0), "U": (0.22, 15.0)}
FIRST_ALL_ORDERS = """
DCBA 34.00, CDBA 34.20, DBCA 34.25, CBDA 34.70, BDCA 34.75, BCDA 34.95, CBAD 37.70, DBAC 37.75, BCAD 37.95,
BDAC 38.25, DCAB 39.00, CDAB 39.20, BADC 41.25, BACD 41.45, CADB 42.20, DACB 42.50, CABD 42.70, DABC 42.75,
ADCB 45.50, ACDB 45.70, ADBC 45.75, ACBD 46.20, ABDC 46.25, ABCD 46.45
"""
SECOND_SOME_ORDERS = "STRU 20.74, SRTU 21.40, URTS 29.48, RTUS 25.40"


def columns(case: dict[str, tuple[float, float]]) -> tuple[np.ndarray, np.ndarray]:
    chance, cost = zip(*case.values(), strict=True)
    return np.array(chance), np.array(cost)


def listed(text: str) -> list[tuple[str, float]]:
    return [(order, float(cost)) for order, cost in (item.split() for item in text.split(","))]


@pytest.mark.parametrize(
    ("case", "order", "cost"),
    [(FIRST, *row) for row in listed(FIRST_ALL_ORDERS)]
    + [(SECOND, *row) for row in listed(SECOND_SOME_ORDERS)],
)
def test_cost_of_every_listed_order(case: dict[str, tuple[float, float]], order: str, cost: float) -> None:
    chance, costs = columns(case)
    places = np.array([list(case).index(letter) for letter in order])
    assert cost_in_order(places, chance, costs) == pytest.approx(cost, abs=1e-9)


@pytest.mark.parametrize(("case", "best", "cost"), [(FIRST, "DCBA", 34.0), (SECOND, "STRU", 20.74)])
def test_best_order_is_chance_over_cost(case: dict[str, tuple[float, float]], best: str, cost: float) -> None:
    chance, costs = columns(case)
    assert "".join(list(case)[k] for k in repair_order(chance, costs)) == best
    assert expected_repair_cost(chance, costs) == pytest.approx(cost, abs=1e-9)


def test_likeliest_first_can_be_the_worst_order_of_all() -> None:
    chance, costs = columns(FIRST)
    likeliest_first = cost_in_order(np.argsort(-chance), chance, costs)
    every = [cost_in_order(np.array(order), chance, costs) for order in permutations(range(4))]
    assert likeliest_first == pytest.approx(max(every), abs=1e-9)


amounts = st.lists(st.floats(0.1, 100.0), min_size=4, max_size=4)


@given(amounts, amounts, st.lists(st.floats(0.0, 80.0), min_size=4, max_size=4))
def test_no_other_order_costs_less_even_with_costs_of_having_been_wrong(
    weight: list[float], cost: list[float], if_wrong: list[float]
) -> None:
    chance, costs, extra = np.array(weight) / sum(weight), np.array(cost), np.array(if_wrong)
    least = min(cost_in_order(np.array(order), chance, costs, extra) for order in permutations(range(4)))
    assert expected_repair_cost(chance, costs, extra) == pytest.approx(least, rel=1e-9)
