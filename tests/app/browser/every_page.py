"""Every page there is, with something on it, as a browser is led to it."""

from __future__ import annotations

import urllib.error
import urllib.request

from playwright.sync_api import Page

from tests.app.served import Bench
from tests.app.web.laying_in import OWN_MACHINE, lay_in_machine, lay_in_sheet
from tests.app.web.walking import READING, filled

PAGES = tuple(
    way.path
    for way in READING
    if way.page and "." not in way.path.rpartition("/")[2] and way.path != "/enter"
)
"""Paths of the routes whose answer is a page, parameters still open: a name with an ending is a file."""
SETTLED_ms = 300
LONGEST_WAIT_ms = 20_000
LOADED = "() => [...document.images].every((image) => image.complete || image.loading === 'lazy')"


def lay_in(bench: Bench) -> None:
    """What the pages show: a sheet, a machine of one's own."""
    lay_in_sheet(bench.data)
    lay_in_machine(bench.data)


def address(bench: Bench, path: str) -> str:
    """A path of `PAGES` filled so that there is a page: some are for machines of one's own only."""
    tried = [filled(path), filled(path, machine=OWN_MACHINE, stand=OWN_MACHINE)]
    for one in tried:
        try:
            urllib.request.urlopen(bench.url + one, timeout=60).close()
            return one
        except urllib.error.HTTPError as answered:
            answered.close()
    raise AssertionError(f"there is no page at any of {tried}")


def open_settled(page: Page, path: str) -> None:
    """Open a page and wait until it has got what it shows."""
    page.goto(path)
    settle(page)


def settle(page: Page) -> None:
    """Wait until a page has got what it shows."""
    page.wait_for_load_state("load")
    for _ in range(LONGEST_WAIT_ms // (SETTLED_ms // 3)):
        page.wait_for_timeout(SETTLED_ms // 3)
        if not page.locator("[aria-busy=true]:visible, main progress:visible").count() and page.evaluate(
            LOADED
        ):
            break
    page.wait_for_timeout(SETTLED_ms)
