"""The thread of one stand: it lets the time pass fifteen times a second, does what is asked in between, and
makes each frame once. Everything that touches the twin happens here, so nothing of it needs a lock."""

from __future__ import annotations

import json
import logging
import queue
import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from dataclasses import asdict
from typing import Any, TypeVar

from collaudo.bench.running.layout import Layout
from collaudo.bench.running.stand import Stand
from collaudo.bench.runs.events import ToldEvent
from collaudo.errors import CollaudoError
from collaudo.web.asking.faults import problems_of
from collaudo.web.running.hub import Hub, Viewer

LOG = logging.getLogger("collaudo.web.running")
FRAMES_PER_s = 15
EACH_s = 1.0 / FRAMES_PER_s
PAUSES_AFTER_s = 10.0
"""So long a stand goes on when nobody watches it."""
AWAY_AFTER_s = 30 * 60.0
"""Then it is put away."""
BEHIND_SHARE = 0.15
"""More missed ticks than this, and screens say that the computer cannot keep up."""
WHAT_WENT_WRONG = "something went wrong inside; it is written down. The machine stays as it is"

T = TypeVar("T")


class StandThread:
    """A stand with its thread, begun at once. ``opens`` makes it, which may take minutes."""

    def __init__(
        self, name: str, opens: Callable[[], tuple[Stand, Layout]], gone: Callable[[StandThread], None]
    ) -> None:
        self.name = name
        self.hub = Hub()
        self.opened = threading.Event()
        """Set when it can be used, or when it is known that it cannot."""
        self.fault: CollaudoError | None = None
        self.layout: Layout | None = None
        self.begun_s = time.monotonic()
        self.title = ""
        self._opens, self._gone = opens, gone
        self._stand: Stand | None = None
        self._asked: queue.SimpleQueue[Callable[[Stand], None] | None] = queue.SimpleQueue()
        self._unwatched_s = time.monotonic()
        self._missed = 0.0
        self._states = ""
        self._told = 0
        self._layout_number = 0
        self._closing = False
        self._thread = threading.Thread(target=self._live, name=f"stand {name}", daemon=True)
        self._thread.start()

    # --- from other threads ---------------------------------------------------------------------------------

    def ask(self, question: Callable[[Stand], T]) -> Future[T]:
        """Have something asked of the stand between two ticks."""
        answer: Future[T] = Future()

        def asked(stand: Stand) -> None:
            if answer.set_running_or_notify_cancel():
                try:
                    answer.set_result(question(stand))
                except BaseException as fault:  # whoever asked hears of it
                    answer.set_exception(fault)

        self._asked.put(asked)
        return answer

    def do(self, told: Mapping[str, Any], viewer: Viewer) -> None:
        """Do something a viewer asks for; what cannot be is said to that viewer alone."""
        self._asked.put(lambda stand: self._do(stand, told, viewer))

    def greet(self, viewer: Viewer) -> None:
        """Tell a viewer who has just come how everything stands."""
        self._asked.put(lambda stand: self._greet(stand, viewer))

    def end(self) -> None:
        """Have the thread end; what still opens is left to itself."""
        self._closing = True
        self._asked.put(None)

    def ended(self, within_s: float) -> bool:
        """Whether it has ended, or does so soon."""
        if threading.current_thread() is not self._thread:
            self._thread.join(timeout=max(within_s, 0.0))
        return not self._thread.is_alive()

    @property
    def unwatched_s(self) -> float:
        """How long nobody has watched it."""
        return 0.0 if self.hub.count else time.monotonic() - self._unwatched_s

    # --- the thread -----------------------------------------------------------------------------------------

    def _live(self) -> None:
        try:
            self._stand, self.layout = self._opens()
            self.title = self._stand.machine.title
            self._layout_number = self._stand.layout_number
        except CollaudoError as fault:
            self.fault = fault
        except Exception:
            LOG.exception("a stand could not be opened")
            self.fault = CollaudoError(WHAT_WENT_WRONG)
        self.opened.set()
        self._unwatched_s = time.monotonic()
        if self._stand is not None:
            self._run(self._stand)
        self._gone(self)

    def _run(self, stand: Stand) -> None:
        due = time.monotonic()
        while not self._closing:
            now = time.monotonic()
            if now < due:
                self._answer(stand, due - now)
                continue
            if self.hub.count:
                self._unwatched_s = now
            alone_s = now - self._unwatched_s
            if alone_s > AWAY_AFTER_s:
                return
            if alone_s <= PAUSES_AFTER_s:
                self._tick(stand)
            # Ticks that were missed are gone: a machine that waited does not hurry afterwards.
            missed = now - due > EACH_s
            self._missed += 0.05 * (float(missed) - self._missed)
            due = max(due + EACH_s, time.monotonic())

    def _answer(self, stand: Stand, within_s: float) -> None:
        """One thing that is asked, if something is before the next tick."""
        try:
            asked = self._asked.get(timeout=within_s)
        except queue.Empty:
            return
        if asked is not None:
            try:
                asked(stand)
            except Exception:
                LOG.exception("a question to the stand %s", self.name)

    def _tick(self, stand: Stand) -> None:
        frame = ""
        try:
            stand.tick(EACH_s)
            if self.hub.count:
                frame = _text({"frame": stand.frame(behind=self._missed > BEHIND_SHARE)})
        except Exception:
            LOG.exception("a tick of the stand %s", self.name)
            stand.goes = False
            self.hub.publish([_text({"said": WHAT_WENT_WRONG})])
        self._publish(stand, frame)

    def _publish(self, stand: Stand, frame: str = "") -> None:
        """What has changed since the last time, to all."""
        notes = []
        if stand.layout_number != self._layout_number:
            self._layout_number = stand.layout_number
            self.layout = None
            notes.append(_text({"layout_changed": True}))
        if stand.event_count != self._told:
            fresh = [_event(event) for number, event in stand.events if number > self._told]
            self._told = stand.event_count
            notes.append(_text({"events": fresh}))
        states = self._states_text(stand)
        if states != self._states:
            self._states = states
            notes.append(states)
        if notes or frame:
            self.hub.publish(notes, frame)

    def _states_text(self, stand: Stand) -> str:
        return _text({"states": stand.states() | {"clients": self.hub.count}})

    def _do(self, stand: Stand, told: Mapping[str, Any], viewer: Viewer) -> None:
        try:
            said = stand.do(told)
        except CollaudoError as fault:
            said = said_of(fault)
        except Exception:
            LOG.exception("asked of the stand %s", self.name)
            said = WHAT_WENT_WRONG
        if said:
            viewer.tell(_text({"said": said}))
        frame = _text({"frame": stand.frame()}) if self.hub.count else ""
        self._publish(stand, frame)

    def _greet(self, stand: Stand, viewer: Viewer) -> None:
        notes = [self._states_text(stand), _text({"events": [_event(event) for _, event in stand.events]})]
        for note in notes:
            viewer.tell(note)


def said_of(fault: CollaudoError) -> str:
    """A refusal as one reads it."""
    return "; ".join(
        f"{one.message}: {one.remedy}" if one.remedy else one.message for one in problems_of(fault)
    )


def _event(event: ToldEvent) -> dict[str, Any]:
    told = {"t": round(event.time_s, 2), **asdict(event)}
    del told["time_s"]
    return told


def _text(told: Mapping[str, Any]) -> str:
    return json.dumps(told, separators=(",", ":"), allow_nan=False)
