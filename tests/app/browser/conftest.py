"""A real server and a real browser. Where there is no Chromium, these tests are skipped by name and counted.

`bench` is one server for the tests of a worker, `own_bench` one with an empty folder for one test. `page` is
a tablet; `open_page(...)` opens phones, wall screens, dark ones. Each fails its test for what no page may do
(see `watching.Faults`); a test that means to bring a fault about says so with `faults.allow(...)`.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.app.browser.watching import Faults
from tests.app.served import Bench

NAMES = ("chromium", "/usr/bin/chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--no-sandbox",  # CI runs as root; only our own pages are opened
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--autoplay-policy=no-user-gesture-required",
)
SCREENS = {"tablet": (1180, 820), "tablet upright": (820, 1180), "phone": (390, 844), "wall": (1920, 1080)}
"""Width and height in the browser's pixels."""
PATIENCE_ms = 20_000


def find_chromium() -> str:
    """Path of a Chromium; empty where there is none."""
    wanted = (os.environ.get("CHROMIUM", ""), *NAMES)
    return next((path for name in wanted if name and (path := shutil.which(name))), "")


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """The browser. Ends with the folder's tests, since while it runs no other loop may run in the thread."""
    path = find_chromium()
    if not path:
        pytest.skip("no Chromium here: install Debian's chromium, or name one in CHROMIUM")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        yield started
        started.close()


@pytest.fixture(scope="package")
def bench(
    browser: Browser,  # noqa: ARG001  # without a browser no server is needed
    served_folder: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Bench]:
    """A server all tests here share: they must not mind what others have entered."""
    started = Bench(tmp_path_factory.mktemp("bench") / "data", served_folder)
    yield started
    started.stop()
    assert "Traceback" not in started.faults()


@pytest.fixture
def own_bench(browser: Browser, served_folder: Path, tmp_path: Path) -> Iterator[Bench]:  # noqa: ARG001
    """A server for one test, with nothing in its folder; may be stopped and started."""
    started = Bench(tmp_path / "data", served_folder)
    yield started
    started.stop()
    assert "Traceback" not in started.faults()


@pytest.fixture
def faults(request: pytest.FixtureRequest) -> Iterator[Faults]:
    """Watches the pages of the test; fails it for what was found and not allowed."""
    name = "own_bench" if "own_bench" in request.fixturenames else "bench"
    watching = Faults(request.getfixturevalue(name).url)
    yield watching
    assert watching.rest() == []


def new_context(
    browser: Browser, host: str, screen: str = "tablet", *, dark: bool = False, still: bool = False
) -> BrowserContext:
    """A visitor of the bench at ``host``, with one of `SCREENS`; ``still`` asks for reduced motion."""
    width, height = SCREENS[screen]
    context = browser.new_context(
        base_url=f"http://{host}",
        viewport={"width": width, "height": height},
        has_touch=screen != "wall",
        color_scheme="dark" if dark else "light",
        reduced_motion="reduce" if still else "no-preference",
        locale="en-GB",
    )
    context.set_default_timeout(PATIENCE_ms)
    return context


OpenPage = Callable[..., Page]


@pytest.fixture
def open_page(browser: Browser, faults: Faults) -> Iterator[OpenPage]:
    """Opens a page in a context of its own: ``open_page("phone", dark=True, still=True, path="/findings")``.

    ``still`` asks for reduced motion. Paths are below the bench's address.
    """
    contexts: list[BrowserContext] = []

    def opened(screen: str = "tablet", *, dark: bool = False, still: bool = False, path: str = "") -> Page:
        context = new_context(browser, faults.host, screen, dark=dark, still=still)
        contexts.append(context)
        faults.watch(context)
        page = context.new_page()
        if path:
            page.goto(path)
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    """A tablet lying on its long side."""
    return open_page()
