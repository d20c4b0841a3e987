"""Formulas of readings: each function on a series made by hand, worked out by hand; and what is refused."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any, ClassVar

import numpy as np
import pytest

from collaudo.checks.formula import FUNCTIONS, LONGEST, Scene, read_formula
from collaudo.errors import CatalogueError
from collaudo.twin.results import Series

# Rises from 0 to 10 in the first 10 s, stays for 10 s, falls to 4 in the next 10 s.
TIME_S = np.array([0.0, 10.0, 20.0, 30.0])
VALUES = np.array([0.0, 10.0, 10.0, 4.0])
EVENTS = [
    (3.0, "switch", 0.0),
    (7.0, "switch", 1.0),
    (12.0, "other", 1.0),
    (21.0, "switch", 0.0),
    (26.0, "switch", 1.0),
]
BOUND = {"boiler": "big_boiler", "pressure_switch": "switch", "heating_element": "element", "group": "head"}
MARKS = {"start": 0.0, "end": 30.0, "lifted": 5.0}


class HandMade(Scene):
    """A scene whose one series is made by hand; it notes which series it was asked for."""

    def __post_init__(self) -> None:
        asked: list[str] = []

        def series(name: str) -> Series:
            asked.append(name)
            return Series(name, "bar", TIME_S, VALUES)

        object.__setattr__(self, "results", SimpleNamespace(series=series, asked=asked))


class MachineOfOneField:
    """Knows one declared value, and of no pump with a motor of its own."""

    parts: ClassVar[dict[str, object]] = {}

    def value(self, key: str) -> float:
        assert key == "big_boiler.volume_l"
        return 1.8


@pytest.fixture
def scene() -> HandMade:
    run = SimpleNamespace(
        events=EVENTS,
        machine=MachineOfOneField(),
        assembly=SimpleNamespace(
            site=SimpleNamespace(mains_V=231.0, room_K=293.15),
            names=SimpleNamespace(heaters={"element": [0, 1]}),
        ),
        tables=SimpleNamespace(heater=np.rec.array([(75.6,), (75.6,)], dtype=[("ohm", float)])),
    )
    return HandMade(run, MARKS, BOUND)  # type: ignore[arg-type]  # as much of a run as formulas look at


def value(text: str, scene: Scene) -> float | bool:
    return read_formula(text, MARKS).value(scene)


GAUGE = 'gauge("boiler")'


@pytest.mark.parametrize(
    ("text", "by_hand"),
    [
        (f"at({GAUGE}, lifted)", 5.0),
        (f"at({GAUGE}, 25)", 7.0),
        (f"at({GAUGE}, 99)", 4.0),
        (f"highest({GAUGE}, 0, 30)", 10.0),
        (f"highest({GAUGE}, 25, 30)", 7.0),
        (f"lowest({GAUGE}, 5, 30)", 4.0),
        (f"lowest({GAUGE}, 5, 20)", 5.0),
        # Triangle of 10 s by 10 (area 50), rectangle 100, trapezium (10 + 4) / 2 by 10 s (70).
        (f"integral({GAUGE}, start, end)", 220.0),
        (f"integral({GAUGE}, 5, 10)", 37.5),
        (f"mean({GAUGE}, start, end)", 220.0 / 30.0),
        (f"mean({GAUGE}, 20, 30)", 7.0),
        (f"gain({GAUGE}, 5, 25)", 2.0),
        (f"gain({GAUGE}, 20, 30)", -6.0),
        (f"rises_to({GAUGE}, 6, 0)", 6.0),
        (f"rises_to({GAUGE}, 6, lifted)", 1.0),
        (f"rises_to({GAUGE}, 6, 15)", 0.0),
        (f"falls_to({GAUGE}, 7, 12)", 13.0),
        (f"last_above({GAUGE}, 9, 0, 30)", 20.0),
        (f"last_above({GAUGE}, 4, 10, 30)", 20.0),
        ('acts("pressure_switch", 0)', 7.0),
        ('acts("pressure_switch", 8)', 18.0),
        ('rests("pressure_switch", 3)', 0.0),
        ('rests("pressure_switch", 4)', 17.0),
        ('ohm("heating_element")', 37.8),
        ('declared("boiler.volume_l")', 1.8),
        ("mains_V()", 231.0),
        ("room_degC()", 20.0),
        ("log10(1000)", 3.0),
        ("2 + 3 * 4 - 6 / 4", 12.5),
        ("-(lifted - end)", 25.0),
    ],
)
def test_a_formula_gives_what_is_worked_out_by_hand(text: str, by_hand: float, scene: HandMade) -> None:
    assert value(text, scene) == pytest.approx(by_hand, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        f"rises_to({GAUGE}, 11, 0)",
        f"rises_to({GAUGE}, 6, 28)",
        f"falls_to({GAUGE}, 3, 10)",
        f"last_above({GAUGE}, 11, 0, 30)",
        f"mean({GAUGE}, 10, 10)",
        'acts("pressure_switch", 27)',
        'acts("group", 0)',
        "1 / 0",
        "log10(0)",
        "log10(-1)",
        f"3 + rises_to({GAUGE}, 11, 0)",
    ],
)
def test_what_did_not_come_about_is_not_a_number(text: str, scene: HandMade) -> None:
    assert math.isnan(value(text, scene))


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("1 < 2", True),
        ("2 <= 2", True),
        ("1 > 2", False),
        ("2 >= 3", False),
        ("1 < 2 < 3", True),
        ("1 < 3 < 2", False),
        ("1 < 2 and 2 < 1", False),
        ("1 < 2 or 2 < 1", True),
        ("not 1 < 2", False),
        ("start >= start", True),
        ("1 / 0 < 5", False),
        ("1 / 0 > 5", False),
        ("1 / 0 >= 5", False),
    ],
)
def test_comparisons_hold_or_do_not(text: str, holds: bool, scene: HandMade) -> None:
    assert value(text, scene) is holds


@pytest.mark.parametrize(
    "word",
    [
        *("pressure", "gauge", "temperature", "mass", "flow", "level", "power", "device", "load", "volts"),
        "amps",
    ],
)
def test_a_series_is_asked_for_by_the_machines_own_name(word: str, scene: HandMade) -> None:
    value(f'at({word}("boiler"), 5)', scene)
    asked: Any = scene.results
    assert asked.asked == [f"{word} big_boiler"]


def test_every_function_is_tried_here_or_on_a_machine() -> None:
    own = Path(__file__)
    text = "".join(file.read_text(encoding="utf-8") for file in (own, own.with_name("test_metering.py")))
    untried = [word for word in FUNCTIONS if f"{word}(" not in text and f'"{word}"' not in text]
    assert untried == []


def test_a_formula_knows_the_roles_it_needs() -> None:
    text = 'at(temperature("exchanger.hot to group.hot.leg1"), end) - at(gauge("steam_gauge"), end)'
    assert read_formula(text, ()).roles == {"exchanger", "group", "steam_gauge"}
    assert read_formula("mains_V()", ()).roles == frozenset()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "formula ''"),
        ("1 +", "formula '1 +'"),
        ("1 + " * 200 + "1", "a formula of 801 signs"),
        ('gauge("kettle")', "a place without a role"),
        ("lited + 1", "unknown moment 'lited'"),
        (f"avarage({GAUGE}, 0, 1)", "unknown function 'avarage'"),
        (f"mean({GAUGE}, 0)", "mean takes 'snn' and was given 'sn'"),
        ("mean(1, 2, 3)", "mean takes 'snn' and was given 'nnn'"),
        ("acts(5, 0)", "acts takes 'pn' and was given 'nn'"),
        (f"{GAUGE} + 1", "reckons with something that is no number"),
        ('"boiler" + 1', "reckons with something that is no number"),
        (f"not {GAUGE}", "reckons with something that is no number"),
        ("2 ** 9", "something formulas do not have"),
        ("2 == 2", "something formulas do not have"),
        ("7 % 2", "something formulas do not have"),
        ("~1", "something formulas do not have"),
        ("(1, 2)", "something formulas do not have"),
        ("[1][0]", "something formulas do not have"),
        ("1 if 2 > 1 else 3", "something formulas do not have"),
        ("lambda: 1", "something formulas do not have"),
        ("start.real", "something formulas do not have"),
        ("start.real()", "something formulas do not have"),
        ("log10(n=5)", "something formulas do not have"),
        ("(n := 5)", "something formulas do not have"),
        ('__import__("boiler")', "unknown function '__import__'"),
    ],
)
def test_what_is_no_formula_is_refused(text: str, said: str) -> None:
    with pytest.raises(CatalogueError) as caught:
        read_formula(text, MARKS)
    (problem,) = caught.value.problems
    assert said in problem.message
    assert problem.remedy


def test_the_longest_formula_is_allowed() -> None:
    assert read_formula("1" * LONGEST, ()).text == "1" * LONGEST
