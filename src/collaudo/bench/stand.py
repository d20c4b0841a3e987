"""A running machine that people watch and work together: what they do to it, and a frame for their screens.

A stand knows no threads and no network: one thread calls `Stand.tick` and `Stand.do` in turn.
Faults put in here are for teaching. Nothing leads from a stand to findings: it gives frames, events and a
history, and has no recording of readings.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from collaudo.bench.controls import Control, controls_of
from collaudo.bench.events import Teller, ToldEvent
from collaudo.bench.handle import Machine
from collaudo.bench.history import History
from collaudo.bench.stand_drawings import StandDrawings, drawings_of
from collaudo.errors import InputError, Problem, RunError, unknown_name

if TYPE_CHECKING:
    from collaudo.bench.live import Live, Saved
    from collaudo.bench.stand_frame import Framer
    from collaudo.twin.operations import Operation

SPEEDS = (1, 2, 5, 10, 30, 60, 120)
MOST_EVENTS, MOST_SAVED = 500, 12
LONGEST_STEP_s = 600.0
LONGEST_NAME = 60
_SLICE_s = 60.0
"""A quick course goes on so far at a time, between looks at the clock."""
_QUICK_WALL_s = 0.04
"""So long a quick course takes of each tick, so that the screen goes on."""


@dataclass
class _Kept:
    """A moment with a name."""

    name: str
    time_s: float
    saved: Saved


class Stand:
    """One running machine. What is asked of it that cannot be is an `InputError`, in words."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.drawings: StandDrawings = drawings_of(machine.model)
        self.controls: list[Control] = controls_of(machine.model)
        self.events: deque[tuple[int, ToldEvent]] = deque(maxlen=MOST_EVENTS)
        """With their numbers, which go on rising."""
        self.event_count = 0
        self.speed = 1
        self.goes = True
        self.stopped = ""
        """Why the twin cannot go on; empty while it can."""
        self.layout_number = 0
        """Rises when the layout must be fetched anew."""
        self._saved: dict[str, _Kept] = {}
        self._course: deque[Operation] = deque()
        self._wait_s = 0.0
        self._quick = False
        self._frames = 0
        self._begin()

    def _begin(self) -> None:
        """A cold machine."""
        from collaudo.bench.live import Live

        self.live: Live = Live(self.machine)
        self.stopped = ""
        self._course.clear()
        self._wait_s = 0.0
        self._known: dict[object, Any] = {}
        self._ready_for(fresh_history=True)

    def _ready_for(self, *, fresh_history: bool = False) -> None:
        """Work out anew what depends on how the machine stands now."""
        from collaudo.bench.stand_frame import Framer

        run = self.live.run
        names = list(self._framer.glance.channels) if hasattr(self, "_framer") else []
        self._framer: Framer = Framer(run, self.machine.model, self.drawings, self._known)
        self._known = {self._framer.glance.structure: self._framer.glance.by_row}
        self._teller = Teller(run.machine)
        if list(self._framer.glance.channels) != names:
            fresh_history = True
            self.layout_number += 1
        if fresh_history:
            self.history = History(list(self._framer.glance.channels))
        self._stands_for = (run, run.machine, run.assembly)

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

    # --- time passes ----------------------------------------------------------------------------------------

    def tick(self, seconds_s: float) -> None:
        """Let so much time pass by the clock on the wall: the machine's own goes as fast as was chosen."""
        if self._course and self._quick:
            self._go_quickly()
        elif self.goes and not self.stopped:
            self._go(seconds_s * self.speed)
        else:
            self._look()

    def _go(self, seconds_s: float) -> None:
        """So much of the machine's time, with what is still to be done in it."""
        while self._course and seconds_s > 0.0:
            if self._wait_s <= 0.0:
                self._next()
                continue
            piece = min(self._wait_s, seconds_s)
            self._pass(piece)
            self._wait_s -= piece
            seconds_s -= piece
        if seconds_s > 0.0 and not self.stopped:
            self._pass(seconds_s)

    def _go_quickly(self) -> None:
        """As far as some milliseconds reach."""
        end = time.perf_counter() + _QUICK_WALL_s
        while self._course and not self.stopped and time.perf_counter() < end:
            if self._wait_s <= 0.0:
                self._next()
                continue
            piece = min(self._wait_s, _SLICE_s)
            self._pass(piece)
            self._wait_s -= piece
        if not self._course:
            self._note("", "hot and at rest")

    def _next(self) -> None:
        """Begin the next operation of a course; one whose wait is over is done with."""
        from collaudo.twin.operations import Repeat, Until, Wait, perform

        operation = self._course.popleft()
        if isinstance(operation, Wait):
            if operation.seconds_s > 0.0:
                # Stays first in the course while it lasts.
                self._course.appendleft(Wait(0.0))
                self._wait_s = operation.seconds_s
        elif isinstance(operation, Repeat):
            self._course.extendleft(reversed(operation.operations * operation.times))
        elif isinstance(operation, Until):
            self._safely(lambda: perform(self.live.run, [operation]))
        else:
            self._safely(lambda: perform(self.live.run, [operation]))

    def _pass(self, seconds_s: float) -> None:
        self._safely(lambda: self.live.run.advance(seconds_s))

    def _safely(self, do: Callable[[], None]) -> None:
        """Do something to the twin; where it cannot go on, the stand stops and says so."""
        try:
            do()
        except RunError as fault:
            self.goes, self.stopped = False, str(fault)
            self._course.clear()
            self._wait_s = 0.0
            self._note("", f"stopped: {fault}. Begin again cold, or go back to a moment kept")
        self._look()

    def _look(self) -> None:
        """Take note of what has happened, and forget how."""
        run = self.live.run
        if self._stands_for != (run, run.machine, run.assembly):
            self._ready_for()
        if not run.frames and not run.events:
            return
        told = [self._teller.told(*event) for event in run.events]
        rows = np.concatenate(run.frames) if run.frames else np.zeros((0, run.row.size))
        if len(rows):
            told = sorted([*told, *self._framer.watcher.told(rows)], key=lambda event: event.time_s)
            due = self.history.due(rows[:, 0])
            if due.size:
                kept = self._framer.glance.several(rows[due])
                for time_s, values in zip(rows[due, 0].tolist(), kept, strict=True):
                    self.history.add(time_s, values)
        for event in told:
            self._add(event)
        run.forget()

    def _note(self, part: str, text: str) -> None:
        self._add(ToldEvent(self.time_s, part, text))

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
        }
        told |= self._framer.frame(values=self._frames % 3 == 1)
        if behind:
            told["behind"] = True
        if self._course and self._quick:
            left_s = self._wait_s + sum(getattr(one, "seconds_s", 0.0) for one in self._course)
            told["warming"] = round(left_s / 60.0, 1)
        return told

    def states(self) -> dict[str, Any]:
        """How everything stands that hands have done."""
        titles = {cause.id: cause.title for cause in self.live.listed_causes}
        return {
            "positions": {one.id: self._position(one) for one in self.controls},
            "faults": [
                {"cause": name, "title": titles[name], "severity": severity}
                for name, severity in self.live.faults.items()
            ],
            "saved": [{"name": kept.name, "t": round(kept.time_s, 1)} for kept in self._saved.values()],
            "teaching": self.teaching,
            "stopped": self.stopped,
        }

    def _position(self, control: Control) -> str:
        """The word of the position a control stands in; empty where it has none."""
        if not control.reads:
            return ""
        run = self.live.run
        what, name = control.reads
        if what == "latch":
            return "tripped" if run.mode.device[run.assembly.names.devices[name]].phase == 1.0 else "in order"
        if what == "supply":
            return "blown" if run.mode.supply[0] > 0.0 else "in order"
        if what == "field":
            words = dict(zip(control.places, control.positions, strict=True))
            found = words.get(str(run.machine.value(name)))
            return found.word if found else str(run.machine.value(name))
        if what == "device":
            now = float(run.mode.device[run.assembly.names.devices[name]].phase)
        else:
            now = float(run.mode.inputs[run.assembly.names.inputs[name]])
        nearest = min(range(len(control.places)), key=lambda n: abs(float(control.places[n]) - now))
        return control.positions[nearest].word

    # --- what is done ---------------------------------------------------------------------------------------

    def do(self, asked: Mapping[str, Any]) -> str:
        """Do one thing; what is answered is a note to who asked, or nothing. `InputError` says why not."""
        if len(asked) != 1:
            raise InputError(Problem(f"{len(asked)} things at once", "ask for one thing"))
        word, told = next(iter(asked.items()))
        does = _DOES.get(word)
        if does is None:
            raise unknown_name("thing to do", str(word)[:60], _DOES)
        if self.stopped and word not in ("renew", "back", "speed", "goes"):
            raise InputError(
                Problem("the machine has stopped", "begin again cold, or go back to a moment kept")
            )
        try:
            answer = does(self, told)
        except RunError as fault:
            self.goes, self.stopped = False, str(fault)
            raise
        self._look()
        return answer

    def _operate(self, told: Any) -> str:
        if not isinstance(told, dict) or len(told) != 1:
            raise InputError(
                Problem("an operation is one word with what it is put to", 'such as {"power": "on"}')
            )
        if next(iter(told)) in ("wait", "until", "repeat", "mark"):
            raise InputError(Problem("time passes by itself here", "choose a speed, or let it step"))
        self._course = deque(self.live.understood(told))
        self._wait_s, self._quick = 0.0, False
        while self._course and self._wait_s <= 0.0:
            self._next()
        self._safely(lambda: self.live.run.advance(0.0))
        return ""

    def _move(self, told: Any) -> str:
        name, to = _two(told, "input", "to")
        place = _number(to, "to", 0.0, 1.0)
        self.live.run.set_input(str(name)[:LONGEST_NAME], place)
        self._safely(lambda: self.live.run.advance(0.0))
        return ""

    def _press(self, told: Any) -> str:
        """A dose's button: pressed and let go, where that changes anything."""
        name, running = _two(told, "input", "running")
        run = self.live.run
        dose = next(
            (one.reads[1] for one in self.controls if one.id == name and one.reads[0] == "device"), ""
        )
        if not dose:
            raise unknown_name(
                "button", str(name)[:60], [one.id for one in self.controls if one.kind == "key"]
            )
        if (run.mode.device[run.assembly.names.devices[dose]].phase == 1.0) != bool(running):
            for place in (0.0, 1.0, 0.0):
                run.set_input(str(name), place)
                self._safely(lambda: self.live.run.advance(0.0))
        return ""

    def _set_speed(self, told: Any) -> str:
        if told not in SPEEDS or isinstance(told, bool):
            raise InputError(Problem(f"speed is {str(told)[:20]}", f"one of {', '.join(map(str, SPEEDS))}"))
        self.speed = int(told)
        return ""

    def _set_goes(self, told: Any) -> str:
        if told is True and self.stopped:
            raise InputError(
                Problem("the machine has stopped", "begin again cold, or go back to a moment kept")
            )
        self.goes = told is True
        return ""

    def _step(self, told: Any) -> str:
        if self.goes:
            raise InputError(Problem("it goes by itself", "pause it first, then let it step"))
        seconds_s = _number(told, "step", 0.0, LONGEST_STEP_s)
        self._go(seconds_s)
        return ""

    def _save(self, told: Any) -> str:
        name = str(told).strip()[:LONGEST_NAME] if isinstance(told, str) else ""
        if not name:
            raise InputError(Problem("the moment has no name", "give it one, such as 'hot, before the shot'"))
        gone = ""
        if name not in self._saved and len(self._saved) >= MOST_SAVED:
            oldest = next(iter(self._saved))
            del self._saved[oldest]
            gone = f"; {MOST_SAVED} are kept, so '{oldest}' is gone"
        self._saved.pop(name, None)
        self._saved[name] = _Kept(name, self.time_s, self.live.save())
        return f"kept: {name}{gone}"

    def _back(self, told: Any) -> str:
        if not isinstance(told, str) or told not in self._saved:
            raise unknown_name("moment kept", str(told)[:60], list(self._saved) or ["(none is kept)"])
        kept = self._saved[told]
        self._course.clear()
        self._wait_s = 0.0
        self.live.restore(kept.saved)
        self.stopped = ""
        self.live.run.forget()
        self.live.run.advance(0.0)
        self.history.forget_after(self.time_s)
        self._ready_for()
        self._note("", f"back to '{kept.name}'")
        return ""

    def _put_in(self, told: Any) -> str:
        cause, severity = _two(told, "cause", "severity")
        self.live.put_in(str(cause)[:LONGEST_NAME], _number(severity, "severity", 0.0, 1.0))
        self.live.run.advance(0.0)
        return ""

    def _take_out(self, told: Any) -> str:
        self.live.take_out(str(told)[:LONGEST_NAME])
        self.live.run.advance(0.0)
        return ""

    def _fill_tank(self, told: Any) -> str:
        del told
        self.live.fill_tank()
        self.live.run.advance(0.0)
        return ""

    def _empty(self, told: Any) -> str:
        self.live.pour_out(str(told)[:LONGEST_NAME])
        self.live.run.advance(0.0)
        return ""

    def _jug(self, told: Any) -> str:
        """Put a jug of cold milk under a wand, or take it away."""
        at, holds = _two(told, "at", "holds")
        known = [one.part for one in self.controls if one.id.endswith(".jug")]
        if at not in known:
            raise unknown_name("place for a jug", str(at)[:60], known)
        if holds not in ("nothing", "milk"):
            raise unknown_name("jug", str(holds)[:60], ["nothing", "milk"])
        self.live.run.change({f"{at}.contents": holds})
        self.live.pour_out(str(at))
        self.live.run.advance(0.0)
        return ""

    def _reset(self, told: Any) -> str:
        self.live.reset(str(told)[:LONGEST_NAME])
        self.live.run.advance(0.0)
        return ""

    def _renew(self, told: Any) -> str:
        del told
        faults = self.teaching
        self._begin()
        self.goes = True
        self._note("", "a cold machine again" + (", without the faults" if faults else ""))
        return ""

    def _warm(self, told: Any) -> str:
        """Let go of everything but the power, and let the time pass quickly until it is hot and at rest."""
        del told
        from collaudo.bench.states import operations_into

        operations = operations_into("idle", self.live.run.machine)
        self._rest()
        self._course, self._wait_s, self._quick, self.goes = deque(operations), 0.0, True, True
        self._note("", "warming up quickly, everything shut and let go")
        return "warming up: an hour of the machine's time passes quickly"

    def _rest(self) -> None:
        run = self.live.run
        shut = {one.id for one in self.controls if one.kind in ("tap", "lever", "switch", "key")}
        for name in shut & run.assembly.names.inputs.keys() - {"power"}:
            run.set_input(name, 0.0)


def _two(told: Any, first: str, second: str) -> tuple[Any, Any]:
    if not isinstance(told, dict) or set(told) != {first, second}:
        raise InputError(Problem("this is not understood", f"give {first} and {second}"))
    return told[first], told[second]


def _number(told: Any, name: str, low: float, high: float) -> float:
    number = isinstance(told, int | float) and not isinstance(told, bool)
    if not number or not low <= float(told) <= high:
        raise InputError(Problem(f"{name} is {str(told)[:20]}", f"it can be {low:g} to {high:g}"))
    return float(told)


_DOES: dict[str, Callable[[Stand, Any], str]] = {
    "operate": Stand._operate,
    "move": Stand._move,
    "press": Stand._press,
    "jug": Stand._jug,
    "speed": Stand._set_speed,
    "goes": Stand._set_goes,
    "step": Stand._step,
    "save": Stand._save,
    "back": Stand._back,
    "put_in": Stand._put_in,
    "take_out": Stand._take_out,
    "fill_tank": Stand._fill_tank,
    "empty": Stand._empty,
    "reset": Stand._reset,
    "renew": Stand._renew,
    "warm": Stand._warm,
}
