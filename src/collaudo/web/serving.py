"""Starting the server, saying where it is, opening the browser, ending it cleanly."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from types import FrameType

import uvicorn

from collaudo.bench.data import data_folder
from collaudo.errors import InputError, Problem
from collaudo.web.doorstep import Doorstep
from collaudo.web.listening import listener, own_names
from collaudo.web.only_one import InUse, OnlyOne
from collaudo.web.options import LOOPBACK, Options
from collaudo.web.phrase import made_up_phrase, own_phrase

GRACE_s = 1
"""Time that requests under way have when the server ends."""
LONGEST_END_s = 1.7
"""Then it ends, whatever still computes: what was entered is on the disk before it is answered."""
CLOSED = "Closed. Everything that was entered is kept."


def serve(
    options: Options, *, lan: bool = False, open_at: str | None = None, say: Callable[[str], None]
) -> int:
    """Serve until Ctrl-C; returns the exit code. ``open_at``: the page a browser is opened at; None: none is.

    Listens on this computer alone; with ``lan`` on its network too, and then asks for the pass phrase.
    Where a server already has the data folder, the browser is opened at that one instead; `InputError`
    where that would not do.
    """
    try:
        with OnlyOne(options.data) as only_one, listener(options.port, lan=lan) as found:
            return _serve(options, found, only_one, lan=lan, open_at=open_at, say=say)
    except InUse as other:
        if other.address and open_at is not None and not lan:
            say(f"The bench is open already, at {other.address}.")
            _open(other.address + open_at, say)
            return 0
        where = f" at {other.address}" if other.address else ""
        raise InputError(
            Problem(
                f"the bench is open already{where}, with the same data ({options.data})",
                "end that one first, or name another folder with --data",
            )
        ) from None


def serve_folder(
    data: Path | None,
    *,
    port: int,
    lan: bool,
    phrase: str,
    open_at: str | None,
    say: Callable[[str], None],
) -> int:
    """Serve a data folder; None: the user's own. ``phrase``: for others of the network; empty: made up."""
    folder = (data or data_folder()).expanduser()
    if folder.exists() and not folder.is_dir():
        raise InputError(Problem("this is no folder", "name a folder with --data", str(folder)))
    options = Options(folder, port=port, pass_phrase=own_phrase(phrase) if phrase else "")
    return serve(options, lan=lan, open_at=open_at, say=say)


def _serve(
    options: Options,
    found: socket.socket,
    only_one: OnlyOne,
    *,
    lan: bool,
    open_at: str | None,
    say: Callable[[str], None],
) -> int:
    port = found.getsockname()[1]
    names = own_names() if lan else []
    made_up = "" if options.pass_phrase or not lan else made_up_phrase()
    options = replace(
        options,
        port=port,
        hosts=(*LOOPBACK, *names),
        pass_phrase=(options.pass_phrase or made_up) if lan else "",
    )
    address = f"http://localhost:{port}"
    server = _Server(options, say)
    only_one.tell(address)
    say(f"The bench is open at {address} (Ctrl-C ends it).")
    for name in names:
        say(f"On this network: http://{name}:{port}")
    if lan:
        say(f"Pass phrase: {made_up or 'the one you gave'}")
    if open_at is not None:
        server.when_ready = lambda: _open(address + open_at, say)
    server.run_on(found)
    say(CLOSED)
    return 0


class _Server(uvicorn.Server):
    """Says when it is ready; has ended soon after it was told to."""

    when_ready: Callable[[], None] | None = None

    def __init__(self, options: Options, say: Callable[[str], None]) -> None:
        self._say = say
        self._doorstep = Doorstep(options, self._give_up)
        super().__init__(
            uvicorn.Config(
                self._doorstep,
                log_level="warning",
                access_log=False,
                ws="websockets-sansio",
                server_header=False,
                date_header=False,
                ws_max_size=64_000,
                timeout_graceful_shutdown=GRACE_s,
            )
        )
        self._last: threading.Timer | None = None

    def run_on(self, found: socket.socket) -> None:
        """Until a signal ends it."""
        # The server gives the signal it ended by back afterwards: it has been obeyed then.
        before = signal.signal(signal.SIGTERM, signal.SIG_IGN)
        try:
            with suppress(KeyboardInterrupt):
                asyncio.run(self.serve(sockets=[found]))
        finally:
            signal.signal(signal.SIGTERM, before)
            if self._last:
                self._last.cancel()
        if self._doorstep.fault:
            raise self._doorstep.fault

    def _give_up(self) -> None:
        self.should_exit = True

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """As the server's own, then open the browser."""
        await super().startup(sockets)
        if self.when_ready:
            threading.Thread(target=self.when_ready, daemon=True).start()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """As the server's own, with an end to the waiting."""
        super().handle_exit(sig, frame)
        if self._last is None:
            self._last = threading.Timer(LONGEST_END_s, self._end_now)
            self._last.daemon = True
            self._last.start()

    def _end_now(self) -> None:
        self._say(CLOSED)
        for stream in (sys.stdout, sys.stderr):
            with suppress(Exception):
                stream.flush()
        os._exit(0)


def _open(address: str, say: Callable[[str], None]) -> None:
    if not webbrowser.open(address):
        say(f"No browser could be opened here; open {address} yourself.")
