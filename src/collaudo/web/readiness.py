"""The keeper of readiness: makes machines ready for answers in a process beside the server, one at a time,
the one asked for last first, and knows how long it will still take."""

from __future__ import annotations

import contextlib
import json
import logging
import os
import subprocess
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from collaudo.bench.beside import begin_beside, own_module
from collaudo.bench.findings.answers import Building
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.judging import getting_ready
from collaudo.bench.judging.getting_ready import (
    FIRST,
    WHOLE,
    begun_draws,
    compiling_left_s,
    finished_draws,
    twin_is_compiled,
)
from collaudo.errors import CollaudoError

LOG = logging.getLogger("collaudo.web")
DRAW_s = 8.0
"""What one drawn machine takes on one core."""
NOT_AGAIN_s = 60.0
"""After a fault a machine is not tried again for so long."""
TO_END_s = 1.0


@dataclass(frozen=True)
class MachineReadiness:
    """How far a machine is ready for answers."""

    twin: str
    """``ready`` or ``compiling``."""
    draws: int
    """Drawn machines behind an answer now; 0: there are no signatures yet."""
    of_draws: int
    building: bool
    left_s: float | None
    """Until the first answer, or from then on until the whole one; None where nobody builds."""
    fault: str = ""
    """Why the last building ended, where it could not go on."""


def command_for(place: str) -> Sequence[str]:
    """The process that makes a machine ready."""
    return own_module(getting_ready.__name__, place)


@dataclass
class _Job:
    """What is being built."""

    machine: str
    words: MachineWords
    process: subprocess.Popen[bytes]
    begun_s: float
    compiling: bool = False
    drawing_since_s: float = 0.0
    done_then: int = 0
    done: int = 0
    last_s: float = 0.0


class Readiness:
    """Begun when first asked for a machine; ended with the server."""

    def __init__(
        self,
        words: Callable[[str], MachineWords],
        command: Callable[[str], Sequence[str]] = command_for,
    ) -> None:
        self._words, self._command = words, command
        self._wanted: list[str] = []
        """Machines still to be built, the one asked for last at the end."""
        self._faults: dict[str, tuple[str, float, str]] = {}
        """Machine -> key of its signatures, when it failed, and why."""
        self._making = ""
        self._job: _Job | None = None
        self._ended = False
        self._change = threading.Condition()
        self._thread: threading.Thread | None = None

    def want(self, machine: str) -> Building:
        """Have a machine made ready, before all others, unless it is; how far it is. `UnknownNameError` where
        there is no such machine."""
        words = self._words(machine)
        if finished_draws(words.key) < WHOLE and not self._just_failed(machine, words.key):
            with self._change:
                if not self._ended:
                    self._put_first(machine)
        found = self.state(machine)
        return Building(found.building, found.draws, found.left_s)

    def state(self, machine: str) -> MachineReadiness:
        """How far a machine is."""
        words = self._words(machine)
        draws = finished_draws(words.key)
        with self._change:
            job = self._job if self._job and self._job.machine == machine else None
            building = draws < WHOLE and (machine == self._making or machine in self._wanted)
            left_s = self._left_s(job, words.key, draws) if building else None
        failed = self._faults.get(machine)
        return MachineReadiness(
            twin="ready" if twin_is_compiled() else "compiling",
            draws=draws,
            of_draws=WHOLE,
            building=building,
            left_s=left_s,
            fault=failed[2] if failed and failed[0] == words.key and not building else "",
        )

    def close(self) -> None:
        """End what is being built; what is done is kept."""
        with self._change:
            self._ended = True
            self._wanted.clear()
            self._change.notify_all()
            if self._job:
                _end(self._job.process)
        if self._thread:
            self._thread.join(TO_END_s)

    def _put_first(self, machine: str) -> None:
        if machine == self._making:
            return
        if machine in self._wanted:
            self._wanted.remove(machine)
        self._wanted.append(machine)
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, name="readiness", daemon=True)
            self._thread.start()
        self._change.notify_all()

    def _just_failed(self, machine: str, key: str) -> bool:
        failed = self._faults.get(machine)
        return bool(failed and failed[0] == key and time.monotonic() - failed[1] < NOT_AGAIN_s)

    def _left_s(self, job: _Job | None, key: str, draws: int) -> float:
        """An estimate, better with every drawn machine."""
        goal = FIRST if draws < FIRST else WHOLE
        cores = _cores()
        now = time.monotonic()
        if job is None or not job.drawing_since_s:
            waited_s = now - job.begun_s if job else 0.0
            compiling_s = 0.0 if twin_is_compiled() else compiling_left_s(waited_s)
            return compiling_s + (goal - begun_draws(key, goal)) * DRAW_s / cores
        made = job.done - job.done_then
        each_s = (job.last_s - job.drawing_since_s) / made if made else DRAW_s / cores
        missing = max(goal - job.done, 0)
        return max(missing * each_s - (now - job.last_s), 1.0)

    # --- the thread ---------------------------------------------------------------------------------

    def _work(self) -> None:
        while True:
            with self._change:
                self._change.wait_for(lambda: self._wanted or self._ended)
                if self._ended:
                    return
                self._making = machine = self._next()
            try:
                self._make_ready(machine)
            except (CollaudoError, OSError) as fault:
                self._failed(machine, str(fault))
            except Exception:
                LOG.exception("making %s ready", machine)
                self._failed(machine, "something went wrong inside")
            with self._change:
                self._making = ""

    def _next(self) -> str:
        """The machine asked for last of those without a first answer, else asked for last."""
        without = [name for name in self._wanted if self._draws(name) < FIRST]
        machine = (without or self._wanted)[-1]
        self._wanted.remove(machine)
        return machine

    def _draws(self, machine: str) -> int:
        try:
            return finished_draws(self._words(machine).key)
        except CollaudoError:
            return 0

    def _make_ready(self, machine: str) -> None:
        words = self._words(machine)
        if finished_draws(words.key) >= WHOLE:
            return
        process = begin_beside(
            self._command(words.place), said=subprocess.PIPE, faults=subprocess.DEVNULL
        )
        with self._change:
            self._job = job = _Job(machine, words, process, time.monotonic())
            if self._ended:
                _end(process)
        fault = ""
        try:
            assert process.stdout is not None  # noqa: S101  # as begun above
            for line in process.stdout:
                fault = self._heard(job, line) or fault
                if self._another_waits(job):
                    with self._change:
                        self._wanted.insert(0, machine)
                    return
            code = process.wait()
        finally:
            _end(process)
            _let_go(process)
            with self._change:
                self._job = None
        if code and not self._ended:
            self._failed(machine, fault or f"building ended by itself ({code})")

    def _failed(self, machine: str, text: str) -> None:
        with contextlib.suppress(CollaudoError):  # its file may be what went wrong
            self._faults[machine] = (self._words(machine).key, time.monotonic(), text)

    def _heard(self, job: _Job, line: bytes) -> str:
        """Take in one line of the process; the fault, where it tells one."""
        try:
            told: dict[str, Any] = json.loads(line)
        except ValueError:
            return ""
        now = time.monotonic()
        with self._change:
            if told.get("stage") == "drawing":
                if not job.drawing_since_s:
                    job.drawing_since_s, job.done_then, job.last_s = now, int(told["done"]), now
                if told["done"] != job.done:
                    job.last_s = now
                job.done = int(told["done"])
        return str(told.get("text", "")) if told.get("stage") == "fault" else ""

    def _another_waits(self, job: _Job) -> bool:
        """Whether a machine without any answer waits while this one has its first."""
        with self._change:
            waiting = list(self._wanted)
        has_first = finished_draws(job.words.key) >= FIRST
        return has_first and any(self._draws(name) < FIRST for name in waiting)


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a process and all it began: they end with it."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(TO_END_s)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _let_go(process: subprocess.Popen[bytes]) -> None:
    """Close what led to a process and from it; only the thread that listens may."""
    for stream in (process.stdin, process.stdout):
        if stream:
            with contextlib.suppress(OSError):
                stream.close()


def _cores() -> int:
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1
