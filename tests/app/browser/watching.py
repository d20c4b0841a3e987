"""What no page may do in a browser, watched while a test works with it."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request, Response, WebSocket


class Faults:
    """Collects faults of the pages of one context: errors in the console (a break of the content security
    policy is one), errors of scripts, requests to any other host, answers that tell of a fault inside."""

    def __init__(self, url: str) -> None:
        self.host = urlsplit(url).netloc
        self.found: list[str] = []
        self._allowed: list[re.Pattern[str]] = []

    def allow(self, *patterns: str) -> None:
        """Faults a test means to bring about: regular expressions, searched in the fault's text."""
        self._allowed += [re.compile(pattern) for pattern in patterns]

    def allow_lost_line(self) -> None:
        """A test takes the network away."""
        self.allow(r"net::ERR_", r"WebSocket connection to .* failed", r"Failed to load resource: net::")

    def watch(self, context: BrowserContext) -> None:
        """Watch every page of a context, those to come too."""
        context.on("request", self._request)
        context.on("response", self._response)
        context.on("console", self._console)
        context.on("weberror", lambda fault: self.found.append(f"script: {fault.error}"))
        context.on("page", self._page)

    def rest(self) -> list[str]:
        """What was not allowed."""
        return [one for one in self.found if not any(pattern.search(one) for pattern in self._allowed)]

    def _page(self, page: Page) -> None:
        page.on("websocket", self._socket)

    def _socket(self, socket: WebSocket) -> None:
        if urlsplit(socket.url).netloc != self.host:
            self.found.append(f"socket to another host: {socket.url}")

    def _request(self, request: Request) -> None:
        place = urlsplit(request.url)
        if place.scheme not in ("data", "blob", "about") and place.netloc != self.host:
            self.found.append(f"request to another host: {request.url}")

    def _response(self, response: Response) -> None:
        if response.status >= 500:
            self.found.append(f"answer {response.status}: {response.request.method} {response.url}")

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.found.append(f"console: {message.text} ({message.location.get('url', '')})")
