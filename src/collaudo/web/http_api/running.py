"""Running machines: their layout, their socket, the card of a part, and what they have shown."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Annotated, TypeVar

from fastapi import APIRouter, HTTPException, Query, Request, WebSocket
from fastapi.responses import JSONResponse, Response
from starlette.requests import HTTPConnection

from collaudo.bench.judging.getting_ready import compiling_left_s, twin_is_compiled
from collaudo.bench.running.history import Strip
from collaudo.bench.running.layout import Layout, layout_of
from collaudo.bench.running.part_card import PartCard, card_of
from collaudo.bench.running.stand import Stand
from collaudo.errors import CollaudoError, InputError, Problem, unknown_name
from collaudo.web.running.asked import Pace, read_asked
from collaudo.web.running.hub import Viewer
from collaudo.web.running.keeper import OWN, Keeper, StandState
from collaudo.web.running.stand_thread import StandThread, said_of

router = APIRouter(prefix="/api/running", tags=["running"])
WAIT_s = 2.0
"""So long a question waits for a stand that is being opened."""
ANSWER_s = 20.0
LOOK_AGAIN_s = 0.1
"""What compiling takes on a usual computer."""
GONE = 4404
"""Code with which a socket is closed where there is no such stand."""
MOST_STRIPS = 24

T = TypeVar("T")


@dataclass(frozen=True)
class OpenStand:
    """Which machine to put on a stand of one's own."""

    machine: str


@dataclass(frozen=True)
class OpenedStand:
    """What the stand is called."""

    stand: str


@dataclass(frozen=True)
class StandReadiness:
    """How far a stand is on its way; ``left_s`` is a guess, None where there is none."""

    stage: str
    """compiling or opening."""
    said: str
    since_s: float
    left_s: float | None


@dataclass(frozen=True)
class StandOpening:
    """In place of a stand that is not there yet."""

    readiness: StandReadiness


def keeper_of(asked: HTTPConnection) -> Keeper:
    """The stands of this server."""
    found: Keeper = asked.app.state.upkeep.running
    return found


@router.get("")
def stands(request: Request) -> list[StandState]:
    """Every stand that is open."""
    return keeper_of(request).states()


@router.post("", status_code=201)
def open_stand(request: Request, wanted: OpenStand) -> OpenedStand:
    """Open a stand of one's own beside the shared one: the next free of ``machine~2``, ``machine~3`` …"""
    return OpenedStand(keeper_of(request).open_own(wanted.machine).name)


@router.delete("/{stand}", status_code=204)
def put_away(request: Request, stand: str) -> None:
    """End a stand that nobody watches; what it was running is gone."""
    keeper_of(request).put_away(stand)


@router.get(
    "/{stand}",
    response_model=Layout,
    responses={202: {"model": StandOpening, "description": "It is being opened: ask again."}},
)
def layout(request: Request, stand: str) -> Layout | Response:
    """Drawings, controls, and what each place of a frame is. Opens the stand where it is not open."""
    found = keeper_of(request).stand(stand)
    if not found.opened.wait(WAIT_s):
        return JSONResponse(asdict(StandOpening(_readiness(found))), 202)
    _raise_fault(request, found)
    known = found.layout
    if known is None:  # it has changed
        known = _answer(found, lambda one: layout_of(one, stand, of_one_own=OWN in stand))
        found.layout = known
    return known


@router.get("/{stand}/card/{part}")
def card(request: Request, stand: str, part: str) -> PartCard:
    """A part: what it does, how it fails, how it stands now, which checks and causes are of it."""
    return _answer(_ready(request, stand), lambda one: card_of(one, part))


@router.get("/{stand}/history")
def history(
    request: Request,
    stand: str,
    names: Annotated[str, Query(max_length=4000, description="values by name, with commas between")],
    since: Annotated[float, Query(ge=0.0, allow_inf_nan=False, description="time of the machine [s]")] = 0.0,
) -> Strip:
    """Values over the machine's own time, at most 1500 points: the last minutes finely, before coarsely."""
    wanted = list(dict.fromkeys(filter(None, names.split(","))))
    if not 1 <= len(wanted) <= MOST_STRIPS:
        raise InputError(Problem(f"{len(wanted)} values asked for", f"1 to {MOST_STRIPS}"))
    found = _ready(request, stand)

    def read(one: Stand) -> Strip:
        for name in wanted:
            if name not in one.history.names:
                raise unknown_name("value", name[:60], one.history.names)
        return one.history.read(wanted, since)

    return _answer(found, read)


@router.websocket("/{stand}/socket")
async def socket(line: WebSocket, stand: str) -> None:
    """Frames, events and states out; things to do in. See the layout for what each place of a frame is."""
    await line.accept()
    keeper = keeper_of(line)
    try:
        found = await asyncio.to_thread(keeper.stand, stand)
    except CollaudoError as fault:
        await _turn_away(line, fault)
        return
    viewer = Viewer()
    found.hub.join(viewer)
    found.greet(viewer)
    tasks = [
        asyncio.create_task(_send(line, viewer)),
        asyncio.create_task(_watch_opening(line, found, keeper)),
    ]
    try:
        await _receive(line, viewer, found)
    finally:
        found.hub.leave(viewer)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


async def _watch_opening(line: WebSocket, stand: StandThread, keeper: Keeper) -> None:
    """What is asked meanwhile waits. A stand that cannot be opened says why."""
    while not stand.opened.is_set():
        await asyncio.sleep(LOOK_AGAIN_s)
    if stand.fault is not None:
        keeper.forget(stand)
        await _turn_away(line, stand.fault)


async def _turn_away(line: WebSocket, fault: CollaudoError) -> None:
    await line.send_text(json.dumps({"said": said_of(fault)}))
    await line.close(GONE)


async def _send(line: WebSocket, viewer: Viewer) -> None:
    """One after the other; a line that is slow gets the latest frame when it is ready again."""
    while True:
        for text in await viewer.next():
            await line.send_text(text)


async def _receive(line: WebSocket, viewer: Viewer, stand: StandThread) -> None:
    """Until the other end closes."""
    pace = Pace()
    while True:
        message = await line.receive()
        if message["type"] == "websocket.disconnect":
            return
        if not pace.allows():
            if not pace.said:
                pace.said = True
                viewer.put([json.dumps({"said": "too much at once; some of it was left out"})])
            continue
        try:
            stand.do(read_asked(message.get("text") or ""), viewer)
        except InputError as fault:
            viewer.put([json.dumps({"said": said_of(fault)})])


def _answer(stand: StandThread, question: Callable[[Stand], T]) -> T:
    """What the stand answers between two ticks."""
    try:
        return stand.ask(question).result(ANSWER_s)
    except TimeoutError:
        raise HTTPException(409, "The machine does not answer; it may have been put away.") from None


def _ready(request: Request, stand: str) -> StandThread:
    """An open stand, for what asks of one that runs."""
    found = keeper_of(request).stand(stand)
    if not found.opened.wait(WAIT_s):
        raise HTTPException(409, "The machine is still being opened; ask for its layout until it is there.")
    _raise_fault(request, found)
    return found


def _raise_fault(request: Request, stand: StandThread) -> None:
    if stand.fault is not None:
        keeper_of(request).forget(stand)
        raise stand.fault


def _readiness(stand: StandThread) -> StandReadiness:
    since_s = time.monotonic() - stand.begun_s
    if twin_is_compiled():
        return StandReadiness("opening", "Drawing the machine and setting it up.", since_s, 3.0)
    said = "The twin is compiled for this computer; this is needed once and takes about three minutes."
    return StandReadiness("compiling", said, since_s, compiling_left_s(since_s))
