"""Starting the server, saying where it is, opening the browser, ending it cleanly."""

from __future__ import annotations

import asyncio
import contextlib
import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import uvicorn

from collaudo.errors import InputError, Problem
from collaudo.web.application import make_application
from collaudo.web.options import LOOPBACK, Options

FIRST_PORT, TRIES = 8760, 20
WORDS = 5
"""Of a pass phrase the server makes up: five of 256 words, 40 bits, with few tries a minute."""


def serve(
    options: Options, *, lan: bool = False, open_at: str | None = None, say: Callable[[str], None]
) -> int:
    """Serve until Ctrl-C. ``open_at``: the page a browser is opened at; None: none is.

    Listens on this computer alone; with ``lan`` on its network too, and then asks for the pass phrase.
    """
    listener = _listener(options.port, lan=lan)
    port = listener.getsockname()[1]
    if lan:
        hosts = (*LOOPBACK, *_own_names())
        phrase = options.pass_phrase or made_up_phrase()
        options = replace(options, port=port, hosts=hosts, pass_phrase=phrase)
    else:
        options = replace(options, port=port, pass_phrase="")
    server = _Server(
        uvicorn.Config(
            make_application(options),
            log_level="warning",
            access_log=False,
            ws="websockets-sansio",
            server_header=False,
            date_header=False,
            ws_max_size=64_000,
            timeout_graceful_shutdown=2,
        )
    )
    address = f"http://localhost:{port}"
    say(f"The bench is open at {address} (Ctrl-C ends it).")
    if lan:
        for name in _own_names():
            say(f"On this network: http://{name}:{port}")
        say(f"Pass phrase: {options.pass_phrase}")
    if open_at is not None:
        server.when_ready = lambda: _open(address + open_at, say)
    try:
        asyncio.run(server.serve(sockets=[listener]))
    except KeyboardInterrupt:
        pass
    finally:
        listener.close()
    say("Closed. Everything that was entered is kept.")
    return 0


class _Server(uvicorn.Server):
    """Says when it is ready."""

    when_ready: Callable[[], None] | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """As the server's own, then open the browser."""
        await super().startup(sockets)
        if self.when_ready:
            threading.Thread(target=self.when_ready, daemon=True).start()


def _listener(port: int, *, lan: bool) -> socket.socket:
    """A socket on the wanted port, or the next free one where the usual one is taken."""
    ports = [port] if port != FIRST_PORT else list(range(FIRST_PORT, FIRST_PORT + TRIES))
    for number in ports:
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform != "win32":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind(("0.0.0.0" if lan else "127.0.0.1", number))  # only where asked for
            listener.set_inheritable(False)
            return listener
        except OSError:
            listener.close()
    taken = str(port) if len(ports) == 1 else f"{ports[0]} to {ports[-1]}"
    raise InputError(Problem(f"port {taken} is taken", "end what listens there, or name another with --port"))


def _own_names() -> list[str]:
    """Names and addresses under which other computers of the network reach this one."""
    name = socket.gethostname().lower()
    found = [name, f"{name}.local"] if name else []
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        # Sends nothing: only asks which of our addresses would be used (TEST-NET-1, RFC 5737).
        probe.connect(("192.0.2.1", 9))
        found.append(probe.getsockname()[0])
    except OSError:
        pass
    finally:
        probe.close()
    with contextlib.suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(name, None, socket.AF_INET)]
    return list(dict.fromkeys(one for one in found if not one.startswith("127.")))


def made_up_phrase() -> str:
    """A pass phrase that is easily read aloud and typed."""
    text = (Path(__file__).parent / "phrase_words.txt").read_text(encoding="utf-8")
    words = text.split()
    return " ".join(secrets.choice(words) for _ in range(WORDS))


def _open(address: str, say: Callable[[str], None]) -> None:
    if not webbrowser.open(address):
        say(f"No browser could be opened here; open {address} yourself.")
