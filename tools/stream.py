"""What the bench in the browser costs, measured on a server of its own; each figure beside what it may be.

PYTHONPATH=src:. python tools/stream.py [--minutes 1] [--clients 20]

The stream: frames of a running machine to several clients, one that does not read beside one that does, and
memory over time. The pages: from the command to the first one, from a finding to the ranking, from a slider
to the readings. Seconds of the processor are those of the server's process, the twin's own work in them.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import statistics
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from tests.app.served import Bench
from tests.app.web.asking import Asker

MACHINE = "hx-vibration"
FRAMES_PER_s = 15.0
TICK_s = 1.0 / os.sysconf("SC_CLK_TCK")
STREAM_s, SLOW_s, ASKED = 15.0, 20.0, 15


@dataclass(frozen=True)
class Figure:
    """One measured value, and the limit it is held against: at most, or at least."""

    what: str
    value: float
    unit: str
    limit: float | None = None
    at_least: bool = False

    @property
    def holds(self) -> bool:
        """Whether it keeps its limit."""
        if self.limit is None:
            return True
        return self.value >= self.limit if self.at_least else self.value <= self.limit

    def line(self) -> str:
        """As it is printed: value, limit, and the share of the limit it takes."""
        text = f"{self.what:58s} {self.value:9.2f} {self.unit:9s}"
        if self.limit is None:
            return text.rstrip()
        sign = "at least" if self.at_least else "at most"
        verdict = "" if self.holds else "  NOT KEPT"
        return f"{text} {sign} {self.limit:g}: {self.value / self.limit:5.2f}{verdict}"


@dataclass
class Watch:
    """What one client got: when each frame came, and how many bytes."""

    times_s: list[float] = field(default_factory=list)
    size_bytes: int = 0

    def per_s(self) -> float:
        """Frames a second, over the time between the first and the last."""
        return (
            (len(self.times_s) - 1) / (self.times_s[-1] - self.times_s[0]) if len(self.times_s) > 1 else 0.0
        )

    def longest_gap_s(self) -> float:
        """Longest time without a frame."""
        return max(
            (b - a for a, b in zip(self.times_s, self.times_s[1:], strict=False)), default=float("inf")
        )


def processor_s(pid: int) -> float:
    """Seconds of the processor a process has used, all its threads (Linux: proc(5), utime and stime)."""
    words = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(words[11]) + int(words[12])) * TICK_s


def memory_MB(pid: int) -> float:
    """Memory a process holds (Linux: VmRSS of proc(5))."""
    text = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(text.partition("VmRSS:")[2].split()[0]) / 1024.0


def socket(bench: Bench) -> connect:
    """A line to the running machine, as a page of the bench opens it."""
    address = f"ws://localhost:{bench.port}/api/running/{MACHINE}/socket"
    return connect(address, origin=bench.url, max_queue=4, open_timeout=60, compression=None)  # type: ignore[arg-type]


async def watch(line: ClientConnection, seconds: float) -> Watch:
    """Read for so long."""
    seen, end = Watch(), time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        try:
            text = await asyncio.wait_for(line.recv(), left)
        except (TimeoutError, ConnectionClosed):
            break
        seen.size_bytes += len(text)
        if '"frame"' in text[:12]:  # type: ignore[operator]
            seen.times_s.append(time.monotonic())
    return seen


async def stream(bench: Bench, clients: int, seconds: float) -> tuple[list[Watch], float]:
    """What so many clients get at once, and the share of one core the server uses for it."""
    lines = [await socket(bench) for _ in range(clients)]
    try:
        await lines[0].send('{"do": {"operate": {"power": "on"}}}')
        await asyncio.gather(*(watch(line, 1.0) for line in lines))
        before, begun = processor_s(bench.pid), time.monotonic()
        seen = await asyncio.gather(*(watch(line, seconds) for line in lines))
        return list(seen), (processor_s(bench.pid) - before) / (time.monotonic() - begun)
    finally:
        await asyncio.gather(*(line.close() for line in lines))


async def beside_a_slow_one(bench: Bench, seconds: float) -> tuple[Watch, float]:
    """What a client gets beside one that never reads, and how much memory the server takes on meanwhile."""
    silent, quick = await socket(bench), await socket(bench)
    silent.transport.pause_reading()
    try:
        await watch(quick, 1.0)
        before = memory_MB(bench.pid)
        seen = await watch(quick, seconds)
        return seen, memory_MB(bench.pid) - before
    finally:
        silent.transport.abort()
        await quick.close()


async def over_time(bench: Bench, clients: int, minutes: float, say: Callable[[str], None]) -> float:
    """Growth of the server's memory [MB per hour] with so many clients at 120 times the speed, from the
    second quarter of the time on: caches fill first."""
    lines = [await socket(bench) for _ in range(clients)]
    await lines[0].send('{"do": {"speed": 120}}')
    reading = [asyncio.create_task(watch(line, minutes * 60.0)) for line in lines]
    seen: list[tuple[float, float]] = []
    begun = time.monotonic()
    while (gone := time.monotonic() - begun) < minutes * 60.0:
        seen.append((gone, memory_MB(bench.pid)))
        await asyncio.sleep(min(10.0, minutes * 60.0 / 12))
    say(f"  memory [MB]: {' '.join(f'{size:.0f}' for _, size in seen)}")
    await asyncio.gather(*reading)
    await lines[0].send('{"do": {"speed": 1}}')
    await asyncio.gather(*(line.close() for line in lines))
    return slope(seen[len(seen) // 4 :]) * 3600.0


def slope(points: Sequence[tuple[float, float]]) -> float:
    """Of the straight line through points, by least squares."""
    if len(points) < 2:
        return 0.0
    return statistics.linear_regression([x for x, _ in points], [y for _, y in points]).slope


def load() -> float:
    """How many processes want each core; above one, times are longer than they would be alone."""
    return os.getloadavg()[0] / (os.cpu_count() or 1)


def median_ms(do: Callable[[int], object], times: int = ASKED) -> float:
    """Time that something takes, the first time left out."""
    taken = []
    for number in range(times + 1):
        begun = time.perf_counter()
        do(number)
        taken.append(1000.0 * (time.perf_counter() - begun))
    return statistics.median(taken[1:])


def answers(bench: Bench) -> list[Figure]:
    """Times from a question to its answer, as a page would ask it."""
    asker = Asker(bench)
    first = asker.change("POST", "/api/findings", {"machine": MACHINE, "entry": str(uuid.uuid4())})
    sheet = first.json()["id"]

    def finding(number: int) -> None:
        entry = {"entry": str(uuid.uuid4()), "kind": "reading", "check": "free-flow", "reading": "water"}
        told = {"entries": [entry | {"value": 30.0 + number, "unit": "g"}]}
        answer = asker.change("POST", f"/api/findings/{sheet}/entries", told)
        if answer.status != 200 or not answer.json()["answer"]["causes"]:
            raise SystemExit(f"a finding changed no ranking: {answer.text[:300]}")

    def slider(number: int) -> None:
        told = {"settings": {"boiler_pressure": 1.0 + 0.01 * number}}
        answer = asker.change("POST", f"/api/effects/{MACHINE}", told)
        if answer.status != 200:
            raise SystemExit(f"a slider moved nothing: {answer.text[:300]}")

    found: list[Figure] = []
    for what, do, limit_ms in (
        ("first page, asked for", lambda _: asker.ask("GET", "/"), 500.0),
        ("from a finding to the ranking", finding, 300.0),
        ("from a slider to the readings", slider, 150.0),
    ):
        do(0)
        before = processor_s(bench.pid)
        found.append(Figure(what, median_ms(do), "ms", limit_ms))
        used_ms = 1000.0 * (processor_s(bench.pid) - before) / (ASKED + 1)
        found.append(Figure("  of that the processor works", used_ms, "ms"))
    asker.close()
    return found


def streams(bench: Bench, clients: int, minutes: float, say: Callable[[str], None]) -> list[Figure]:
    """What the stream costs and who gets how much of it."""
    asyncio.run(stream(bench, 1, 2.0))  # the machine is put on its stand
    one, one_core = asyncio.run(stream(bench, 1, STREAM_s))
    five, five_core = asyncio.run(stream(bench, 5, STREAM_s))
    quick, taken_MB = asyncio.run(beside_a_slow_one(bench, SLOW_s))
    growth = asyncio.run(over_time(bench, clients, minutes, say))
    worst = min(watched.per_s() for watched in five)
    rate = 0.97 * FRAMES_PER_s  # a frame more or less at either end
    return [
        Figure("frames to one client", one[0].per_s(), "1/s", rate, at_least=True),
        Figure("frames to the worst of five", worst, "1/s", rate, at_least=True),
        Figure("longest gap of the five", max(w.longest_gap_s() for w in five), "s", 0.5),
        Figure("size of it, each", five[0].size_bytes / STREAM_s / 1000.0, "kB/s"),
        Figure("processor, one client", 100.0 * one_core, "% of core"),
        Figure("processor, five clients", 100.0 * five_core, "% of core", 15.0),
        Figure("each further client", 25.0 * (five_core - one_core), "% of core"),
        Figure("frames beside a client that never reads", quick.per_s(), "1/s", rate, at_least=True),
        Figure("longest gap beside it", quick.longest_gap_s(), "s", 0.5),
        Figure("memory it makes the server take", taken_MB, "MB", 3.0),
        Figure(f"growth of memory, {clients} clients, {minutes:g} min", growth, "MB/h", 20.0),
    ]


def measure(minutes: float, clients: int, say: Callable[[str], None]) -> list[Figure]:
    """All of it, on a server with made-up signatures."""
    from tests.app.made_signatures import make_signatures

    with tempfile.TemporaryDirectory() as place:
        os.environ["COLLAUDO_SIGNATURES"] = str(Path(place) / "signatures")
        make_signatures(MACHINE)
        begun = time.perf_counter()
        bench = Bench(Path(place) / "data", Path(place) / "signatures")
        try:
            asker = Asker(bench)
            asker.ask("GET", "/")
            asker.close()
            found = [Figure("from the command to the first page", time.perf_counter() - begun, "s", 2.0)]
            found += answers(bench) + streams(bench, clients, minutes, say)
            found.append(Figure("memory at the end", memory_MB(bench.pid), "MB"))
            return [*found, Figure("other work on this computer: load, per core", load(), "")]
        finally:
            bench.stop()


def main(arguments: Sequence[str]) -> int:
    """Print the figures; 1 where a limit is not kept."""
    parser = argparse.ArgumentParser(description="What the bench in the browser costs.")
    parser.add_argument("--minutes", type=float, default=1.0, help="over which memory is watched")
    parser.add_argument("--clients", type=int, default=20, help="that watch meanwhile")
    asked = parser.parse_args(arguments)
    found = measure(asked.minutes, asked.clients, lambda text: print(text, flush=True))
    print("\n".join(figure.line() for figure in found))
    return 0 if all(figure.holds for figure in found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
