"""Where the server listens, and under which names it may be asked for."""

from __future__ import annotations

import contextlib
import socket
import sys

from collaudo.errors import InputError, Problem

FIRST_PORT, TRIES = 8760, 20
"""The usual port; where it is taken, the next free one of so many."""


def listener(port: int, *, lan: bool) -> socket.socket:
    """A socket on the wanted port of this computer alone, or of its network too.

    The usual port gives way to the next free one; any other that is taken is an `InputError`.
    """
    ports = [port] if port != FIRST_PORT else list(range(FIRST_PORT, FIRST_PORT + TRIES))
    fault: OSError | None = None
    for number in ports:
        try:
            return _bound("0.0.0.0" if lan else "127.0.0.1", number)  # only where asked for
        except OSError as found:
            fault = found
    taken = str(port) if len(ports) == 1 else f"{ports[0]} to {ports[-1]}"
    why = "may not be used" if isinstance(fault, PermissionError) else "is taken"
    raise InputError(Problem(f"port {taken} {why}", "end what listens there, or name another with --port"))


def _bound(address: str, port: int) -> socket.socket:
    # Named as TCP, else the event loop lets short answers wait for each other, some 40 ms (Nagle).
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        # Elsewhere a port is free again only minutes after a server ended; on Windows the same option would
        # let two servers listen at one port.
        windows = sys.platform == "win32"
        found.setsockopt(socket.SOL_SOCKET, _EXCLUSIVE if windows else socket.SO_REUSEADDR, 1)
        found.bind((address, port))
        found.set_inheritable(False)
    except OSError:
        found.close()
        raise
    return found


_EXCLUSIVE = getattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_REUSEADDR)


def own_names() -> list[str]:
    """Names and addresses under which other computers of the network reach this one; nothing is asked of the
    network for it."""
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
    return list(dict.fromkeys(one for one in found if not one.startswith("127.") and one != "localhost"))
