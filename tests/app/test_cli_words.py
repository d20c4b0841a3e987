"""What is printed: rounded chances, values with the digits of the bench, progress that is in nobody's way."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from collaudo.cli.main import main
from collaudo.cli.output import DrawProgress, in_words
from collaudo.cli.words import (
    WIDTH,
    chance_in_words,
    digits_of,
    minutes_in_words,
    range_in_words,
    value_in_words,
    wrapped,
)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "under 1 in 100"),
        (0.0099, "under 1 in 100"),
        (0.01, "1 in 100"),
        (0.034, "3 in 100"),
        (0.094, "9 in 100"),
        (0.1, "1 in 10"),
        (0.149, "1 in 10"),
        (0.713, "7 in 10"),
        (0.75, "8 in 10"),
        (0.949, "9 in 10"),
        (0.951, "over 9 in 10"),
        (0.991, "over 99 in 100"),
        (1.0, "over 99 in 100"),
    ],
)
def test_chances_are_rounded_and_never_certain(chance: float, words: str) -> None:
    assert chance_in_words(chance) == words


def test_a_greater_chance_never_sounds_smaller() -> None:
    order = ["under 1 in 100", *(f"{n} in 100" for n in range(1, 10)), *(f"{n} in 10" for n in range(1, 10))]
    order += ["over 9 in 10", "over 99 in 100"]
    said = [order.index(chance_in_words(n / 2000)) for n in range(2001)]
    assert said == sorted(said)
    assert set(said) == set(range(len(order)))


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (9.6, "bar", "9.6 bar"),
        (1.174, "bar", "1.174 bar"),
        (95.0, "degC", "95 °C"),
        (1234.5678, "g", "1235 g"),
        ("dry", "", "dry"),
        (None, "min", "never"),
    ],
)
def test_a_reading_is_said_as_it_was_taken(value: float | str | None, unit: str, words: str) -> None:
    assert value_in_words(value, unit) == words


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (1.0512, 1.2489, "bar", "1.05 to 1.25 bar"),
        (8.512, 9.949, "bar", "8.5 to 9.9 bar"),
        (18.12, 32.4, "g", "18 to 32 g"),
        (-0.04, 3.21, "g", "0.0 to 3.2 g"),
        (90.12, 96.55, "degC", "90.1 to 96.5 °C"),
        (37.9, 38.6, "ohm", "37.9 to 38.6 ohm"),
        (230.1, 230.2, "V", "230 V"),
    ],
)
def test_a_range_has_the_digits_an_instrument_shows(low: float, high: float, unit: str, words: str) -> None:
    assert range_in_words(low, high, unit) == words
    assert digits_of(high, unit) <= 2


def test_times_are_said_with_their_waiting() -> None:
    assert minutes_in_words(0.2) == "1 min"
    assert minutes_in_words(4.0) == "4 min"
    assert minutes_in_words(3.0, 8.0) == "3 min and 8 min waiting"
    assert [in_words(seconds) for seconds in (0.2, 59.4, 61.0, 600.0, 7200.0)] == [
        "1 s",
        "59 s",
        "1 min",
        "10 min",
        "2.0 h",
    ]


def test_lines_are_wrapped_under_their_beginning() -> None:
    lines = wrapped("word " * 40, "   1. ")
    assert len(lines) == 3
    assert all(len(line) <= WIDTH for line in lines)
    assert lines[0].startswith("   1. word")
    assert all(line.startswith("      word") for line in lines[1:])
    assert wrapped("", "Tools: ") == ["Tools:"]


class Terminal(io.StringIO):
    """Text somebody looks at."""

    def isatty(self) -> bool:
        return True


class Clock:
    """Stands still until it is moved."""

    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_progress_on_a_terminal_is_one_line_that_is_taken_away(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal, clock = Terminal(), Clock()
    monkeypatch.setattr("sys.stderr", terminal)
    progress = DrawProgress(clock)
    progress(0, 8)
    for done in range(1, 9):
        clock.now_s += 10.0
        progress(done, 8)
    assert "\n" not in terminal.getvalue()
    shown = terminal.getvalue().split("\r\033[K")
    assert shown[1] == "signatures: 0 of 8 drawn machines, drawing (the twin is compiled first if it is new)"
    assert shown[2] == "signatures: 1 of 8 drawn machines, drawing"
    assert shown[3] == "signatures: 2 of 8 drawn machines, 1 min left"
    assert shown[7] == "signatures: 6 of 8 drawn machines, 20 s left"
    assert shown[-1] == ""


def test_progress_in_a_file_is_a_line_whenever_twice_as_much_is_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    file = io.StringIO()
    monkeypatch.setattr("sys.stderr", file)
    progress = DrawProgress(Clock())
    for done in range(65):
        progress(done, 64)
    lines = file.getvalue().splitlines()
    assert [line.split()[1] for line in lines] == ["0", "1", "2", "4", "8", "16", "32", "64"]
    assert lines[-1] == "signatures: 64 of 64 drawn machines, done"


def test_time_left_counts_from_where_a_build_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    file, clock = io.StringIO(), Clock()
    monkeypatch.setattr("sys.stderr", file)
    progress = DrawProgress(clock)
    progress(8, 64)
    clock.now_s += 500.0  # compiling
    progress(8, 64)
    clock.now_s += 20.0
    progress(10, 64)
    for done in (12, 14, 16, 18, 20):
        clock.now_s += 20.0
        progress(done, 64)
    # Twelve machines in 120 s, 44 to come.
    assert file.getvalue().splitlines()[-1] == "signatures: 20 of 64 drawn machines, 7 min left"


def test_parts_are_called_as_at_the_bench_in_runs_and_lists(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = tmp_path / "short.yaml"
    session.write_text('operations:\n  - power: "on"\n  - wait: 2 s\n', encoding="utf-8")
    assert main(["run", "hx-two-group-three-phase", str(session)]) == 0
    told = capsys.readouterr().out
    assert "  second three-way valve: off\n" in told
    assert "  heating element, leg 2: on\n" in told
    assert main(["causes", "hx-vibration"]) == 0
    assert "(residual-current device)" in capsys.readouterr().out


def test_a_word_to_be_written_down_is_not_broken_at_its_hyphens() -> None:
    lines = wrapped("under-the-group " * 20, "  ")
    assert all(line.split() == ["under-the-group"] * len(line.split()) for line in lines)
    assert all(len(line) <= WIDTH for line in lines)
