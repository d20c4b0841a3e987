"""Machines made ready beside the server: begun by a question, in order, ended with it, faults survived."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from collaudo.bench.beside import begin_beside
from collaudo.bench.findings.book import FindingsBook
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.judging.getting_ready import FIRST, WHOLE, COMPILING_s, LEAST_LEFT_s, compiling_left_s
from collaudo.diagnosis.cache import set_file
from collaudo.web.readiness import Readiness
from tests.app.web.sheets import MACHINE, bench, reading

WORK = """
import json, pathlib, sys, time
log, key, folder, way = pathlib.Path(sys.argv[1]), sys.argv[2], pathlib.Path(sys.argv[3]), sys.argv[4]
def tell(**told):
    print(json.dumps(told), flush=True)
with log.open("a") as out:
    out.write(key + "\\n")
if way == "fault":
    tell(stage="fault", text="the twin cannot go on")
    sys.exit(1)
for draws in (8, 64):
    done = folder / key / f"signatures-{draws:03d}.npz"
    if done.exists():
        continue
    for number in range(draws if way == "slow" else 2):
        tell(stage="drawing", done=number, of=draws)
        time.sleep(0.05 if way == "slow" else 0.0)
    if way == "hang":
        time.sleep(60)
    done.parent.mkdir(parents=True, exist_ok=True)
    done.touch()
    tell(stage="ready", draws=draws)
"""


@pytest.fixture
def folder(no_signatures: Path) -> Path:
    no_signatures.mkdir(parents=True, exist_ok=True)
    return no_signatures


@pytest.fixture
def begun(tmp_path: Path, folder: Path) -> Iterator[Callable[[str], Readiness]]:
    """Keepers over processes that build nothing but files of the right names."""
    words = FindingsBook(tmp_path).words(MACHINE)
    keepers = []

    def words_of(machine: str) -> MachineWords:
        return replace(words, id=machine, place=machine, key=f"key-{machine}")

    def make(way: str) -> Readiness:
        def command(place: str) -> Sequence[str]:
            log = str(tmp_path / "begun.txt")
            return [sys.executable, "-c", WORK, log, f"key-{place}", str(folder), way]

        keepers.append(Readiness(words_of, command))
        return keepers[-1]

    yield make
    for keeper in keepers:
        keeper.close()


def until(holds: Callable[[], bool], seconds: float = 20.0) -> None:
    """Wait until something holds."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.02)


def test_a_machine_that_is_asked_for_gets_a_first_and_then_a_whole_set(
    begun: Callable[[str], Readiness],
) -> None:
    keeper = begun("quick")
    assert keeper.want("a").building
    until(lambda: keeper.state("a").draws == WHOLE)
    until(lambda: not keeper.state("a").building)
    assert keeper.state("a").left_s is None


def test_while_it_is_built_the_time_left_is_told_and_falls(begun: Callable[[str], Readiness]) -> None:
    keeper = begun("slow")
    keeper.want("a")
    until(lambda: keeper.state("a").draws == FIRST)
    early_s = keeper.state("a").left_s
    assert early_s is not None
    until(lambda: (keeper.state("a").left_s or early_s) < early_s)


def test_a_machine_without_an_answer_goes_before_one_that_has_its_first(
    begun: Callable[[str], Readiness], tmp_path: Path
) -> None:
    keeper = begun("slow")
    keeper.want("a")
    until(lambda: keeper.state("a").draws == FIRST)
    keeper.want("b")
    until(lambda: keeper.state("b").draws == FIRST)
    assert keeper.state("a").draws == FIRST
    until(lambda: keeper.state("a").draws == keeper.state("b").draws == WHOLE)
    assert (tmp_path / "begun.txt").read_text().split()[:2] == ["key-a", "key-b"]


def test_the_machine_asked_for_last_goes_first(begun: Callable[[str], Readiness], tmp_path: Path) -> None:
    keeper = begun("slow")
    for machine in ("a", "b", "c", "b"):
        keeper.want(machine)
    until(lambda: keeper.state("b").draws >= FIRST)
    order = (tmp_path / "begun.txt").read_text().split()
    assert order.index("key-b") <= 1, "at most what was being built already goes before it"


def test_a_fault_is_told_and_the_next_machine_is_built_all_the_same(
    begun: Callable[[str], Readiness], tmp_path: Path
) -> None:
    keeper = begun("fault")
    keeper.want("a")
    until(lambda: keeper.state("a").fault != "")
    assert keeper.state("a").fault == "the twin cannot go on"
    assert not keeper.want("a").building, "it is not tried again at once"
    keeper.want("b")
    until(lambda: keeper.state("b").fault != "")
    assert (tmp_path / "begun.txt").read_text().split() == ["key-a", "key-b"]


def test_ending_takes_less_than_two_seconds_and_leaves_no_process(
    begun: Callable[[str], Readiness],
) -> None:
    keeper = begun("hang")
    keeper.want("a")
    until(lambda: keeper._job is not None and keeper._job.done == 1)
    assert keeper._job is not None
    pid = keeper._job.process.pid
    begin = time.monotonic()
    keeper.close()
    assert time.monotonic() - begin < 2.0
    until(lambda: not _runs(pid), 2.0)
    assert not keeper.want("a").building


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def test_a_process_whose_server_is_gone_ends_by_itself() -> None:
    wait = "import time; from collaudo.bench.beside import end_with_input; end_with_input(); "
    wait += "print(1, flush=True); time.sleep(60)"
    process = begin_beside([sys.executable, "-c", wait], said=subprocess.PIPE, faults=subprocess.DEVNULL)
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline().strip() == b"1"
    process.stdin.close()
    try:
        assert process.wait(5.0) == 1
    except subprocess.TimeoutExpired:
        process.kill()
        raise
    finally:
        process.stdout.close()


def test_a_process_that_is_done_ends_without_a_fault_while_its_server_still_listens(
    made_folder: Path,
) -> None:
    """The real one, on signatures that are there already: it has nothing to build."""
    from collaudo.web.readiness import _let_go, command_for

    whole = next(made_folder.rglob("signatures-064.npz"))
    first = whole.with_name("signatures-008.npz")
    first.write_bytes(whole.read_bytes())
    try:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("COLLAUDO_SIGNATURES", str(made_folder))
            process = begin_beside(
                command_for(MACHINE), said=subprocess.PIPE, faults=subprocess.DEVNULL
            )
        assert process.stdout is not None
        told = [line.decode() for line in process.stdout if b"ready" in line]
        assert process.wait(60.0) == 0
        _let_go(process)
    finally:
        first.unlink()
    assert len(told) == 2


@pytest.fixture
def idle(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is built, though it is asked for."""
    wait = [sys.executable, "-c", "import sys; sys.stdin.read()"]
    monkeypatch.setattr(Readiness.__init__, "__defaults__", (lambda _: wait,))


@pytest.mark.usefixtures("folder", "idle")
def test_without_signatures_the_first_check_stands_there_and_building_begins(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        sheet = pages.begin()
        told = pages.write(sheet, {"kind": "complaint", "words": ["slow"]})
        answer = told["answer"]
        assert answer["ready"] == "none"
        assert answer["building"] is True
        assert answer["left_s"] > 0
        assert answer["next"]["check"] == "look"
        assert answer["causes"] == []
        told = pages.write(
            sheet,
            reading("look", "wet_place", "none"),
            {"kind": "not_measured", "check": "look", "reading": "smell"},
        )
        assert told["answer"]["next"]["check"] != "look"
        assert pages.get(f"/api/machines/{MACHINE}/readiness")["building"] is True
        stopped = pages.write(sheet, {"kind": "stop", "word": "wet"})["answer"]
        assert stopped["next"] is None
        assert stopped["cautions"][0].startswith("Stop.")


@pytest.mark.usefixtures("folder", "idle")
def test_looking_at_the_list_builds_nothing(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        assert pages.get("/api/findings")[0]["demo"] is True
        assert pages.get(f"/api/machines/{MACHINE}/readiness")["building"] is False
        assert pages.post(f"/api/machines/{MACHINE}/readiness", {})["building"] is True


@pytest.mark.usefixtures("signatures")
def test_a_machine_that_is_ready_is_left_alone(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        told = pages.post(f"/api/machines/{MACHINE}/readiness", {})
        assert (told["draws"], told["building"], told["left_s"]) == (WHOLE, False, None)


def test_what_is_told_of_an_unknown_machine_is_that_there_is_none(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        for path in ("readiness", "words", "checks", "causes"):
            assert pages.client.get(f"/api/machines/nothing-like-it/{path}").status_code == 404


@pytest.mark.usefixtures("folder", "idle")
def test_better_signatures_are_taken_up_while_the_server_runs(tmp_path: Path, made_folder: Path) -> None:
    with bench(tmp_path) as pages:
        sheet = pages.begin()
        assert pages.get(f"/api/findings/{sheet}/answer")["ready"] == "none"
        whole = next(made_folder.rglob("signatures-064.npz"))
        for draws, ready in ((FIRST, "first"), (WHOLE, "whole")):
            file = set_file(whole.parent.name, draws)
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(whole.read_bytes() if draws == WHOLE else _of_eight(whole, tmp_path))
            assert pages.get(f"/api/findings/{sheet}/answer")["ready"] == ready


def _of_eight(whole: Path, folder: Path) -> bytes:
    """The signatures of the first eight drawn machines of a file."""
    from collaudo.diagnosis.surrogate import fit_surrogate, load_with_surrogate, save_with_surrogate

    every, _ = load_with_surrogate(whole)
    few = replace(
        every,
        severity=every.severity[:, :FIRST],
        known=every.known[:FIRST],
        number=every.number[:, :FIRST],
        outcome=every.outcome[:, :FIRST],
    )
    file = folder / "few.npz"
    save_with_surrogate(file, few, fit_surrogate(few))
    return file.read_bytes()


def test_what_is_left_of_compiling_never_stands_at_nothing_while_it_goes_on() -> None:
    left_s = [compiling_left_s(waited_s) for waited_s in range(0, 1200, 10)]
    assert left_s[0] == COMPILING_s
    assert min(left_s) == LEAST_LEFT_s
    late = [one for waited_s, one in zip(range(0, 1200, 10), left_s, strict=True) if waited_s > 300]
    assert late == sorted(late)
    assert late[-1] > 200.0
