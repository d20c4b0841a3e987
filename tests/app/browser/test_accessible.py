"""Every page for everybody: axe finds nothing, all by keyboard, nothing moves unasked, large targets."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.app.browser.conftest import SCREENS, OpenPage, new_context
from tests.app.browser.every_page import PAGES, address, lay_in, open_settled
from tests.app.browser.watching import Faults
from tests.app.served import Bench

TAP_px, TOUCH_px = 56, 96
"""Of what is hit with a finger; of what is hit with a knuckle in the first minute."""
HALF_px = 0.5
"""Browsers round to device pixels."""
MOST_TABS = 400

# What a person can act on and see; an input laid unseen over its label counts as the label.
TARGETS = """() => {
  const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0
    && e.getBoundingClientRect().right > 0;
  const found = document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]:not([tabindex="-1"])');
  return [...found].filter((e) => !e.disabled && seen(e));
}"""
SIZES = f"""() => ({TARGETS})().filter((e) => !(e instanceof SVGElement)).map((e) => {{
  const label = e.matches('input[type=radio], input[type=checkbox]') ? e.closest('label') : null;
  const box = (label ?? e).getBoundingClientRect();
  const style = getComputedStyle(e);
  const inText = e.matches('a') && style.display === 'inline';
  const name = (e.getAttribute('aria-label') || e.textContent || e.name || e.tagName).trim().slice(0, 40);
  return {{ name: `${{e.tagName.toLowerCase()}} ${{name}}`, width: box.width, height: box.height, inText }};
}})"""
# Radio buttons of one group are one stop: the arrows go on from there.
STOPS = f"""() => {{
  const groups = new Set();
  const stops = ({TARGETS})().filter((e) => {{
    if (e.tabIndex < 0) return false;
    if (e.type !== 'radio') return true;
    const key = `${{e.form?.id ?? ''}}/${{e.name}}`;
    return groups.has(key) ? false : groups.add(key);
  }});
  globalThis.stops = stops;
  return stops.length;
}}"""
FOCUSED = """() => {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const same = (other) => other === e
    || (e.type === 'radio' && other.type === 'radio' && other.name === e.name && other.form === e.form);
  const shows = (node) => {
    if (!node) return false;
    const style = getComputedStyle(node);
    return (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2);
  };
  // In a drawing the mark may be a line of its own: what focus changes is seen by taking it away. No frame
  // of a running machine comes in between.
  const looks = () => e.ownerSVGElement.outerHTML + [e, ...e.children].map((node) => {
    const style = getComputedStyle(node);
    return [style.stroke, style.strokeWidth, style.fill, style.outline, style.opacity, style.display].join();
  }).join(';');
  let changes = false;
  if (e.ownerSVGElement) {
    const here = looks();
    e.blur();
    changes = looks() !== here;
    e.focus({ focusVisible: true, preventScroll: true });
  }
  const box = e.getBoundingClientRect();
  return {
    stop: globalThis.stops.findIndex(same),
    name: (e.getAttribute('aria-label') || e.textContent || e.name || e.id || e.tagName).trim().slice(0, 40),
    marked: changes || [e, e.nextElementSibling, e.closest('label'), e.closest('.tile')].some(shows),
    onScreen: box.bottom > 0 && box.right > 0 && box.top < innerHeight && box.left < innerWidth,
  };
}"""


NEXT_FRAME = "() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)))"
"""What a new size changes is laid out, and told to whoever watches it."""
TOP = (
    "() => { document.body.tabIndex = -1; document.body.focus(); document.body.removeAttribute('tabindex') }"
)
"""From where the keyboard starts on a page just opened."""


@pytest.fixture(scope="module", params=PAGES)
def path(request: pytest.FixtureRequest, bench: Bench) -> str:
    """Address of each page in turn, with something on it: all tests of one page, then those of the next."""
    lay_in(bench)
    return address(bench, request.param)


def visit(browser: Browser, bench: Bench, path: str, screen: str, *, still: bool = False) -> Iterator[Page]:
    """A page opened once for all tests that look at it; what no page may do fails the last of them."""
    faults = Faults(bench.url)
    context = new_context(browser, faults.host, screen, still=still)
    faults.watch(context)
    page = context.new_page()
    open_settled(page, path)
    yield page
    context.close()
    assert faults.rest() == []


@pytest.fixture(scope="module")
def on_tablet(browser: Browser, bench: Bench, path: str) -> Iterator[Page]:
    """Tests leave it as they found it."""
    yield from visit(browser, bench, path, "tablet")


@pytest.fixture(scope="module")
def at_rest(browser: Browser, bench: Bench, path: str) -> Iterator[Page]:
    """On a wall screen, for one who asks for less motion."""
    yield from visit(browser, bench, path, "wall", still=True)


def axe_finds(page: Page) -> list[str]:
    """What axe finds wrong: rule, and where."""
    found: list[dict[str, Any]] = Axe().run(page).response["violations"]
    return [
        f"{rule['id']}: {node['target']} {node['html'][:160]}" for rule in found for node in rule["nodes"][:4]
    ]


def test_axe_finds_nothing_in_light_and_dark(on_tablet: Page) -> None:
    assert axe_finds(on_tablet) == []
    on_tablet.emulate_media(color_scheme="dark")
    found = axe_finds(on_tablet)
    on_tablet.emulate_media(color_scheme="light")
    assert found == []


def test_axe_finds_nothing_on_a_phone_with_its_menus_open(open_page: OpenPage, path: str) -> None:
    page = open_page("phone")
    open_settled(page, path)
    for menu in page.locator("header summary:visible").all():
        menu.click()
        assert axe_finds(page) == []
        page.keyboard.press("Escape")


def test_axe_would_find_something(page: Page) -> None:
    page.goto("/")
    page.evaluate("document.querySelector('main').append(document.createElement('button'))")
    assert any(one.startswith("button-name") for one in axe_finds(page))


def test_the_keyboard_reaches_everything_and_shows_where_it_is(at_rest: Page) -> None:
    page = at_rest
    page.evaluate(STOPS)
    reached: dict[int, str] = {}
    page.evaluate(TOP)
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        here = page.evaluate(FOCUSED)
        if here is None:
            break
        assert here["marked"], f"{here['name']}: nothing shows that the keyboard is here"
        assert here["onScreen"], f"{here['name']}: the keyboard is here, off the screen"
        if here["stop"] >= 0:
            reached[here["stop"]] = here["name"]
    # What a page took away meanwhile need not be reached.
    names = page.evaluate("() => globalThis.stops.map((e) => e.isConnected ? e.outerHTML.slice(0, 120) : '')")
    missed = [name for number, name in enumerate(names) if name and number not in reached]
    assert missed == []


def test_the_first_stop_of_the_keyboard_leads_to_the_content(on_tablet: Page) -> None:
    on_tablet.evaluate(TOP)
    on_tablet.keyboard.press("Tab")
    assert on_tablet.evaluate("document.activeElement.className") == "skip"
    on_tablet.keyboard.press("Enter")
    expect(on_tablet.locator("#main")).to_be_focused()


def test_headings_are_in_order_and_the_page_has_a_name(on_tablet: Page) -> None:
    levels = on_tablet.evaluate(
        "() => [...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].filter((e) => e.checkVisibility())"
        ".map((e) => Number(e.tagName[1]))"
    )
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert len(on_tablet.title()) > len(" · collaudo")


def test_no_page_is_wider_than_the_screen_and_everything_touched_is_large_enough(
    on_tablet: Page,
) -> None:
    found = {}
    for screen, (width, height) in SCREENS.items():
        on_tablet.set_viewport_size({"width": width, "height": height})
        on_tablet.evaluate(NEXT_FRAME)
        wide = on_tablet.evaluate("() => document.documentElement.scrollWidth")
        found[screen] = (max(wide - width, 0), too_small(on_tablet))
    width, height = SCREENS["tablet"]
    on_tablet.set_viewport_size({"width": width, "height": height})
    assert found == dict.fromkeys(SCREENS, (0, []))


def too_small(page: Page) -> list[str]:
    """What is touched and smaller than a finger needs; links within a sentence are read, not hit."""
    sizes = [one for one in page.evaluate(SIZES) if not one["inText"]]
    assert sizes
    return [
        f"{one['name']}: {one['width']:.0f} x {one['height']:.0f}"
        for one in sizes
        if min(one["width"], one["height"]) < TAP_px - HALF_px
    ]


@pytest.mark.parametrize("screen", ["phone", "tablet"])
def test_in_the_first_minute_a_knuckle_is_enough(open_page: OpenPage, screen: str) -> None:
    page = open_page(screen)
    open_settled(page, "/findings/new")
    low = page.evaluate(
        """() => [...document.querySelectorAll('main .tile, main button.big, main .key.big')]
        .filter((e) => e.checkVisibility())
        .map((e) => [e.textContent.trim().slice(0, 40), e.getBoundingClientRect().height])"""
    )
    assert low
    assert [one for one in low if one[1] < TOUCH_px - HALF_px] == []


def test_where_less_motion_is_asked_for_nothing_moves(at_rest: Page) -> None:
    page = at_rest
    assert page.evaluate("() => document.getAnimations().length") == 0
    dashes = "() => [...document.querySelectorAll('svg [stroke-dashoffset], svg .run')]"
    dashes += ".map((e) => getComputedStyle(e).strokeDashoffset).join()"
    before = page.evaluate(dashes)
    page.wait_for_timeout(300)
    assert page.evaluate(dashes) == before
