"""A running machine that people watch and work together: how its time passes, and what screens show of it.

A stand knows no threads and no network: one thread calls `Stand.tick` and `Stand.do` in turn. What can be
done to it stands in `deeds`.

Faults put in here are for teaching. Nothing leads from a stand to findings: it gives frames, events and a
history, and nothing that a findings file or a job takes.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from collaudo.bench.machines.handle import Machine
from collaudo.bench.running.controls import Control, controls_of
from collaudo.bench.running.course import Course
from collaudo.bench.running.drawings import StandDrawings, drawings_of
from collaudo.bench.running.history import History
from collaudo.bench.running.positions import position_of
from collaudo.bench.running.source import Source
from collaudo.bench.runs.events import Teller, ToldEvent
from collaudo.errors import RunError

if TYPE_CHECKING:
    from collaudo.bench.running.frame import Framer
    from collaudo.bench.runs.live import Live, Saved
    from collaudo.checks.course import MachineCheck
    from collaudo.twin.operations import Operation

SPEEDS = (1, 2, 5, 10, 30, 60, 120)
MOST_EVENTS = 500
_SLICE_s = 60.0
"""A quick course goes on so far at a time, between looks at the clock."""
_QUICK_WALL_s = 0.04
"""So long a quick course takes of each tick, so that the screen goes on."""
_VALUES_EVERY = 3


@dataclass(frozen=True)
class Kept:
    """A moment with a name."""

    name: str
    time_s: float
    saved: Saved


class Stand:
    """One running machine. What is asked of it that cannot be is an `InputError`, in words."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.events: deque[tuple[int, ToldEvent]] = deque(maxlen=MOST_EVENTS)
        """The latest, with their numbers."""
        self.event_count = 0
        """Of all events there ever were."""
        self.speed = 1
        self.goes = True
        self.layout_number = 0
        """Rises when the layout must be fetched anew."""
        self.kept: dict[str, Kept] = {}
        self.hidden = False
        """Whether the names of faults that are in are kept from every screen, for a quiz."""
        self._frames = 0
        self._take(source.machine())
        self.begin()

    def _take(self, machine: Machine) -> None:
        self.machine = machine
        self.drawings: StandDrawings = drawings_of(machine.model)
        self.controls: list[Control] = controls_of(machine.model)

    def take_file(self) -> None:
        """A cold machine as its file has it now; moments kept are of the other one and go. `InputError` where
        the file cannot be used: then nothing has changed."""
        self._take(self.source.machine())
        self.kept.clear()
        self.begin()
        self.layout_number += 1

    def begin(self) -> None:
        """A cold machine."""
        from collaudo.bench.runs.live import Live

        self.live: Live = Live(self.machine)
        self.stopped = ""
        """Why the twin cannot go on; empty while it can."""
        self.untouched = True
        """Whether nobody has done anything to the cold machine yet."""
        self._course: Course | None = None
        self._known: Mapping[object, Any] = {}
        self._work_out(fresh=True)

    def _work_out(self, *, fresh: bool = False) -> None:
        """What depends on how the machine stands now; ``fresh``: what it has shown is of another one."""
        from collaudo.bench.running.frame import Framer

        run = self.live.run
        before = self._framer.glance.channels.keys() if hasattr(self, "_framer") else ()
        self._framer: Framer = Framer(run, self.machine.model, self.drawings, self._known)
        self._known = {self._framer.glance.structure: self._framer.glance.by_row}
        self._teller = Teller(run.machine)
        names = list(self._framer.glance.channels)
        if names != list(before):
            fresh = True
            self.layout_number += 1
        if fresh:
            self.history = History(names)
        self._worked_out_for = (run, run.machine, run.assembly)

    @cached_property
    def checks(self) -> tuple[MachineCheck, ...]:
        """The checks of the library that can be made on such a machine."""
        from collaudo.checks.course import course_for

        return course_for(self.machine.model).checks

    @property
    def framer(self) -> Framer:
        """What makes the frames."""
        return self._framer

    @property
    def time_s(self) -> float:
        """Its own time [s]."""
        return self.live.time_s

    @property
    def teaching(self) -> bool:
        """Whether any fault is in."""
        return bool(self.live.faults)

    def do(self, asked: Mapping[str, Any]) -> str:
        """Do one thing; what is answered is a note to who asked, or nothing. `InputError` says why not."""
        from collaudo.bench.running.deeds import done

        return done(self, asked)

    # --- time passes ----------------------------------------------------------------------------------------

    def tick(self, seconds_s: float) -> None:
        """Let so much time pass by the clock on the wall: the machine's own goes as fast as was chosen."""
        if self.stopped:
            return
        if self._course and self._course.quick:
            self._go_quickly(self._course)
        elif self.goes:
            self.go(seconds_s * self.speed)

    def go(self, seconds_s: float) -> None:
        """So much of the machine's time, with what is still to be done in it."""
        while self._course and seconds_s > 0.0:
            if self._course.wait_s > 0.0:
                piece = min(self._course.wait_s, seconds_s)
                self._course.wait_s -= piece
                seconds_s -= piece
                self._pass(piece)
            else:
                self._next(self._course)
        if seconds_s > 0.0 and not self.stopped:
            self._pass(seconds_s)

    def begin_course(self, operations: Iterable[Operation], *, quick: bool = False, then: str = "") -> None:
        """Do operations in the machine's own time, or quickly; what takes no time is done at once."""
        course = self._course = Course(deque(operations), quick, then)
        while self._course is course and course.wait_s <= 0.0:
            self._next(course)

    def _next(self, course: Course) -> None:
        """The next operation of a course; with none left it is over."""
        from collaudo.twin.operations import Repeat, Wait, perform

        if not course.operations:
            self._course = None
            if course.then:
                self.note(course.then)
            return
        operation = course.operations.popleft()
        if isinstance(operation, Wait):
            course.wait_s = operation.seconds_s
        elif isinstance(operation, Repeat):
            course.operations.extendleft(reversed(operation.operations * operation.times))
        else:
            self.safely(lambda: perform(self.live.run, [operation]))

    def _go_quickly(self, course: Course) -> None:
        """As far as some milliseconds reach."""
        end = time.perf_counter() + _QUICK_WALL_s
        while self._course is course and time.perf_counter() < end:
            if course.wait_s > 0.0:
                piece = min(course.wait_s, _SLICE_s)
                course.wait_s -= piece
                self._pass(piece)
            else:
                self._next(course)

    def _pass(self, seconds_s: float) -> None:
        self.safely(lambda: self.live.run.advance(seconds_s))

    def settle(self) -> None:
        """What hands have moved acts now, also while it is paused."""
        self._pass(0.0)

    def safely(self, do: Callable[[], object]) -> None:
        """Do something to the twin; where it cannot go on, the stand stops and says so."""
        try:
            do()
        except RunError as fault:
            self.goes, self.stopped, self._course = False, str(fault), None
            self.note(f"stopped: {fault}. Begin again cold, or go back to a moment kept")
        self.look()

    def look(self) -> None:
        """Take note of what has happened, and forget how."""
        run = self.live.run
        if self._worked_out_for != (run, run.machine, run.assembly):
            self._work_out()
        told = [self._teller.told(*event) for event in run.events]
        rows = np.concatenate(run.frames) if run.frames else np.zeros((0, run.row.size))
        if len(rows):
            told += self._framer.watcher.told(rows)
            due = self.history.due(rows[:, 0])
            values = self._framer.glance.several(rows[due])
            for time_s, one in zip(rows[due, 0].tolist(), values, strict=True):
                self.history.add(time_s, one)
        for event in sorted(told, key=lambda event: event.time_s):
            self._add(event)
        run.forget()

    def restore(self, kept: Kept) -> None:
        """Back to a moment kept."""
        self._course, self.stopped, self.untouched = None, "", False
        self.live.restore(kept.saved)
        self.live.run.forget()
        self.history.forget_after(self.time_s)
        self._work_out()
        self.settle()

    def note(self, text: str, part: str = "") -> None:
        """Tell all that watch, among the events."""
        self._add(ToldEvent(self.time_s, part, text))

    def note_before(self, count: int, notes: Sequence[tuple[str, str]]) -> None:
        """Notes (part, text) of what a hand did, before what came of it: all events after the first
        ``count``."""
        later = [event for number, event in self.events if number > count]
        for _ in later:
            self.events.pop()
        self.event_count = count
        at_s = min((event.time_s for event in later), default=self.time_s)
        for event in (*(ToldEvent(at_s, part, text) for part, text in notes), *later):
            self._add(event)

    def _add(self, event: ToldEvent) -> None:
        self.event_count += 1
        self.events.append((self.event_count, event))

    # --- what is shown --------------------------------------------------------------------------------------

    def frame(self, *, behind: bool = False) -> dict[str, Any]:
        """What screens show now, by position as the layout says; values in every third frame."""
        self._frames += 1
        told: dict[str, Any] = {
            "n": self._frames,
            "t": round(self.time_s, 2),
            "speed": self.speed,
            "goes": self.goes and not self.stopped,
            **self._framer.frame(values=self._frames % _VALUES_EVERY == 1),
        }
        if behind:
            told["behind"] = True
        if self._course and self._course.quick:
            told["warming"] = round(self._course.left_s / 60.0, 1)
        return told

    def states(self) -> dict[str, Any]:
        """How everything stands that hands have done."""
        titles = {cause.id: cause.title for cause in self.live.listed_causes}
        return {
            "positions": self.positions(),
            "faults": [
                {"cause": name, "title": titles[name], "severity": severity}
                if not self.hidden
                else {"cause": "", "title": "", "severity": 0.0}
                for name, severity in self.live.faults.items()
            ],
            "hidden": self.hidden,
            "saved": [{"name": kept.name, "t": round(kept.time_s, 1)} for kept in self.kept.values()],
            "teaching": self.teaching,
            "stopped": self.stopped,
            "file_changed": self.source.changed(),
        }

    def positions(self) -> dict[str, str]:
        """The word of the position of each control."""
        return {one.id: position_of(self.live.run, one) for one in self.controls}
