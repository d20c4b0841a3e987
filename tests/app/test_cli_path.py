"""``collaudo path``: states are listed, paths told and printed as JSON; what cannot be is refused."""

from __future__ import annotations

import json

import pytest

from collaudo.cli.main import main
from collaudo.cli.words import WIDTH

PATH = ["path", "hx-vibration", "--state", "brewing"]


def test_without_a_state_the_states_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["path", "hx-vibration"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split()[0] == "heating"
    assert any(line.startswith("over-pressure") for line in lines)
    assert main(["path", "hx-vibration", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[1]["state"] == "idle"


@pytest.mark.parametrize("of", ["water", "heat", "current"])
def test_a_path_is_told_within_the_width_of_answers(of: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PATH, "--of", of]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert all(len(line) <= WIDTH for line in lines)
    assert sum(line.lstrip().startswith("1. ") for line in lines) > 2


@pytest.mark.parametrize(
    ("of", "caution"),
    [("water", "9 to 12 bar stay in the closed"), ("heat", "above 100 degC"), ("current", "prove dead")],
)
def test_whoever_goes_and_looks_is_cautioned_and_a_customer_is_not_told_to_look(
    of: str, caution: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*PATH, "--of", of]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "CAUTION: " in told
    assert caution in told
    assert main([*PATH, "--of", of, "--for", "customer"]) == 0
    assert "CAUTION" not in capsys.readouterr().out


def test_a_customer_reads_a_paragraph(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PATH, "--for", "customer"]) == 0
    text = capsys.readouterr().out
    assert "The tank holds the water." in text
    assert "1. " not in text


def test_json_holds_the_walks_and_the_text(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PATH, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["of"] == "water"
    assert found["walks"][0]["steps"][0]["part"] == "tank"
    assert found["walks"][0]["steps"][2]["facts"]["out_bar"] > 8.0
    assert found["text"][0].startswith("Heat exchanger")


def test_a_site_changes_what_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """Saturation at 0.899 bar, 1000 m: 96.7 degC (IAPWS-IF97, equation 31)."""
    assert main(["path", "hx-vibration", "--state", "hot-water", "--site", "altitude_m=1000"]) == 0
    assert "into it at 97 °C" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["path", "hx-vibration", "--state", "brewin"], "brewing"),
        (["path", "hx-vibration", "--state", "pulling"], "state"),
        (["path", "no-such-machine", "--state", "idle"], "no-such-machine"),
        ([*PATH, "--site", "altitude"], "KEY=VALUE"),
        ([*PATH, "--site", "height_m=3"], "height_m"),
        ([*PATH, "--of", "milk"], "milk"),
    ],
)
def test_what_cannot_be_told_is_refused(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert told in captured.err
    assert captured.out == ""


def test_the_list_of_states_says_how_to_choose_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["path", "hx-vibration", "--of", "current"]) == 0
    assert "Choose one: collaudo path hx-vibration --state heating" in capsys.readouterr().err
