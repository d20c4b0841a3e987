"""Make the pictures of the main pages anew: ``python -m tests.documents.pictures [NAME ...]``.

A server of its own with the demonstration's findings, a real browser, and small files: few colours, no
larger than `MOST_BYTES`. The first time the machine's signatures are built, which takes minutes.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from collaudo.bench.demo import DEMO_MACHINE
from collaudo.diagnosis.cache import folder
from tests.app.browser.conftest import FLAGS, SCREENS, find_chromium
from tests.app.browser.every_page import settle
from tests.app.served import Bench
from tests.app.web.asking import Asker

FOLDER = Path(__file__).parents[2] / "docs" / "pictures"
MOST_BYTES = 150_000
COLOURS = 192
LONGEST_BUILD_s = 900.0
SHOT_s = 9.0


def nothing(_: Page) -> None:
    """The page as it comes."""


def drawn(page: Page) -> None:
    """With the drawings that are fetched only when they come into sight."""
    for _ in range(100):
        page.wait_for_timeout(100)
        if page.evaluate("() => [...document.images].slice(0, 4).every((image) => image.complete)"):
            return


def wait(seconds: float) -> Callable[[Page], None]:
    """Let it run for a while."""
    return lambda page: page.wait_for_timeout(1000.0 * seconds)


def brewing(page: Page) -> None:
    """A hot machine with a puck and the lever up."""
    for told, seconds in (
        ({"renew": True}, 0.5),
        ({"operate": {"power": "on"}}, 0.5),
        ({"warm": True}, 6.0),
        ({"operate": {"fit": "puck"}}, 0.5),
        ({"operate": {"lever": "up"}}, SHOT_s),
    ):
        tell(page, told)
        page.wait_for_timeout(1000.0 * seconds)


def tell(page: Page, told: object) -> None:
    """Have something done on the stand, over a line of its own as other programs open one."""
    page.evaluate(
        """([path, told]) => new Promise((done, fail) => {
          const line = new WebSocket(path.replace('http', 'ws'));
          const end = () => { line.close(); done() };
          line.onopen = () => { line.send(JSON.stringify({ do: told })); setTimeout(end, 200) };
          line.onerror = fail;
        })""",
        [page.evaluate("location.origin") + f"/api/running/{DEMO_MACHINE}/socket", told],
    )


@dataclass(frozen=True)
class Picture:
    """One picture: of which page, on which screen, what is done first."""

    name: str
    path: str
    screen: str = "tablet"
    dark: bool = False
    first: Callable[[Page], None] = nothing


PICTURES = (
    Picture("bench", "/"),
    Picture("first-minute", "/findings/new"),
    Picture("findings", "/demo"),
    Picture("findings-phone", "/demo", "phone", dark=True),
    Picture("running", f"/running/{DEMO_MACHINE}", first=brewing),
    Picture("running-dark", f"/running/{DEMO_MACHINE}", dark=True, first=wait(2)),
    Picture("path", f"/path/{DEMO_MACHINE}/brewing/water"),
    Picture("expected", f"/expected/{DEMO_MACHINE}"),
    Picture("setting", f"/setting/{DEMO_MACHINE}"),
    Picture("machines", "/machines"),
    Picture("machine", f"/machines/{DEMO_MACHINE}", first=drawn),
)


def small(png: bytes) -> bytes:
    """With few colours, so that it stays small in the repository."""
    out = io.BytesIO()
    with Image.open(io.BytesIO(png)) as image:
        few = image.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        few.save(out, "PNG", optimize=True)
    if out.tell() > MOST_BYTES:
        raise SystemExit(f"a picture has {out.tell()} bytes, more than {MOST_BYTES}")
    return out.getvalue()


def get_ready(bench: Bench) -> None:
    """Wait until the demonstration machine answers from all its signatures."""
    asker, end = Asker(bench), time.monotonic() + LONGEST_BUILD_s
    while time.monotonic() < end:
        found = asker.change("POST", f"/api/machines/{DEMO_MACHINE}/readiness", {}).json()
        if found["draws"] == found["of_draws"] and found["twin"] == "ready":
            asker.close()
            return
        print(f"building signatures: {found['draws']} of {found['of_draws']}", end="\r", flush=True)
        time.sleep(2.0)
    raise SystemExit("the signatures were not ready in time")


def take(browser: Browser, bench: Bench, picture: Picture) -> bytes:
    """One picture, its first-visit notes put away."""
    width, height = SCREENS[picture.screen]
    context = browser.new_context(
        base_url=bench.url,
        viewport={"width": width, "height": height},
        color_scheme="dark" if picture.dark else "light",
        has_touch=True,
        locale="en-GB",
    )
    page = context.new_page()
    page.goto(picture.path)
    settle(page)
    picture.first(page)
    png = page.screenshot()
    context.close()
    return small(png)


def make_pictures(wanted: Sequence[str], signatures: Path) -> None:
    """The pictures wanted, or all of them."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        bench = Bench(Path(place) / "data", signatures)
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=list(FLAGS))
        try:
            get_ready(bench)
            for picture in PICTURES:
                if not wanted or picture.name in wanted:
                    (FOLDER / f"{picture.name}.png").write_bytes(take(browser, bench, picture))
                    print(f"{picture.name}.png")
        finally:
            browser.close()
            bench.stop()


if __name__ == "__main__":
    make_pictures(sys.argv[1:], folder())
