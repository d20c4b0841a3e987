"""The first page stands while all behind it is still loaded; the rest waits, and a fault is not hidden."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from collaudo.web.doorstep import Doorstep
from collaudo.web.options import Options

HOME = "http://localhost:8760"
OPTIONS = Options(Path("never-made"))


class Lived:
    """Takes an application through its life, as a server does."""

    def __init__(self, doorstep: Doorstep) -> None:
        self.doorstep = doorstep
        self.to_app: asyncio.Queue[dict[str, str]] = asyncio.Queue()
        self.said: asyncio.Queue[str] = asyncio.Queue()

    async def __aenter__(self) -> httpx.AsyncClient:
        async def send(message: object) -> None:
            assert isinstance(message, dict)
            await self.said.put(message["type"])

        lifespan = {"type": "lifespan"}
        self.life = asyncio.create_task(self.doorstep(lifespan, self.to_app.get, send))
        await self.to_app.put({"type": "lifespan.startup"})
        assert await self.said.get() == "lifespan.startup.complete"
        self.client = httpx.AsyncClient(transport=httpx.ASGITransport(self.doorstep), base_url=HOME)
        return self.client

    async def __aexit__(self, *fault: object) -> None:
        await self.client.aclose()
        await self.to_app.put({"type": "lifespan.shutdown"})
        assert await self.said.get() == "lifespan.shutdown.complete"
        await self.life


def slow(allowed: threading.Event, lived: list[str]) -> Callable[[Options], FastAPI]:
    """Makes an application when it is allowed to."""

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        lived.append("begun")
        yield
        lived.append("ended")

    def make(_: Options) -> FastAPI:
        assert allowed.wait(20)
        app = FastAPI(lifespan=life)

        @app.get("/elsewhere")
        def elsewhere() -> str:
            return "from the whole"

        return app

    return make


def test_the_first_page_does_not_wait_and_all_else_does() -> None:
    allowed, lived = threading.Event(), list[str]()

    async def story() -> None:
        async with Lived(Doorstep(OPTIONS, lambda: None, slow(allowed, lived))) as client:
            first = await client.get("/")
            assert first.status_code == 200
            assert "<h1" in first.text
            assert "default-src 'none'" in first.headers["content-security-policy"]
            style = first.text.partition('rel="stylesheet" href="')[2].partition('"')[0]
            assert (await client.get(style)).status_code == 200
            assert (await client.get("/", headers={"Host": "evil.test"})).status_code == 400
            waiting = asyncio.create_task(client.get("/elsewhere"))
            await asyncio.sleep(0.05)
            assert not waiting.done()
            allowed.set()
            assert (await waiting).json() == "from the whole"
            assert lived == ["begun"]

    asyncio.run(story())
    assert lived == ["begun", "ended"]


def test_what_cannot_be_loaded_ends_the_server_and_says_why() -> None:
    def make(_: Options) -> FastAPI:
        raise OSError("the disk is gone")

    async def story() -> None:
        ended = asyncio.Event()
        doorstep = Doorstep(OPTIONS, ended.set, make)
        async with Lived(doorstep):
            await asyncio.wait_for(ended.wait(), 20)
        assert isinstance(doorstep.fault, OSError)

    asyncio.run(story())


def test_a_server_that_ends_while_it_loads_ends_all_the_same() -> None:
    allowed, lived = threading.Event(), list[str]()

    async def story() -> None:
        async with Lived(Doorstep(OPTIONS, lambda: None, slow(allowed, lived))):
            pass
        allowed.set()

    asyncio.run(story())
    assert lived == []


def test_a_pass_phrase_is_asked_for_at_the_first_page_too() -> None:
    allowed = threading.Event()
    locked = Options(Path("never-made"), pass_phrase="four quiet old kettles")

    async def story() -> None:
        async with Lived(Doorstep(locked, lambda: None, slow(allowed, []))) as client:
            answer = await client.get("/")
            assert answer.status_code == 303
            assert answer.headers["location"] == "/enter"
            allowed.set()

    asyncio.run(story())


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE"])
def test_nothing_is_changed_in_front(method: str) -> None:
    allowed = threading.Event()

    async def story() -> None:
        async with Lived(Doorstep(OPTIONS, lambda: None, slow(allowed, []))) as client:
            asked = asyncio.create_task(client.request(method, "/"))
            await asyncio.sleep(0.05)
            assert not asked.done()
            allowed.set()
            assert (await asked).status_code in (403, 404, 405)

    asyncio.run(story())
