"""Asking a running server exactly what is written down: no client makes it tidy on the way."""

from __future__ import annotations

import contextlib
import http.client
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tests.app.served import Bench

WAIT_s = 60


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    """Names in lower case; several of one name are joined by line breaks."""
    body: bytes

    @property
    def text(self) -> str:
        """The body as text."""
        return self.body.decode("utf-8", "replace")

    def json(self) -> Any:
        """The body read as JSON."""
        return json.loads(self.body)


class Asker:
    """Asks over one connection; knows a form token and its cookie."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.host = f"localhost:{bench.port}"
        self._connection: http.client.HTTPConnection | None = None
        answer = self.ask("GET", "/api/token")
        self.cookie = answer.headers.get("set-cookie", "").partition(";")[0]
        self.token = answer.json().get("form_token", "")

    def ask(
        self,
        method: str,
        path: str,
        headers: Mapping[str, str | None] | None = None,
        body: bytes | Iterable[bytes] | None = None,
        *,
        length: bool = True,
    ) -> Answer:
        """Send it as it stands. ``headers`` replace the usual ones; None leaves one out. Without ``length``
        the body goes in chunks."""
        sent: dict[str, str | None] = {"Host": self.host, **(headers or {})}
        if isinstance(body, bytes) and length:
            sent.setdefault("Content-Length", str(len(body)))
        chunked = body is not None and not length
        kept, self._connection = self._connection, None
        try:
            connection, answer = self._send(kept, method, path, sent, body, chunked=chunked)
        except (http.client.RemoteDisconnected, ConnectionResetError):
            if kept is None:
                raise
            # The server lets connections go that were quiet for some seconds.
            connection, answer = self._send(None, method, path, sent, body, chunked=chunked)
        text = answer.read()
        told: dict[str, str] = {}
        for name, value in answer.getheaders():
            before = told.get(name.lower())
            told[name.lower()] = value if before is None else f"{before}\n{value}"
        if answer.will_close:
            connection.close()
        else:
            self._connection = connection
        return Answer(answer.status, told, text)

    def _send(
        self,
        kept: http.client.HTTPConnection | None,
        method: str,
        path: str,
        headers: Mapping[str, str | None],
        body: bytes | Iterable[bytes] | None,
        *,
        chunked: bool,
    ) -> tuple[http.client.HTTPConnection, http.client.HTTPResponse]:
        connection = kept or http.client.HTTPConnection("127.0.0.1", self.bench.port, timeout=WAIT_s)
        connection.putrequest(method, "/", skip_host=True, skip_accept_encoding=True)
        # http.client refuses what browsers would not send; these tests send it all the same.
        connection._buffer[0] = f"{method} {path} HTTP/1.1".encode()  # type: ignore[attr-defined]
        for name, value in headers.items():
            if value is not None:
                connection.putheader(name, value)
        if chunked:
            connection.putheader("Transfer-Encoding", "chunked")
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):  # it may refuse before all was sent
            connection.endheaders(body, encode_chunked=chunked)
        return connection, connection.getresponse()

    def change(
        self, method: str, path: str, told: Any, headers: Mapping[str, str | None] | None = None
    ) -> Answer:
        """Change something, as a page does: JSON, token and cookie."""
        usual: dict[str, str | None] = {
            "Content-Type": "application/json",
            "Cookie": self.cookie,
            "X-Form-Token": self.token,
            "Origin": f"http://{self.host}",
        }
        return self.ask(method, path, usual | dict(headers or {}), json.dumps(told).encode())

    def close(self) -> None:
        """Let the connection go."""
        if self._connection:
            self._connection.close()
