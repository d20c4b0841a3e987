"""``collaudo serve`` as a program of its own: it says where it is, ends when told to."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode

import pytest

from collaudo.__main__ import main
from collaudo.cli.main import main as command_line
from collaudo.cli.serve_commands import PHRASE_VARIABLE

LONGEST_START_s = 60.0
LONGEST_END_s = 2.5
"""Two seconds are promised; the rest is this computer's business while other tests run."""
needs_signals = pytest.mark.skipif(os.name == "nt", reason="signals of a terminal")


class Served:
    """A running server and what it says."""

    def __init__(self, folder: Path, *words: str, **more: str) -> None:
        command = [sys.executable, "-m", "collaudo", "serve", "--data", str(folder), *words]
        if "--port" not in words:
            command += ["--port", "0"]
        self.log = folder.parent / f"said-{len(list(folder.parent.glob('said-*')))}"
        with self.log.open("wb") as out:
            self.process = subprocess.Popen(
                command, env={**os.environ, "PYTHONUNBUFFERED": "1", **more}, stdout=out, stderr=out
            )

    @property
    def said(self) -> str:
        return self.log.read_text(encoding="utf-8")

    @property
    def address(self) -> str:
        """Where it listens, as it says."""
        until = time.monotonic() + LONGEST_START_s
        while time.monotonic() < until and self.process.poll() is None:
            if found := re.search(r"open at (http://localhost:\d+) ", self.said):
                return found[1]
            time.sleep(0.02)
        raise AssertionError(f"it did not start: {self.said}")

    def page(self, path: str = "/") -> str:
        """A page, as soon as the server answers."""
        address, until = self.address, time.monotonic() + LONGEST_START_s
        while True:
            try:
                with urllib.request.urlopen(address + path, timeout=30) as answer:
                    return str(answer.read().decode())
            except urllib.error.URLError as fault:
                if isinstance(fault, urllib.error.HTTPError) or time.monotonic() > until:
                    raise
                time.sleep(0.02)

    def told(self, sig: int) -> tuple[int, float]:
        """Exit code and how long it took [s] after a signal."""
        begun = time.monotonic()
        self.process.send_signal(sig)
        return self.process.wait(timeout=20), time.monotonic() - begun


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Callable[..., Served]]:
    """Starts servers over a folder of data; none is left behind."""
    all_of_them: list[Served] = []

    def begin(*words: str, **more: str) -> Served:
        all_of_them.append(Served(tmp_path / "data", *words, **more))
        return all_of_them[-1]

    yield begin
    for one in all_of_them:
        if one.process.poll() is None:
            one.process.kill()
        one.process.wait()


@needs_signals
@pytest.mark.parametrize("sig", [signal.SIGINT, signal.SIGTERM])
def test_it_opens_the_bench_and_ends_cleanly_when_told_to(start: Callable[..., Served], sig: int) -> None:
    bench = start("--no-browser")
    assert "<h1" in bench.page()
    code, took_s = bench.told(sig)
    assert code == 0, bench.said
    assert took_s < LONGEST_END_s
    assert bench.said.rstrip().endswith("Closed. Everything that was entered is kept.")
    assert "Traceback" not in bench.said


@needs_signals
def test_it_ends_while_somebody_still_holds_a_line(start: Callable[..., Served]) -> None:
    bench = start("--no-browser")
    bench.page()
    port = int(bench.address.rpartition(":")[2])
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n")  # and never the end of the request
        code, took_s = bench.told(signal.SIGINT)
    assert (code, took_s < LONGEST_END_s) == (0, True), bench.said


def test_it_listens_on_this_computer_alone(start: Callable[..., Served]) -> None:
    from collaudo.web.listening import own_names

    bench = start("--no-browser")
    bench.page()
    port = int(bench.address.rpartition(":")[2])
    others = [name for name in own_names() if re.fullmatch(r"[\d.]+", name)]
    if not others:
        pytest.skip("this computer has no address but its own")
    with pytest.raises(OSError, match=r"refused|timed out"):
        socket.create_connection((others[0], port), timeout=2)


def test_a_second_one_with_the_same_data_is_refused(start: Callable[..., Served]) -> None:
    first = start("--no-browser")
    first.page()
    second = start("--no-browser")
    assert second.process.wait(timeout=LONGEST_START_s) == 2
    assert f"the bench is open already at {first.address}" in second.said
    assert "--data" in second.said
    assert "<h1" in first.page()


def stand_in_browser(folder: Path) -> tuple[Path, str]:
    """A program that only writes down what it was to open: where, and how it is named as the browser."""
    opened, browser = folder / "opened", folder / "browser"
    browser.write_text(f'#!/bin/sh\nprintf %s "$1" > "{opened}"\n', encoding="utf-8")
    browser.chmod(0o755)
    return opened, f"{browser} %s"


@needs_signals
def test_a_second_one_that_would_open_a_browser_opens_it_at_the_first(
    start: Callable[..., Served], tmp_path: Path
) -> None:
    first = start("--no-browser")
    first.page()
    opened, browser = stand_in_browser(tmp_path)
    second = start("--at", "/machines", BROWSER=browser)
    assert second.process.wait(timeout=LONGEST_START_s) == 0
    assert opened.read_text(encoding="utf-8") == f"{first.address}/machines"


@needs_signals
def test_the_browser_is_opened_at_the_demonstration(start: Callable[..., Served], tmp_path: Path) -> None:
    opened, browser = stand_in_browser(tmp_path)
    bench = start("--at", "/demo", BROWSER=browser)
    until = time.monotonic() + LONGEST_START_s
    while not (opened.exists() and opened.read_text(encoding="utf-8")) and time.monotonic() < until:
        time.sleep(0.05)
    assert opened.read_text(encoding="utf-8") == f"{bench.address}/demo"
    assert "Heat exchanger, vibration pump" in bench.page("/demo")


@needs_signals
def test_the_folder_is_free_again_after_a_server_was_killed(start: Callable[..., Served]) -> None:
    first = start("--no-browser")
    first.page()
    first.told(signal.SIGKILL)
    second = start("--no-browser")
    assert "<h1" in second.page()


def test_a_taken_port_is_said(start: Callable[..., Served]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        bench = start("--no-browser", "--port", str(port))
        assert bench.process.wait(timeout=LONGEST_START_s) == 2
    assert f"port {port} is taken" in bench.said
    assert "--port" in bench.said


def test_others_are_let_in_with_the_phrase_that_is_shown(start: Callable[..., Served]) -> None:
    bench = start("--no-browser", "--lan")
    assert "Pass phrase</h1>" in bench.page()
    phrase = re.search(r"^Pass phrase: (.*)$", bench.said, re.MULTILINE)
    assert phrase is not None
    assert len(phrase[1].split()) == 5


def test_a_phrase_of_ones_own_is_not_shown(start: Callable[..., Served], tmp_path: Path) -> None:
    file = tmp_path / "phrase"
    file.write_text("four quiet old kettles\n", encoding="utf-8")
    bench = start("--no-browser", "--lan", "--pass-phrase-file", str(file))
    assert "Pass phrase</h1>" in bench.page()
    assert "kettles" not in bench.said
    assert "Pass phrase: the one you gave" in bench.said


def test_a_program_comes_in_with_the_phrase(start: Callable[..., Served]) -> None:
    bench = start("--no-browser", "--lan", **{PHRASE_VARIABLE: "four quiet old kettles"})
    bench.page()
    jar = CookieJar()
    visit = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))
    visit.open(f"{bench.address}/enter", timeout=30).close()
    form = {"phrase": "four quiet old kettles", "form_token": next(iter(jar)).value or ""}
    visit.open(f"{bench.address}/enter", urlencode(form).encode(), timeout=30).close()
    with visit.open(f"{bench.address}/api/machines", timeout=30) as answer:
        assert answer.status == 200
    assert "bench_pass" in {cookie.name for cookie in jar}


def test_a_phrase_may_come_from_the_environment(start: Callable[..., Served]) -> None:
    bench = start("--no-browser", "--lan", **{PHRASE_VARIABLE: "four quiet old kettles"})
    assert "Pass phrase</h1>" in bench.page()
    assert "kettles" not in bench.said


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--port", "70000"], "is no port"),
        (["--port", "-1"], "port"),
        (["--at", "//evil.test/"], "is no page"),
        (["--at", "https://evil.test/"], "is no page"),
        (["--ask-pass-phrase"], "with --lan only"),
        (["--lan", "--pass-phrase-file", "no-such-file"], "no-such-file"),
    ],
)
def test_what_cannot_be_used_is_refused(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["serve", "--no-browser", "--data", str(tmp_path), *words]) == 2
    assert told in capsys.readouterr().err


@pytest.mark.parametrize(("text", "told"), [("", "holds no pass phrase"), ("short", "10 to 200 characters")])
def test_a_phrase_that_is_soon_guessed_is_refused(
    text: str, told: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "phrase"
    file.write_text(text, encoding="utf-8")
    words = ["--lan", "--pass-phrase-file", str(file), "--data", str(tmp_path / "data")]
    assert main(["serve", "--no-browser", *words]) == 2
    assert told in capsys.readouterr().err


def test_data_in_place_of_a_folder_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "file"
    file.write_text("", encoding="utf-8")
    assert main(["serve", "--no-browser", "--data", str(file)]) == 2
    assert "this is no folder" in capsys.readouterr().err


def test_the_command_line_alone_says_what_it_lacks(capsys: pytest.CaptureFixture[str]) -> None:
    assert command_line(["serve", "--no-browser"]) == 2
    assert "python -m collaudo serve" in capsys.readouterr().err
