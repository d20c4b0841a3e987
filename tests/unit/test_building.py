"""Building signatures: what is kept, going on where it stopped, and the set that comes of it."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from collaudo.diagnosis import building
from collaudo.diagnosis.building import (
    build,
    drawn_machines,
    setup_of,
    severities,
    take_draw,
    vocabulary_of,
)
from collaudo.diagnosis.cache import DRAWS, best_set, draw_file, draws_in, key_of, set_file
from collaudo.diagnosis.findings_file import Vocabulary
from collaudo.diagnosis.signature_set import NO_FAULT, SignatureSet
from collaudo.diagnosis.surrogate import load_with_surrogate
from collaudo.errors import UnknownNameError

MACHINE = "hx-vibration"
CAUSES = ("brew-jet-blocked", "element-open", NO_FAULT)
CHECKS = ("complaint", "free-flow", "jet-out", "meter")


class Here(Executor):
    """Runs what it is given at once, in this process, and remembers it."""

    def __init__(self) -> None:
        self.given: list[tuple[Any, ...]] = []

    def submit(self, function: Any, /, *arguments: Any, **options: Any) -> Future[Any]:
        self.given.append(arguments)
        future: Future[Any] = Future()
        future.set_result(function(*arguments, **options))
        return future


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """Three causes, and cold checks of seconds alone."""
    whole_course, whole_causes = building.course_for, building.causes_for

    def course(machine: Any) -> Any:
        whole = whole_course(machine)
        return replace(whole, checks=tuple(item for item in whole.checks if item.check.id in CHECKS))

    def causes(machine: Any, bound: Any) -> Any:
        return tuple(
            replace(
                cause, seen={key: table for key, table in cause.seen.items() if key.split(".")[0] in CHECKS}
            )
            for cause in whole_causes(machine, bound)
            if cause.id in CAUSES
        )

    monkeypatch.setattr(building, "course_for", course)
    monkeypatch.setattr(building, "causes_for", causes)
    monkeypatch.setenv("COLLAUDO_SIGNATURES", str(tmp_path / "signatures"))
    setup_of.cache_clear()
    yield
    setup_of.cache_clear()


def made(draws: int) -> SignatureSet:
    return SignatureSet.load(build(MACHINE, "key", draws, Here()))


def test_severities_of_a_cause_are_spread_evenly_and_the_same_in_every_build() -> None:
    cause = setup_of(MACHINE).causes[0]
    many = severities(cause, DRAWS)
    assert severities(cause, 8) == many[:8]
    assert sorted(int(8 * severity) for severity in many[:8]) == list(range(8))
    other = severities(setup_of(MACHINE).causes[1], DRAWS)
    assert other != many


def test_a_draw_gives_a_row_of_readings_for_every_cause_and_survives_json() -> None:
    rows = take_draw(MACHINE, 0)
    assert len(rows) == len(CAUSES)
    wanted = {reading.id for reading in setup_of(MACHINE).course.readings if not reading.by_chance}
    assert all(set(row) == wanted for row in rows)
    assert json.loads(json.dumps(rows, allow_nan=False)) == rows
    jet, element, sound = rows
    assert jet["free-flow.water"] < 0.9 * sound["free-flow.water"]  # type: ignore[operator]
    assert jet["meter.element"] == sound["meter.element"]
    # The wire of the element is open: it measures far beyond what it is when sound.
    assert element["meter.element"] > 20.0 * sound["meter.element"]  # type: ignore[operator]
    assert sound["meter.cut_out"] == "closed"


def test_a_set_holds_what_the_draws_gave() -> None:
    signatures = made(2)
    assert [cause.id for cause in signatures.causes] == sorted(CAUSES)
    assert signatures.number.shape == (3, 2, len(signatures.readings))
    rows = take_draw(MACHINE, 1)
    for c, row in enumerate(rows):
        for reading, value in row.items():
            r = signatures.find_reading(reading)
            if isinstance(value, str):
                assert signatures.readings[r].outcomes[signatures.outcome[c, 1, r]] == value
            else:
                assert signatures.number[c, 1, r] == value
    by_chance = signatures.find_reading("meter.fill_coil")
    assert np.isnan(signatures.number[:, :, by_chance]).all()
    assert (signatures.outcome[:, :, by_chance] == -1).all()


def test_a_set_knows_the_drawn_machines_and_the_words_of_findings_files() -> None:
    signatures = made(2)
    drawn = drawn_machines(setup_of(MACHINE), 2)
    for place, name in enumerate(signatures.known_names):
        assert list(signatures.known[:, place]) == [machine.known[name] for machine in drawn]
    assert Vocabulary.of(signatures) == vocabulary_of(MACHINE)
    assert "hard-water" in signatures.history_words
    assert "brew_jet" in signatures.parts
    assert signatures.title.startswith("Heat exchanger")


def test_causes_and_checks_carry_what_is_read_out() -> None:
    signatures = made(2)
    jet = signatures.causes[signatures.cause_index["brew-jet-blocked"]]
    assert (jet.part, jet.repair) == ("brew_jet", "clean-jet")
    assert jet.remedy
    assert jet.cautions
    assert jet.seen["complaint.complaint"]["slow"] > 0.5
    sound = signatures.causes[signatures.cause_index[NO_FAULT]]
    # Of a sound machine the chances stand in the checks, of its complaint in the cause.
    assert sound.seen["jet-out.jet"]["clear"] > 0.9
    assert "slow" in sound.seen["complaint.complaint"]
    assert {check.id for check in signatures.checks} == set(CHECKS) - {"complaint"}
    assert all(check.steps and check.minutes > 0 for check in signatures.checks)


def test_a_build_tells_its_progress_and_the_first_draws_serve_the_next() -> None:
    told: list[tuple[int, int]] = []
    here = Here()
    first = build(MACHINE, "key", 2, here, lambda done, of: told.append((done, of)))
    assert told == [(0, 2), (1, 2), (2, 2)]
    assert draws_in(first) == 2
    told.clear()
    build(MACHINE, "key", 3, here, lambda done, of: told.append((done, of)))
    assert told == [(2, 3), (3, 3)]
    assert [number for _, number, _ in here.given] == [0, 1, 2]
    assert best_set("key") == set_file("key", 3)
    # What is there is not made again.
    assert build(MACHINE, "key", 3, here) == set_file("key", 3)
    assert len(here.given) == 3
    assert (SignatureSet.load(set_file("key", 3)).number[:, :2] == SignatureSet.load(first).number).sum() > 5


def test_a_build_that_breaks_off_keeps_its_draws_and_goes_on_from_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = building.take_draw

    def breaks(machine: str, number: int, sound_only: bool) -> Any:
        if number == 0:
            return whole(machine, number, sound_only)
        while not draw_file("key", 0).exists():
            time.sleep(0.01)
        raise RuntimeError("no more memory")

    with monkeypatch.context() as patch, ThreadPoolExecutor(1) as one_by_one:
        patch.setattr(building, "take_draw", breaks)
        with pytest.raises(RuntimeError, match="no more memory"):
            build(MACHINE, "key", 2, one_by_one)
    assert draw_file("key", 0).is_file()
    assert not draw_file("key", 1).exists()
    assert best_set("key") is None
    here = Here()
    broken = SignatureSet.load(build(MACHINE, "key", 2, here))
    assert [number for _, number, _ in here.given] == [1]
    for file in draw_file("key", 0).parent.iterdir():
        file.unlink()
    straight = made(2)
    assert np.array_equal(broken.number, straight.number, equal_nan=True)
    assert np.array_equal(broken.outcome, straight.outcome)


def test_nothing_half_written_is_left_behind() -> None:
    made(2)
    names = sorted(file.name for file in draw_file("key", 0).parent.iterdir())
    assert names == ["draw-000.json", "draw-001.json", "signatures-002.npz"]


def test_sound_machines_alone_are_kept_under_their_own_name() -> None:
    file = build(MACHINE, "key", 2, Here(), sound_only=True)
    assert file.parent.name == "key-sound"
    signatures, surrogate = load_with_surrogate(file)
    assert [cause.id for cause in signatures.causes] == [NO_FAULT]
    assert surrogate.mean.shape[0] == 1
    assert best_set("key") is None


def test_the_key_changes_with_the_machine_and_with_nothing_else(tmp_path: Path) -> None:
    from importlib import resources

    own = tmp_path / "mine.yaml"
    text = (resources.files("collaudo.library") / "machines" / f"{MACHINE}.yaml").read_text(encoding="utf-8")
    own.write_text(text, encoding="utf-8")
    assert key_of(str(own)) == key_of(MACHINE) == key_of(MACHINE)
    assert key_of("hx-rotary") != key_of(MACHINE)
    own.write_text(text.replace("power_W: 1400", "power_W: 1300"), encoding="utf-8")
    assert key_of(str(own)) != key_of(MACHINE)
    with pytest.raises(UnknownNameError, match="did you mean 'hx-vibration'"):
        key_of("hx-vibraton")
