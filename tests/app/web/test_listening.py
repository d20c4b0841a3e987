"""The server listens on this computer alone unless told otherwise, and then only with a pass phrase."""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest

from tests.app.served import Bench
from tests.app.web.asking import Asker

TABLES = (Path("/proc/net/tcp"), Path("/proc/net/tcp6"))
LISTENING = "0A"
THIS_COMPUTER, EVERYWHERE = "0100007F", "00000000"
"""127.0.0.1 and 0.0.0.0 as the kernel writes them in its tables."""
ROUND_THE_DOOR = (
    "/enter/",
    "/enter/x",
    "/enter/../",
    "/enter/../api/token",
    "/enter%2f..%2fapi/token",
    "//enter",
    "/ENTER",
    "/static/../api/token",
    "/static/..",
    "/static/%2e%2e/api/token",
    "/staticx",
    "//static/../",
    "/%2e/",
)
"""Ways of writing an address that must not lead past the page that asks for the phrase."""


def addresses(port: int) -> list[str]:
    """Addresses on which something listens at a port, from the kernel's own table."""
    found = []
    for table in TABLES:
        for line in table.read_text(encoding="ascii").splitlines()[1:] if table.exists() else []:
            _, local, _, state = line.split()[:4]
            address, _, number = local.partition(":")
            if state == LISTENING and int(number, 16) == port:
                found.append(address)
    return found


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads the table of the Linux kernel")
def test_it_listens_on_this_computer_alone(served: Bench) -> None:
    assert addresses(served.port) == [THIS_COMPUTER]


def test_other_addresses_of_this_computer_do_not_lead_to_it(served: Bench) -> None:
    for address in ("127.0.0.2", own_address()):
        with socket.socket() as probe:
            probe.settimeout(2)
            assert probe.connect_ex((address, served.port)) != 0


def own_address() -> str:
    """An address of this computer in its network; one that is in none where there is no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # sends nothing (TEST-NET-1, RFC 5737)
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.3"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads the table of the Linux kernel")
def test_told_to_it_listens_on_the_network_behind_the_door(served_folder: Path, tmp_path: Path) -> None:
    bench = Bench(tmp_path / "data", served_folder, phrase="river copper window eleven boat")
    try:
        assert addresses(bench.port) == [EVERYWHERE]
        asker = Asker(bench)
        assert asker.ask("GET", "/").headers["location"] == "/enter"
        assert asker.ask("GET", "/api/token").status == 401
        assert asker.ask("GET", "/", {"Host": f"evil.example:{bench.port}"}).status == 400
        assert asker.ask("GET", "/enter", {"Host": f"{own_address()}:{bench.port}"}).status in (200, 400)
        for path in ROUND_THE_DOOR:
            answer = asker.ask("GET", path)
            assert answer.status in (303, 404), path
            assert answer.headers.get("location", "/enter") == "/enter"
        asker.close()
    finally:
        bench.stop()
    assert "Traceback" not in bench.faults()
