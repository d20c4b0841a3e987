"""Setting and expected readings in the browser: by touch, by keys, at once, refused beside the slider."""

from __future__ import annotations

import os
import re
import statistics
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, Route, expect

from tests.app.browser.watching import Faults

HX = "hx-vibration"
AS_QUICK_AS_ms = 150.0
OpenPage = Callable[..., Page]


def slider(page: Page, name: str) -> Locator:
    """The block of one setting."""
    return page.locator(f'[data-turn][data-name="{name}"]')


def settled(page: Page, times: int = 1) -> None:
    """Wait until so many answers are on the screen."""
    expect(page.locator("[data-answered]")).to_have_attribute("data-answered", re.compile(rf"^{times}$|\d\d"))


def now(page: Page, reading: str) -> str:
    """A reading as it is set now."""
    return page.locator(f'[data-reading="{reading}"] .now').inner_text().replace("\u202f", " ")


def test_a_touch_on_plus_tells_what_follows(page: Page) -> None:
    page.goto(f"/setting/{HX}")
    settled(page)
    before = now(page, "boiler")
    for _ in range(5):
        slider(page, "boiler_pressure").locator("[data-more]").tap()
    chain = page.locator("[data-chain]")
    expect(chain).to_contain_text("Boiler pressure 0.10\u202fbar more")
    expect(chain).to_contain_text("steam boiler 1.5\u202fK hotter")
    assert now(page, "boiler") != before
    expect(page.locator('[data-reading="boiler"] .change')).to_have_text("+1.5\u202fK")
    expect(page.locator("[data-said]")).to_contain_text("steam boiler 1.5\u202fK hotter")


def test_it_is_turned_by_keys_and_taken_back(page: Page) -> None:
    page.goto(f"/setting/{HX}")
    settled(page)
    field = slider(page, "brew_pressure").locator("input")
    field.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(field).to_have_attribute("aria-valuetext", "9.4\u202fbar")
    expect(field).to_be_focused()
    back = page.locator("[data-back]")
    back.focus()
    page.keyboard.press("Enter")
    expect(field).to_have_attribute("aria-valuetext", "9.2\u202fbar")
    expect(page.locator("[data-chain]")).to_contain_text("Move a slider")


def test_what_is_turned_is_there_after_a_reload(page: Page) -> None:
    page.goto(f"/setting/{HX}")
    settled(page)
    slider(page, "boiler_pressure").locator("[data-more]").tap()
    expect(page).to_have_url(re.compile(r"boiler_pressure=1\.18"))
    page.reload()
    expect(slider(page, "boiler_pressure").locator(".turn-now")).to_have_text("1.18\u202fbar")


def test_units_change_at_once_on_sliders_and_readings(page: Page) -> None:
    page.goto(f"/setting/{HX}?boiler_pressure=1.26")
    settled(page)
    page.locator(".choices summary").tap()
    page.locator("label:has(input[value=psi])").tap()
    page.locator("label:has(input[value=degF])").tap()
    expect(slider(page, "boiler_pressure").locator(".turn-now")).to_have_text("18.3\u202fpsi")
    expect(page.locator('[data-reading="boiler"] .change')).to_have_text("+2.7\u202f°F")
    expect(page.locator("[data-chain]")).to_contain_text("Boiler pressure 1.5\u202fpsi more")


def test_too_near_the_safety_valve_is_said_beside_the_slider(page: Page, faults: Faults) -> None:
    faults.allow("422")
    page.goto("/setting/dual-vibration?steam_temperature=126")
    settled(page)
    block = slider(page, "steam_temperature")
    for _ in range(8):
        block.locator("[data-more]").tap()
    expect(block.locator("[data-refused]")).to_be_visible()
    expect(block.locator("[data-refused]")).to_contain_text(
        "too near the 1.8 bar at which safety valve lifts"
    )
    expect(page.locator("[data-chain]")).to_contain_text("cannot be")
    for _ in range(6):
        block.locator("[data-less]").tap()
    expect(block.locator("[data-refused]")).to_be_hidden()


def test_while_one_answer_is_awaited_only_the_newest_wish_is_kept(page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.post_data or "") if one.method == "POST" else None)
    page.goto(f"/setting/{HX}")
    settled(page)
    asked.clear()
    field = slider(page, "boiler_pressure").locator("input")
    field.evaluate("""(e) => { for (let n = 0; n < 40; n += 1) {
        e.value = String(0.9 + 0.0125 * n); e.dispatchEvent(new Event('input', { bubbles: true })); } }""")
    expect(slider(page, "boiler_pressure").locator(".turn-now")).to_have_text("1.38\u202fbar")
    expect(page.locator("[data-chain]")).to_contain_text("0.22\u202fbar more")
    assert len(asked) <= 3
    assert "1.38" in asked[-1]


def test_a_move_is_on_the_screen_at_once(page: Page) -> None:
    page.goto(f"/setting/{HX}")
    settled(page)
    took_ms = [
        page.evaluate("""async () => {
          const root = document.querySelector('[data-answered]');
          const before = root.dataset.answered, begun = performance.now();
          document.querySelector('[data-name=boiler_pressure] [data-more]').click();
          while (root.dataset.answered === before) await new Promise((go) => setTimeout(go, 1));
          await new Promise((go) => requestAnimationFrame(go));
          return performance.now() - begun;
        }""")
        for _ in range(9)
    ]
    usual_ms = statistics.median(took_ms)
    if os.getloadavg()[0] < 1.0:
        assert usual_ms < AS_QUICK_AS_ms, took_ms
    # On a busy computer only this is proved: that the bench itself takes no longer, all else apart.
    assert min(took_ms) < AS_QUICK_AS_ms, usual_ms


def test_the_phone_has_no_sideways_scroll(open_page: OpenPage) -> None:
    for path in (f"/setting/{HX}?boiler_pressure=1.3", f"/expected/{HX}?mains_V=212"):
        page = open_page("phone", path=path)
        settled(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize(
    "path", [f"/setting/{HX}?boiler_pressure=1.4", "/setting", f"/expected/{HX}?mains_V=212", "/expected"]
)
def test_axe_finds_nothing(open_page: OpenPage, path: str, *, dark: bool) -> None:
    page = open_page("tablet", dark=dark, path=path)
    if HX in path:
        settled(page)
    for details in page.locator("main details").all():
        details.evaluate("(e) => { e.open = true; }")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_what_is_said_moves_ranges_and_is_marked(page: Page) -> None:
    page.goto(f"/expected/{HX}")
    settled(page)
    row = page.locator('[data-row="heating-cycle.gauge_off"]')
    usual = row.locator(".range .quantity").first.inner_text()
    field = page.locator("#say-boiler_pressure_bar")
    field.fill("1,35")
    expect(row).to_have_class(re.compile("moved"))
    expect(row.locator(".was")).to_contain_text(usual)
    expect(page.locator("[data-sheet]")).to_have_attribute("href", re.compile(r"boiler_pressure_bar=1\.35"))
    page.locator("[data-unsay]").tap()
    expect(row).not_to_have_class(re.compile("moved"))
    expect(field).to_have_value("")


def test_the_sheet_for_the_wall_tells_that_it_is_being_made(page: Page) -> None:
    page.goto(f"/expected/{HX}")
    settled(page)
    opened: list[str] = []

    def answer(route: Route) -> None:
        if route.request.is_navigation_request():
            opened.append(route.request.url)
            route.fulfill(status=204)  # so that the page stays
        else:
            page.wait_for_timeout(600)
            route.continue_()

    page.route("**/sheet.pdf*", answer)
    making = page.locator("[data-sheet-making]")
    page.locator("[data-sheet]").tap()
    expect(making).to_contain_text("The sheet is being made: about")
    expect(making).to_be_hidden()
    page.wait_for_timeout(200)
    assert [url.rpartition("/")[2] for url in opened] == ["sheet.pdf"]


def test_a_number_out_of_range_is_said_beside_it_and_not_sent(page: Page) -> None:
    page.goto(f"/expected/{HX}")
    settled(page)
    page.locator("#say-mains_V").fill("2300")
    wrong = page.locator("#wrong-mains_V")
    expect(wrong).to_contain_text("80 to 460")
    expect(page.locator("#say-mains_V")).to_have_attribute("aria-invalid", "true")
    page.locator("#say-mains_V").fill("230")
    expect(wrong).to_be_hidden()


def test_plus_begins_where_such_machines_stand(page: Page) -> None:
    page.goto(f"/expected/{HX}")
    settled(page)
    more = page.locator('[data-key="mains_V"] [data-more]')
    more.tap()
    expect(page.locator("#say-mains_V")).to_have_value("230")
    more.tap()
    expect(page.locator("#say-mains_V")).to_have_value("231")
