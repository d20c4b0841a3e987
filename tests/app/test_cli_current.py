"""The command `current`."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from collaudo.cli.main import main

ON = ["--condition", "power=1", "--condition", "lever=1"]


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    assert main(["current", "hx-vibration", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_without_a_question_every_load_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["current", "hx-vibration", *ON]) == 0
    text = capsys.readouterr().out
    assert "heating_element" in text
    assert "does not trip" in text
    loads = {load["load"]: load for load in answer(capsys, *ON)["loads"]}
    assert loads["pump"]["acts"]
    assert not loads["fill_valve"]["acts"]
    assert loads["heating_element"]["amps_A"] == pytest.approx(6.09, rel=0.01)


def test_meters_are_read(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--volts", "mains.live", "mains.neutral", "--clamp", "pump"]
    words += ["--ohms", "mains.earth", "heating_element.body"]
    words += ["--insulation", "mains.live", "mains.earth"]
    found = answer(capsys, *ON, *words)["measured"]
    assert [item["unit"] for item in found] == ["V", "ohm", "Mohm", "A"]
    assert found[0]["value"] == pytest.approx(230.0)
    assert 0.0 < found[1]["value"] < 0.3
    assert found[2]["value"] > 1.0


def test_beyond_the_meters_range_there_is_no_value(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--ohms", "mains.live", "mains.neutral"]
    assert answer(capsys, *words)["measured"][0]["value"] is None
    assert main(["current", "hx-vibration", *words]) == 0
    assert "mains.live to mains.neutral: nothing" in capsys.readouterr().out


def test_a_leak_is_followed_to_earth(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, *ON, "--leak", "heating_element=0.01")
    assert found["trips"] == "as a rule"
    assert found["leakage"]["steps"][0]["name"].startswith("wire mains.live")
    assert found["leakage"]["steps"][-1]["name"].startswith("wire mains.earth")


def test_a_search_goes_on_from_what_was_seen(capsys: pytest.CaptureFixture[str]) -> None:
    seen = ["--find", "pump", "--seen", "lever_switch.a=230V", "--seen", "lever_switch.b=0 V"]
    found = answer(capsys, *ON, *seen)["found"]
    assert (found["suspects"], found["parts"], found["next"]) == (["lever_switch"], ["lever_switch"], None)
    assert main(["current", "hx-vibration", *ON, *seen]) == 0
    assert "dead because this is open: lever_switch.\n" in capsys.readouterr().out
    assert main(["current", "hx-vibration", *ON, *seen[:2]]) == 0
    text = capsys.readouterr().out
    assert "CAUTION: " in text
    assert "Measure " in text


def test_a_search_that_ends_at_a_safety_device_warns_against_bridging(
    capsys: pytest.CaptureFixture[str],
) -> None:
    seen = ["--seen", "cut_out.a=230V", "--seen", "cut_out.b=0V"]
    assert main(["current", "hx-vibration", *ON, "--find", "heating_element", *seen]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "dead because this is open: cut_out." in text
    assert "CAUTION: It is never bridged, not even for a moment." in text


def test_places_are_told_shortly_and_many_wires_are_counted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["current", "hx-vibration", *ON, "--find", "heating_element"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "cord (live), cord (neutral)" in text
    assert re.search(r"or one of \d+ wires", text)
    assert "kohm" in text
    assert "e+0" not in text


def test_measuring_live_and_measuring_dead_have_their_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["current", "hx-vibration", *ON, "--volts", "pump.live", "pump.neutral"]) == 0
    assert "CAUTION: Live parts: one hand" in capsys.readouterr().out
    assert main(["current", "hx-vibration", *ON, "--ohms", "pump.live", "pump.neutral"]) == 0
    assert "CAUTION: Plug out, dead proved" in capsys.readouterr().out


def test_hands_are_on_or_off_and_levers_up_or_down(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--condition", "power=on", "--condition", "lever=up"]
    assert answer(capsys, *words)["loads"] == answer(capsys, *ON)["loads"]
    assert main(["current", "hx-vibration"]) == 0
    assert "--condition power=on switches it on" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--condition", "pwer=1"], "did you mean 'power'"),
        (["--condition", "power"], "has no ="),
        (["--condition", "power=much"], "a number from 0 to 1"),
        (["--seen", "lever_switch.a=230V"], "nothing is looked for"),
        (["--condition", "plug=off"], "word for plug"),
        (["--condition", "power=1", "--condition", "power=0"], "given twice"),
        (["--lift", "pump.life"], "pump.live"),
        (["--volts", "mains.live", "pump.life"], "pump.live"),
        (["--clamp", "pumpe"], "did you mean 'pump'"),
        (["--leak", "heating_element=dry"], "a number from"),
        (["--leak", "boiler=1"], "load that could leak"),
        (["--find", "pump"], "no current in this condition"),
        ([*ON, "--find", "pump", "--seen", "lever_switch.a=wet"], "230 V, 0.3 ohm or open"),
        ([*ON, "--find", "pump", "--seen", "lever_switch.a/moon=1 V"], "conductor of the supply"),
        ([*ON, "--find", "pump", "--seen", "lever_switch.b=115 V"], "no single open place"),
        (["--site", "mains_V=high"], "mains_V"),
        (["--site", "mains_V=.nan"], "mains_V"),
    ],
)
def test_what_cannot_be_used_is_told_with_what_would_be_right(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["current", "hx-vibration", *words]) == 2
    assert told in capsys.readouterr().err
