"""A server of its own process, as a person starts it, over a folder of its own."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[2]
READY_s = 60.0
START = """
import sys
from pathlib import Path
from collaudo.web.options import Options
from collaudo.web.serving import serve
options = Options(Path(sys.argv[1]), port=int(sys.argv[2]), pass_phrase=sys.argv[3])
sys.exit(serve(options, lan=bool(sys.argv[3]), say=lambda text: print(text, flush=True)))
"""


class Bench:
    """A running server. ``url`` stays the same when it is stopped and started again."""

    def __init__(self, data: Path, signatures: Path, phrase: str = "") -> None:
        self.data, self.signatures, self.phrase = data, signatures, phrase
        self.port = 0
        self.said: list[str] = []
        self.log = data.parent / f"{data.name}.log"
        self._process: subprocess.Popen[str] | None = None
        self.start()

    @property
    def url(self) -> str:
        """Where it is asked, without a slash at the end."""
        return f"http://localhost:{self.port}"

    @property
    def pid(self) -> int:
        """Of the process."""
        assert self._process is not None
        return self._process.pid

    def start(self) -> None:
        """Start it, on the same port as before, and wait until it answers."""
        self.data.mkdir(parents=True, exist_ok=True)
        environment = os.environ | {
            "COLLAUDO_SIGNATURES": str(self.signatures),
            "PYTHONPATH": str(ROOT / "src"),
            "PYTHONUNBUFFERED": "1",
        }
        with self.log.open("a", encoding="utf-8") as log:
            self._process = subprocess.Popen(
                [sys.executable, "-c", START, str(self.data), str(self.port), self.phrase],
                stdout=subprocess.PIPE,
                stderr=log,
                env=environment,
                cwd=ROOT,
                text=True,
            )
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        found = re.search(r"http://localhost:(\d+)", line)
        assert found, f"the server said {line!r}: {self.log.read_text(encoding='utf-8')}"
        self.port, self.said = int(found[1]), [line]
        while self.phrase and not self.said[-1].startswith("Pass phrase"):
            self.said.append(self._process.stdout.readline())
        self._wait()

    def _wait(self) -> None:
        end = time.monotonic() + READY_s
        while time.monotonic() < end:
            try:
                urllib.request.urlopen(f"{self.url}/api/token", timeout=2).close()
                return
            except urllib.error.HTTPError as answered:
                answered.close()
                return
            except OSError:
                time.sleep(0.02)
        raise AssertionError(f"no answer: {self.log.read_text(encoding='utf-8')}")

    def stop(self, how: signal.Signals = signal.SIGINT) -> int:
        """End it; its exit code."""
        process = self._process
        if process is None:
            return 0
        process.send_signal(how)
        try:
            code = process.wait(15)
        except subprocess.TimeoutExpired:
            process.kill()
            code = process.wait()
        assert process.stdout is not None
        self.said += process.stdout.read().splitlines()
        process.stdout.close()
        self._process = None
        return code

    def faults(self) -> str:
        """What it wrote down as going wrong."""
        return self.log.read_text(encoding="utf-8")
